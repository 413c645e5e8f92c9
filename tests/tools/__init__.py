"""Programs that a test runs in a process of its own."""
