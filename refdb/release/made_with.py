"""What a release was made with: programs, rules and policies, for whoever asks years later how it came about."""

from __future__ import annotations

import hashlib
import importlib.metadata
import platform
import subprocess
from pathlib import Path
from typing import Any

from refdb.data import file_digest
from refdb.recommend.rule_text import rule_files
from refdb.records import canonical
from refdb.records.rules import RULES

LIBRARIES = ("mpmath", "numpy", "pint", "pydantic")
"""Those that take part in computing a number: arrays, factors of units, reading of the text."""


def made_with(text_root: Path) -> dict[str, Any]:
    """The versions of refdb, Python and the libraries that compute numbers, the commit, the digests of the rules and of
    the policies in `sources/rules`."""
    rules = {rule.name: [rule.method, rule.published] for rule in RULES.values()}
    return {
        "refdb": importlib.metadata.version("refdb"),
        "python": platform.python_version(),
        **{name: importlib.metadata.version(name) for name in LIBRARIES},
        "commit": _commit(text_root),
        "rules": "sha256:" + hashlib.sha256(canonical(rules)).hexdigest(),
        "policies": _policies(text_root),
    }


def _policies(text_root: Path) -> str:
    """SHA-256 over the lines `digest name` of the files in `sources/rules/`."""
    folder = text_root / "sources"
    lines = "".join(f"{file_digest(file)}  {file.relative_to(folder).as_posix()}\n" for file in rule_files(text_root))
    return "sha256:" + hashlib.sha256(lines.encode("utf-8")).hexdigest()


def _commit(text_root: Path) -> str:
    """The commit of the checkout; marked where files differ from it, empty outside a checkout."""
    commit = _git(text_root, "rev-parse", "HEAD")
    return f"{commit} with changes" if commit and _git(text_root, "status", "--porcelain") else commit


def _git(text_root: Path, *arguments: str) -> str:
    try:
        done = subprocess.run(  # noqa: S603 - fixed arguments
            ["git", "-C", str(text_root), *arguments],  # noqa: S607 - whichever git the maintainer uses
            capture_output=True,
            text=True,
            check=True,
        )
    except (OSError, subprocess.CalledProcessError):
        return ""
    return done.stdout.strip()
