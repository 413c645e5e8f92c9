"""Sound through the pipe: rays, waves, spacing, and what the signal loses."""
