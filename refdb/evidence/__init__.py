"""Evidence: where a value comes from, what changed, what is suspicious, and whether older answers still hold."""
