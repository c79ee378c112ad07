"""A PDF's bytes go in, ours or not; out come its keys, its boxes and, by page, all that is painted."""
