"""From a manifest to finished pages: reading, drawing, writing, and the commands."""
