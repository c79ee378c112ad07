"""A puzzle as facts goes in; what follows from them comes out: answers, paths, proofs, diagnoses, new puzzles.

Imports nothing of ours, reads no file and knows no font. The modules here are what the rooms share. What is public
of it is named in `cagework`; these modules may change.
"""
