"""Words go in; out come their measures in the layout's faces, and lines broken to a width."""
