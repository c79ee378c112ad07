"""A step goes in; out comes whether it follows from what it cites. Nothing of the reasoning is known here."""
