"""Words of a command line go in; an exit status comes out, with all that is said on the way."""
