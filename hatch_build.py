"""Build hook: compiles the release store from the text before the package is assembled.

Runs for wheels, source archives and editable installs alike. It does nothing where there is no text (a source
archive of a wheel, say) and nothing when the compiled store already belongs to the text.
"""

import sys
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class CustomBuildHook(BuildHookInterface):  # type: ignore[type-arg]
    """Compiles `refdb/data/` from `shared/` and `sources/`."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:  # noqa: ARG002 - the hook interface names them
        """Bring the compiled store up to date with the text."""
        root = Path(self.root)
        for folder in (root / "migrations", root / "api", root):
            sys.path.insert(0, str(folder))
        from refdb.release import build
        from refdb.release.progress import plain_lines

        # Installers show these lines with --verbose, and tell themselves that they are at work without it.
        build(text_root=root, progress=plain_lines())
