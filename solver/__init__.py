"""Exact solving of cage-sum puzzles: the model, the rules, the search, the composer. Imports nothing of ours."""
