"""What a material in no list is taken to be one more of: a family, a listed material's neighbours, a composition's.

Its speeds and density are, before anything is measured, those of one further member: the mean of the members'
logarithms, with their covariance and what each is uncertain by itself.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from refdb.lookup import ReleaseInfo, StoredRecord
from refdb.lookup.state import State
from refdb.materials.measurement import MATCHED
from refdb.materials.question import MaterialDescribed
from refdb.materials.rows import MaterialRows, rows_of
from refdb.problems import BadParameter, NotAvailable
from refdb.values.options import SI
from refdb.values.reader import Reader
from refdb.values.subjects import subject_reference

if TYPE_CHECKING:
    from refdb.documents import SubjectReference

FEWEST = 3
"""Members of a family from which on they say what one more may be."""
LIKE = {3: 4.303, 4: 3.182, 5: 2.776, 6: 2.571, 7: 2.447, 8: 2.365, 9: 2.306, 10: 2.262}
"""Student's t, 97.5 %, by the number of members: half of it widens a standard deviation that few of them show."""
WHOLE = (95.0, 105.0)
"""Mass percent between which a composition must add up: rounding and traces."""
MIXED = 0.02
"""Relative standard uncertainty of a density by mixing the elements' volumes: phases differ (tests/outside hold it
against handbook alloys)."""
ELEMENTS = {
    "Fe": "iron", "Ni": "nickel", "Cu": "copper", "Al": "aluminium", "Zn": "zinc", "Sn": "tin", "Ti": "titanium",
    "Zr": "zirconium", "Nb": "niobium", "Ta": "tantalum", "Mo": "molybdenum", "W": "tungsten", "Mg": "magnesium",
    "Pb": "lead", "V": "vanadium", "Be": "beryllium",
}  # fmt: skip
"""Elements whose densities the release tells."""
OTHERS = {"Cr": 7190.0, "Mn": 7470.0, "Co": 8900.0, "Si": 2330.0, "C": 2260.0, "N": 2700.0, "P": 1820.0, "S": 2070.0}
"""kg/m3, of elements that are no subject here: from memory, and little of an alloy."""
_PART = re.compile(r"\s*(?P<symbol>[A-Z][a-z]?)\s+(?P<percent>\d+(?:\.\d+)?)\s*%\s*")


@dataclass(frozen=True)
class MaterialKind:
    """What one more member may be: the logarithms of both speeds and the density, and their covariance."""

    words: str
    family: str
    like: SubjectReference | None
    members: Sequence[str]
    mean: Any
    covariance: Any
    assumptions: tuple[str, ...] = ()


def kind_of(reader: Reader, asked: MaterialDescribed, state: State, release: ReleaseInfo) -> MaterialKind:
    """The kind that a question tells.

    Raises:
        BadParameter: not one of `like`, `family` and `composition` is given, or it is none.
        UnknownName, AmbiguousName: no one listed material is called so.
        NotAvailable: too few members of the family are known.
    """
    given = [name for name in ("like", "family", "composition") if getattr(asked, name) is not None]
    if len(given) != 1:
        raise BadParameter(
            f"{given[1] if given else 'like'}: give one of like, family and composition, which says what the material "
            "is one more of.",
            parameter=given[1] if given else "like",
        )
    if asked.like is not None:
        return _like(reader, asked.like, state, release)
    if asked.composition is not None:
        return _composed(reader, asked.composition, state, release)
    assert asked.family is not None  # noqa: S101 - one of three is given
    return _of_family(reader, asked.family, state, release)


def _members(reader: Reader, family: str, state: State, release: ReleaseInfo) -> list[MaterialRows]:
    """The members with both speeds and a density that rest on documents."""
    found = []
    for record in reader.store.of_kind("subject", release):
        if record.body["subject_kind"] == "material" and record.body["family"] == family:
            rows = rows_of(reader, record, MATCHED, state, SI, release)
            if not isinstance(rows, str):
                found.append(rows)
    return found


def _of_family(reader: Reader, family: str, state: State, release: ReleaseInfo) -> MaterialKind:
    families = sorted(
        {
            str(record.body["family"])
            for record in reader.store.of_kind("subject", release)
            if record.body["subject_kind"] == "material"
        }
    )
    if family not in families:
        raise BadParameter(
            f"family: '{family}' is none; it is one of {', '.join(families)}.", parameter="family", given=family
        )
    members = _members(reader, family, state, release)
    if len(members) < FEWEST:
        raise NotAvailable(
            f"family: only {len(members)} members of {family} have both speeds and a density at this temperature; "
            "name the material that it is like.",
            parameter="family",
        )
    return MaterialKind(
        f"one more of the family {family}",
        family,
        None,
        [one.record.id for one in members],
        np.mean([np.log(one.values) for one in members], axis=0),
        _spread(members, 1.0 + 1.0 / len(members)),
    )


def _spread(members: Sequence[MaterialRows], share: float) -> Any:
    """The covariance of members' logarithms, widened for their number, with what one of them is uncertain by."""
    count = len(members)
    factor = LIKE.get(count, 2.0) / 2.0
    between = np.cov(np.array([np.log(one.values) for one in members]).T)
    own = np.mean([_relative(one) for one in members], axis=0)
    return factor * factor * share * between + own


def _relative(rows: MaterialRows) -> Any:
    return rows.covariance / (rows.values[:, None] * rows.values[None, :])


