"""The editor's desk: the book in the browser, as it is now, refreshed at each save."""
