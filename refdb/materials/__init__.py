"""A material by what was measured on it: which listed ones agree, and what follows for one that is in no list."""
