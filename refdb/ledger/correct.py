"""Declared corrections of readings, and withdrawn documents.

A printed number is never changed in the file that holds it. `corrections.toml` says beside it what is printed, what it
should be, who says so and why:

    [[correction]]
    reading = "zirconium.density.02"
    field = "number"
    printed = "6.15"
    corrected = "6.51"
    status = "erratum"
    reason = "Erratum of 1989, p. 3: the digits were exchanged."

The reading then holds the corrected text and keeps the printed one. A correction whose `printed` is not what the
reading prints is a finding: it is no longer needed, or names the wrong reading.

A document is withdrawn in its `source.toml`. Its readings stay, carry the flag `withdrawn`, and no rule uses them.

    [source.withdrawn]
    reason = "The table was copied from a simulation's placeholder values."
    on = "2026-12-01"
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from refdb.ledger.files import read_toml
from refdb.ledger.findings import Findings
from refdb.records.models import Correction

FILE = "corrections.toml"


class Amendments:
    """The corrections of one document, and its withdrawal, applied to its readings as they are read."""

    def __init__(self, folder: Path, withdrawn: Any, findings: Findings) -> None:
        self._file = folder / FILE
        self._findings = findings
        self._reason = withdrawn.get("reason") if isinstance(withdrawn, dict) else None
        self._open: dict[str, list[Correction]] = {}
        if self._file.is_file():
            for block in read_toml(self._file, findings).get("correction", []):
                fields = dict(block)
                reading = fields.pop("reading", None)
                correction = findings.model(Correction, fields, self._file, None)
                if not isinstance(reading, str):
                    findings.add(self._file, None, "reading", "is missing; name the reading that is corrected")
                elif correction is not None:
                    self._open.setdefault(reading, []).append(correction)

    def apply(self, fields: Mapping[str, Any], file: Path, line: int | None) -> dict[str, Any]:
        """The fields of a reading with its corrections and the withdrawal of its document applied."""
        amended = dict(fields)
        made = []
        for correction in self._open.pop(str(fields.get("id")), []):
            if amended.get(correction.field) == correction.printed:
                amended[correction.field] = correction.corrected
                made.append(correction.plain())
            else:
                self._findings.add(
                    self._file,
                    None,
                    "printed",
                    f"{file.name}{f':{line}' if line else ''} says {amended.get(correction.field)!r} under "
                    f"'{correction.field}', not '{correction.printed}'; the correction is not needed any more, or is "
                    "of another reading: remove it or correct it",
                )
        if made:
            amended["corrections"] = made
        if self._reason is not None:
            flag = {"code": "withdrawn", "text": f"the document was withdrawn: {self._reason}"}
            amended["flags"] = [*amended.get("flags", []), flag]
        return amended

    def finish(self) -> None:
        """Note every correction whose reading does not exist."""
        for reading in self._open:
            self._findings.add(
                self._file, None, "reading", f"'{reading}' is no reading of this document; remove the correction"
            )
