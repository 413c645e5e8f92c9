"""Checks against the world outside the project: every test names the published source it compares with."""
