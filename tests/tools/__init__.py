"""Tools of the maintainers that no release needs."""
