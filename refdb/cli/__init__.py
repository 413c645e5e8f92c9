"""The command line: the same questions and documents as the service, printed for people unless asked for JSON."""

from refdb.cli.main import main

__all__ = ["main"]
