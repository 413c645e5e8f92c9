"""The way back from a sound speed, asked with a reader: which liquids, which temperatures, which strengths."""

from __future__ import annotations

from typing import TYPE_CHECKING

from refdb.liquids.match import LiquidMatch, match_liquid
from refdb.liquids.match_state import StateMatch, match_state, sought_of_solution
from refdb.liquids.measurement import read_liquid
from refdb.liquids.question import LiquidQuestion
from refdb.lookup import ReleaseInfo
from refdb.values.options import ESTIMATE_RUNGS, Options
from refdb.values.reader import Reader
from refdb.values.value import RowText

if TYPE_CHECKING:
    from refdb.liquids.documents import Reason


def matched(
    reader: Reader, asked: LiquidQuestion, options: Options, release: ReleaseInfo, limit: int
) -> LiquidMatch | StateMatch:
    """Which liquids agree; with `liquid`, at which temperatures it does, with `solution`, at which strengths.

    Raises:
        BadQuantity, UnknownUnit, WrongDimension, OutsideRange, BadParameter, MissingState: the question is wrong.
        UnknownName, AmbiguousName: no one liquid is called so.
        NotAvailable: the release has no sound speed of the liquid named.
    """
    found = read_liquid(asked)
    named = asked.liquid or asked.solution
    if named is not None:
        subject = reader.subject(named, release, "liquid")
        text = reader.permitted(subject, "sound_speed", None, options, release)
        sought = "temperature" if asked.liquid is not None else sought_of_solution(text.row)
        return match_state(text, found, sought, options)

    def density(liquid: str) -> RowText:
        return reader.permitted(reader.subject(liquid, release, "liquid"), "density", None, options, release)

    return match_liquid(release.label, found, _speeds(reader, release, options), density, options, limit)


def _speeds(reader: Reader, release: ReleaseInfo, options: Options) -> dict[str, RowText | Reason]:
    """Every liquid: its row of the sound speed, or why there is none to be asked."""
    speeds: dict[str, RowText | Reason] = {}
    for record in reader.store.of_kind("subject", release):
        if record.body["subject_kind"] != "liquid":
            continue
        row = reader.store.record(f"{record.id}.sound_speed", release)
        if row is None:
            speeds[record.id] = "no_speed"
        elif row.body["rung"] in ESTIMATE_RUNGS and not options.estimates:
            speeds[record.id] = "estimate"
        else:
            speeds[record.id] = reader.row(record, "sound_speed", None, release)
    return speeds
