"""A manifest's text goes in; a typed book comes out, or every fault in it with its place."""
