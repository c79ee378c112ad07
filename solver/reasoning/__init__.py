"""A puzzle goes in; out come the steps a person could take, cheapest first, and a grade; no answer is known."""
