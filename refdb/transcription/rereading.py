"""Reading a document's pinned carriers again and comparing every number that was entered from them."""

from __future__ import annotations

import importlib.metadata
from collections.abc import Mapping, Sequence
from pathlib import Path

from refdb.documents import How
from refdb.ledger import Ledger
from refdb.problems import BadParameter
from refdb.records.models import Carrier, Designation, Grid, Reading, Source, Subject
from refdb.transcription import entries, json_file, nodes, recomputing, text_file, thermoml
from refdb.transcription.carrier_file import carrier_file, is_installed
from refdb.transcription.compared import Compared
from refdb.transcription.libraries import module_of
from refdb.transcription.second_reading import EnteredDocument, SecondReading, sorted_out


def reread(document: EnteredDocument, ledger: Ledger, place: Path | None) -> list[SecondReading]:
    """Read a document's pinned carriers again and compare every number; one result for each way of comparing.

    Args:
        ledger: whatever is in the text: names of subjects, and grids that others begin at.
        place: where the carrier is; None for packages that are installed here.

    Raises:
        BadParameter: no carrier is pinned, or none can be read.
        LibraryNeeded: the numbers are computed with a library that is not installed.
    """
    pinned = [carrier for carrier in document.source.carriers or [] if carrier.pinned]
    if place is None:
        pinned = [carrier for carrier in pinned if is_installed(carrier)]
    if not pinned:
        raise BadParameter(
            f"carrier: no carrier of {document.source.id} {'is pinned' if place else 'is a package installed here'}; "
            "give the place of a pinned one by --carrier PATH, or have a second person key the print: --by NAME.",
            parameter="carrier",
        )
    names = _names(document, ledger)
    grids = {grid.id: grid for grid in ledger.of(Grid)}
    found: list[SecondReading] = []
    refused: list[BadParameter] = []
    for carrier in pinned:
        try:
            found += _reread(document, carrier, names, grids, place)
        except BadParameter as problem:
            # Another carrier of the document may be what lies there.
            refused.append(problem)
    if not found and refused:
        raise refused[0]
    if not found:
        _require_libraries(document)
    return found


def _require_libraries(document: EnteredDocument) -> None:
    """Raises LibraryNeeded where readings are computed with a library that is not installed."""
    for row in document.readings:
        library = recomputing.library_of(row, document.source)
        if library is not None:
            module_of(library, library.name)


def _reread(
    document: EnteredDocument,
    carrier: Carrier,
    names: Mapping[str, Sequence[str]],
    grids: Mapping[str, Grid],
    place: Path | None,
) -> list[SecondReading]:
    by = f"refdb {importlib.metadata.version('refdb')}"
    readings = [row for row in document.readings if carrier.readings is None or row.id in carrier.readings]
    found: list[SecondReading] = []
    others = readings
    if is_installed(carrier):
        computed, entered = _by_library(readings, document.source, carrier, grids)
        found = [
            sorted_out(SecondReading(by, carrier.key, "recomputed"), computed),
            sorted_out(SecondReading(by, carrier.key, "parsed"), entered),
        ]
        done = {row.id for row, _ in (*computed, *entered)}
        # What one package computes from the coefficients in another is not sought in the files of that other.
        others = [
            row for row in readings if row.id not in done and recomputing.library_of(row, document.source) is None
        ]
    for file in carrier.files or [] if others else []:
        content = carrier_file(carrier, file, place)
        inside = [reading for reading in others if file.readings is None or reading.id in file.readings]
        if thermoml.is_thermoml(content):
            parsed = ((row, thermoml.compare(row, content, names[row.id])) for row in inside)
            found.append(sorted_out(SecondReading(by, carrier.key, "parsed"), parsed))
        else:
            entered = [(row, told) for row in inside if (told := json_file.compare(row, content)) is not None]
            found.append(sorted_out(SecondReading(by, carrier.key, "parsed"), entered))
            left = [row for row in inside if row not in found[-1].equal]
            doi = document.source.doi
            beside = ((row, text_file.compare(row, content, names[row.id], doi)) for row in left)
            found.append(sorted_out(SecondReading(by, carrier.key, "beside its name"), beside))
    return _joined(found)


_Held = list[tuple[Reading, list[Compared]]]


def _by_library(
    readings: Sequence[Reading], source: Source, carrier: Carrier, grids: Mapping[str, Grid]
) -> tuple[_Held, _Held]:
    """Readings held against an installed library: those computed again with it, and those that stand in its tables."""
    computed: _Held = []
    for row in readings:
        library = recomputing.library_of(row, source)
        if isinstance(row, Grid) and carrier.name == nodes.COOLPROP and nodes.names_a_liquid(row):
            computed.append((row, nodes.compare(row, grids)))
        elif library is not None and library.name == carrier.name:
            computed.append((row, recomputing.compare(row, source, grids)))
    done = {row.id for row, _ in computed}
    entered = [(row, told) for row in readings if row.id not in done and (told := _entry(row, source)) is not None]
    return computed, entered


def _names(document: EnteredDocument, ledger: Ledger) -> dict[str, list[str]]:
    """Of each reading: names, CAS numbers and formulas of its subject, and of what is dissolved in it."""
    designations: dict[str, list[str]] = {}
    for one in ledger.of(Designation):
        designations.setdefault(one.subject, []).append(one.text)
    return {row.id: _names_of(row, ledger, designations) for row in document.readings}


def _names_of(reading: Reading, ledger: Ledger, designations: Mapping[str, Sequence[str]]) -> list[str]:
    subject = ledger.records.get(getattr(reading, "subject", ""))
    if not isinstance(subject, Subject):
        return []
    names = [subject.name, *designations.get(subject.id, ())]
    if subject.solution is not None:
        names += [subject.solution.formula, *designations.get(subject.solution.solute or "", ())]
    return names


def _entry(reading: Reading, source: Source) -> list[Compared] | None:
    """A reading against the table of an installed library at which its locator points; None where it points at none."""
    try:
        return entries.compare(reading, source)
    except BadParameter:
        return None


def _joined(readings: Sequence[SecondReading]) -> list[SecondReading]:
    """One result for all files of a carrier compared in one way; what one file holds, no other misses."""
    joined: dict[tuple[str, How], SecondReading] = {}
    for one in readings:
        whole = joined.setdefault((one.against, one.how), SecondReading(one.by, one.against, one.how))
        whole.equal.extend(row for row in one.equal if row not in whole.equal)
        whole.different.extend(one.different)
        whole.missing.extend(one.missing)
        whole.compared.update(one.compared)
    for whole in joined.values():
        equal = {row.id for row in whole.equal}
        whole.different[:] = [number for number in whole.different if number.number.reading not in equal]
        whole.missing[:] = [number for number in whole.missing if number.number.reading not in equal]
    return [whole for whole in joined.values() if whole.equal or whole.different or whole.missing]
