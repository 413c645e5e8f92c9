"""Reading TOML and CSV strictly: no duplicate keys, no stray columns, no untidy lines."""

from __future__ import annotations

import csv
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from refdb.ledger.findings import Findings


def read_toml(file: Path, findings: Findings) -> dict[str, Any]:
    """The TOML document, or an empty one with the fault noted (TOML itself refuses duplicate keys)."""
    try:
        return tomllib.loads(file.read_text(encoding="utf-8"))
    except (ValueError, RecursionError) as error:
        findings.add(file, None, "file", f"is not valid UTF-8 TOML: {why_unreadable(error)}")
        return {}


def why_unreadable(error: ValueError | RecursionError | OSError) -> str:
    """Why TOML or JSON could not be read, in words; the errors of both readers are subclasses of ValueError."""
    if isinstance(error, RecursionError):
        return "it is nested too deeply"
    return "a number in it has too many digits" if type(error) is ValueError else str(error)


def read_csv(file: Path, columns: frozenset[str], findings: Findings) -> Iterator[tuple[int, dict[str, str]]]:
    """Line number and non-empty cells of every row.

    The header may use any of `columns`; an unknown or repeated column, or a row of another length, is a finding.
    """
    with file.open(encoding="utf-8", newline="") as stream:
        reader = csv.reader(stream, strict=True)
        header = next(reader, [])
        unknown = [name for name in header if name not in columns]
        if unknown or len(set(header)) != len(header):
            findings.add(file, 1, "header", f"use each of {sorted(columns)} at most once; not {unknown or header}")
            return
        for cells in reader:
            if len(cells) != len(header):
                findings.add(file, reader.line_num, "row", f"has {len(cells)} cells where the header has {len(header)}")
                continue
            yield (
                reader.line_num,
                {name: cell for name, cell in zip(header, cells, strict=True) if cell != ""},
            )
