"""A series manifest goes in; out comes each date's matter, fitted to newspaper slots of exact size."""
