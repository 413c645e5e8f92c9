"""Values: what a property is at a state, with its uncertainty, range, row and sources; one, several or many at once."""