def _like(reader: Reader, name: str, state: State, release: ReleaseInfo) -> MaterialKind:
    record: StoredRecord = reader.subject(name, release, "material")
    rows = rows_of(reader, record, MATCHED, state, SI, release)
    if isinstance(rows, str):
        raise NotAvailable(
            f"like: {record.id} has not both speeds and a density at this temperature; name its family instead.",
            parameter="like",
        )
    family = str(record.body["family"])
    members = _members(reader, family, state, release)
    if len(members) < FEWEST:
        raise NotAvailable(
            f"like: only {len(members)} members of the family {family} show how far one may be from another; nothing "
            "follows for a neighbour.",
            parameter="like",
        )
    # Two members differ by twice their variance; a neighbour is taken to be half as far as any other member.
    return MaterialKind(
        f"a neighbour of {record.id}: as far from it as half the spread of its family, {family}",
        family,
        subject_reference(record.body),
        [one.record.id for one in members],
        np.log(rows.values),
        _spread(members, 0.5) + _relative(rows),
    )


def read_composition(text: str) -> Mapping[str, float]:
    """Elements and mass percents of `Fe 65 %, Cr 18 %`.

    Raises:
        BadParameter: it is none, or does not add up to the whole.
    """
    found: dict[str, float] = {}
    for part in text.split(","):
        match = _PART.fullmatch(part)
        if match is None or match["symbol"] not in {*ELEMENTS, *OTHERS} or match["symbol"] in found:
            raise BadParameter(
                f"composition: '{part.strip()[:40]}' is not an element known here, once, with its mass percent; write "
                "'Fe 65 %, Cr 18 %, Ni 13 %, Mo 3 %'.",
                parameter="composition",
                given=text[:200],
            )
        found[match["symbol"]] = float(match["percent"])
    total = math.fsum(found.values())
    if not WHOLE[0] <= total <= WHOLE[1]:
        raise BadParameter(
            f"composition: adds up to {total:.4g} %; give what the material mostly consists of, 100 % in all.",
            parameter="composition",
            given=text[:200],
        )
    return found


def family_of(composition: Mapping[str, float]) -> str | None:
    """The family of an alloy by its composition: common practice, no source."""
    most = max(composition, key=lambda symbol: composition[symbol])
    if most == "Fe":
        return _steel(composition.get("Cr", 0.0), composition.get("Ni", 0.0), composition.get("C", 0.0))
    if most == "Zr":
        return "zirconium-alloy"
    if most in {"Nb", "Ta", "Mo", "W", "V"}:
        return "refractory-metal"
    return {"Ni": "nickel-alloy", "Cu": "copper-alloy", "Al": "aluminium", "Ti": "titanium", "Pb": "lead"}.get(most)


def _steel(chromium: float, nickel: float, carbon: float) -> str | None:
    if carbon > 2.0:
        return None  # A cast iron, whose speeds its graphite decides.
    if chromium >= 10.5:
        if nickel >= 7.5 and nickel >= 0.3 * chromium:
            return "austenitic-stainless"
        return "duplex-stainless" if nickel >= 1.2 and chromium >= 20.0 else "ferritic-stainless"
    if nickel >= 25.0:
        return None  # Iron and nickel with expansions and stiffnesses of their own.
    return "low-alloy-steel" if chromium + nickel > 0.8 else "carbon-steel"


def _composed(reader: Reader, text: str, state: State, release: ReleaseInfo) -> MaterialKind:
    composition = read_composition(text)
    family = family_of(composition)
    if family is None:
        raise NotAvailable(
            "composition: of such an alloy no family is known here; name a listed material that it is like.",
            parameter="composition",
        )
    kind = _of_family(reader, family, state, release)
    density = mixed_density(reader, composition, state, release)
    # The density by mixing, as one more thing that was told of it.
    place = MATCHED.index("density")
    gain = kind.covariance[:, place] / (kind.covariance[place, place] + MIXED * MIXED)
    mean = kind.mean + gain * (math.log(density) - kind.mean[place])
    covariance = kind.covariance - np.outer(gain, kind.covariance[place, :])
    notes = [f"density by mixing the volumes of the elements: {density:.4g} kg/m3, within {MIXED:.0%}"]
    remembered = sorted(set(composition) & set(OTHERS))
    if remembered:
        notes.append(f"densities of {', '.join(remembered)} in it are from memory")
    return MaterialKind(f"{kind.words}, by its composition", family, None, kind.members, mean, covariance, tuple(notes))


def mixed_density(reader: Reader, composition: Mapping[str, float], state: State, release: ReleaseInfo) -> float:
    """The density in kg/m3 if every element kept its volume.

    Raises:
        NotAvailable: the release does not tell an element's.
    """
    volume = 0.0
    for symbol, percent in composition.items():
        if symbol in OTHERS:
            volume += percent / OTHERS[symbol]
            continue
        record = reader.subject(ELEMENTS[symbol], release, "material")
        rows = rows_of(reader, record, ["density"], state, SI, release)
        if isinstance(rows, str):
            raise NotAvailable(
                f"composition: the density of {ELEMENTS[symbol]} is not told at this temperature; give density.",
                parameter="composition",
            )
        volume += percent / float(rows.values[0])
    return math.fsum(composition.values()) / volume
