"""The HTTP service: routes thin over refdb, no physics and no SQL."""
