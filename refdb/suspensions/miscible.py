"""Which two liquids stay apart as an emulsion, and why the others are refused: what mixes is no suspension."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from refdb.problems import BadParameter

WATERY = frozenset({"water", "aqueous-salt", "aqueous-sugar"})
OILY = frozenset(
    {
        "aromatic",
        "cycloalkane",
        "alkene",
        "alkane",
        "alkyne",
        "chlorinated",
        "halogenated",
        "fatty-ester",
        "natural-oil",
        "crude-oil",
        "fuel",
        "lubricant",
        "siloxane",
        "silicone-oil",
        "fluorocarbon",
    }
)
"""Families of liquids of which one is dispersed in one of the others; common practice, no source."""

GASES = frozenset(
    {
        "air",
        "gas",
        "bubbles",
        "steam",
        "vapour",
        "vapor",
        "nitrogen",
        "oxygen",
        "hydrogen",
        "helium",
        "argon",
        "carbon-dioxide",
        "carbon dioxide",
        "methane",
        "natural gas",
    }
)
SOFTEST = 1e-8
"""1/Pa: no liquid at ordinary temperatures is as compressible; gas at 1 atm is a thousand times more so."""

GAS = (
    "gas bubbles in a liquid resonate and change its speed by hundreds of m/s already at 0.1 % vol; Wood's equation "
    "needs their size, number and pressure and is not answered for them. Remove the gas, or measure the speed on site"
)


def refuse_gas(name: str) -> None:
    """Refuse a gas by its name.

    Raises:
        BadParameter: it is one, or bubbles.
    """
    low = name.strip().lower()
    if low in GASES or "bubble" in low or low.startswith("gas "):
        raise BadParameter(f"dispersed: {GAS}.", parameter="dispersed", given=name)


def refuse_miscible(
    continuous: Mapping[str, Any], dispersed: Mapping[str, Any], solutions: Iterable[Mapping[str, Any]]
) -> None:
    """Refuse two liquids that mix, or that are not known to stay apart.

    Args:
        continuous, dispersed: the bodies of both subjects.
        solutions: the bodies of every subject with a `solution`.

    Raises:
        BadParameter: they are no emulsion; the sentence says what to ask instead.
    """
    families = {continuous["family"], dispersed["family"]}
    if families & WATERY and families & OILY:
        return
    ids = {continuous["id"], dispersed["id"]}
    both = f"{dispersed['name']} and {continuous['name']}"
    known = sorted(
        body["id"]
        for body in solutions
        if {body["solution"].get("solute"), body["solution"].get("solvent", "water")} == ids
    )
    if known:
        why = f"mix into a solution; ask for {' or '.join(known)} with a strength"
    elif families <= OILY:
        why = "dissolve in one another; measure the speed of the blend on site (`refdb measure-speed`)"
    elif any("slurry" in family or family == "food" for family in families):
        why = "are no pure phases, since one holds particles or drops already; name its liquid and what floats in it"
    elif families <= WATERY:
        why = "mix into a solution; ask for the solution with its strength or salinity"
    else:
        why = (
            "mix, or dissolve in one another in part, or are not known here to stay apart: alcohols, glycols, acids, "
            "bases and their like are no emulsions; measure the speed of the mixture on site (`refdb measure-speed`)"
        )
    raise BadParameter(
        f"dispersed: {both} {why}. Rules of mixing such as Wood's are wrong for solutions, by some 20 % for ethanol in "
        "water.",
        parameter="dispersed",
        given=dispersed["id"],
    )
