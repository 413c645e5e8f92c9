"""Materials by what was measured on a piece."""
