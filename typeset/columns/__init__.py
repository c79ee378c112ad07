"""Newspaper columns: a month of puzzles, each date's matter fitted to slots of exact size."""
