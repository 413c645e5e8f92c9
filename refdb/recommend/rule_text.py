"""The entries of `sources/rules/`, each with the file that holds it."""

from __future__ import annotations

from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel

from refdb.ledger.files import read_toml
from refdb.ledger.findings import Findings

Model = TypeVar("Model", bound=BaseModel)


class RuleText:
    """All files of `sources/rules/` read as one: lists one after another, tables side by side.

    Args:
        findings: takes note of what is wrong, under the file in which it stands.
    """

    def __init__(self, text_root: Path, findings: Findings) -> None:
        self._findings = findings
        self._folder = text_root / "sources" / "rules"
        self._lists: dict[str, list[tuple[Path, Any]]] = {}
        self._tables: dict[str, dict[str, tuple[Path, Any]]] = {}
        for file in rule_files(text_root):
            for key, held in read_toml(file, findings).items():
                if isinstance(held, list):
                    self._lists.setdefault(key, []).extend((file, entry) for entry in held)
                else:
                    self._tables.setdefault(key, {}).update({name: (file, part) for name, part in held.items()})

    def listed(self, model: type[Model], key: str) -> list[Model]:
        """The entries of a list that are valid."""
        found = (self._findings.model(model, entry, file, None) for file, entry in self._lists.get(key, []))
        return [entry for entry in found if entry is not None]

    def named(self, model: type[Model], key: str) -> dict[str, Model]:
        """The tables below a table that are valid, by name."""
        parts = self._tables.get(key, {})
        found = {name: self._findings.model(model, part, file, None) for name, (file, part) in parts.items()}
        return {name: entry for name, entry in found.items() if entry is not None}

    def table(self, model: type[Model], key: str) -> Model | None:
        """A table, or None where there is none, or it is not valid."""
        parts = self._tables.get(key)
        if parts is None:
            return None
        file = next((file for file, _ in parts.values()), self._folder)
        return self._findings.model(model, {name: part for name, (_, part) in parts.items()}, file, None)

    def required(self, model: type[Model], key: str) -> Model | None:
        """A table that must be there; it is None where that is a finding."""
        if key not in self._tables:
            self._findings.add(self._folder, None, key, "is missing; write it in one of the files")
        return self.table(model, key)


def rule_files(text_root: Path) -> list[Path]:
    """The files of `sources/rules/`, by name."""
    return sorted((text_root / "sources" / "rules").glob("*.toml"))
