"""Facts to marks: each module draws one kind of matter."""
