"""A puzzle goes in; out comes the verdict: no answer, exactly one, two of them, or undecided in the time."""
