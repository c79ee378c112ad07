"""Puzzles go in; out comes what was found of each: verdict, path, grade, diagnosis; kept for the next time."""
