"""What the system under us is asked for: bytes to files, all or none; jobs to results, side by side."""
