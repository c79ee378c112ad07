"""Page layouts declared as data, and the page geometry made from them. Imports nothing of ours.

What is public of it is named in `cagework`; these modules may change.
"""
