"""A folder of puzzles goes in; out come what is known of each, kept from run to run, and picks for print."""
