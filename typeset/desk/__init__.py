"""A manifest's saves go in; out comes the book in the browser, as it is now."""
