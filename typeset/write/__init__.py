"""Marks go in; out come the bytes of files: PDF for a screen, a press or a booklet, and SVG."""
