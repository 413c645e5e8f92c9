"""Entering documents: a scaffold for a new one, what it would move, and reading what was entered a second time."""
