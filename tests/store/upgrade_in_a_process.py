"""Upgrades a store in a process of its own, with an invented revision from a folder and a folder for the back-up."""

from __future__ import annotations

import sys
from pathlib import Path

from refdb.cli.main import run
from refdb.store import migrate
from tests.store.invented import chain_with

if __name__ == "__main__":
    url, folder, backups = sys.argv[1:]
    migrate.alembic_config = lambda: chain_with(Path(folder))
    print("asking", flush=True)
    sys.exit(run(["db", "upgrade", "--url", url, "--backup-to", backups]))
