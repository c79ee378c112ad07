"""Facts go in, marks come out: each module draws one kind of matter."""
