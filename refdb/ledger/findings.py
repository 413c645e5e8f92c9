"""Collects all faults of the text, each with file, line and field, before an error is raised."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from refdb.problems import LedgerError

Model = TypeVar("Model", bound=BaseModel)


class Findings:
    """The faults found so far."""

    def __init__(self, text_root: Path) -> None:
        self._root = text_root
        self.lines: list[str] = []

    def add(self, file: Path, line: int | None, field: str, wrong: str) -> None:
        """Note one fault; the sentence `wrong` says what is wrong and what would be right."""
        place = str(file.relative_to(self._root)) + (f":{line}" if line else "")
        self.lines.append(f"{place}: {field}: {wrong}")

    def extend(self, file: Path, faults: Iterable[tuple[str, str]]) -> None:
        """Note faults of one file, each a field and its sentence."""
        for field, wrong in faults:
            self.add(file, None, field, wrong)

    def model(self, kind: type[Model], fields: Mapping[str, Any], file: Path, line: int | None) -> Model | None:
        """The validated model; if it is not valid, None, and every fault is noted."""
        try:
            return kind.model_validate(dict(fields))
        except ValidationError as error:
            for fault in error.errors():
                self.add(file, line, _field(fault["loc"]), _sentence(fault))
            return None

    def raise_if_any(self) -> None:
        """Raise a LedgerError that holds every finding, if there is one."""
        if self.lines:
            raise LedgerError(self.lines)


def _field(location: tuple[int | str, ...]) -> str:
    return ".".join(str(part) for part in location) or "record"


def _sentence(fault: Mapping[str, Any]) -> str:
    message = str(fault["msg"]).removeprefix("Value error, ")
    if fault["type"] == "missing":
        return "is missing; write it"
    if fault["type"] == "string_too_short" or fault.get("input") == "":
        return f"is empty; write it{_choices(fault)}"
    if fault["type"] == "extra_forbidden":
        return "is not a field of this record; remove it or correct its name"
    if fault["type"] in {"literal_error", "string_pattern_mismatch"}:
        return f"{message}, not '{fault['input']}'"
    return message


def _choices(fault: Mapping[str, Any]) -> str:
    """What may be written, where only some words may."""
    expected = fault.get("ctx", {}).get("expected")
    return f": {expected}" if fault["type"] == "literal_error" and expected else ""
