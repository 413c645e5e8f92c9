"""Suspensions: the sound speed of emulsions and slurries of fine particles, and what tells them apart from mixtures."""
