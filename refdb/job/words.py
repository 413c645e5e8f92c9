"""The trade's other words for what a job's document chooses from, each taken as the word that the document knows."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

_WAVES = {
    "transverse": "shear",
    "shear wave": "shear",
    "shear vertical": "shear",
    "compressional": "longitudinal",
    "compression": "longitudinal",
    "pressure": "longitudinal",
    "longitudinal wave": "longitudinal",
}
_YES_NO: dict[Any, str] = {True: "yes", False: "no", "y": "yes", "n": "no", "true": "yes", "false": "no", "none": "no"}
_YES_NO |= {"not known": "unknown", "?": "unknown"}
_BEND = ("elbow", "90 degree bend", "90 degree elbow", "single bend", "one bend", "single elbow", "knee")
_TWO_BENDS = (
    *("two elbows out of plane", "double bend out of plane", "double elbow out of plane", "two bends", "two elbows"),
    "double bend",
)
WORDS: dict[str, dict[Any, str]] = {
    "pipe.wave": _WAVES,
    "pipe.lining.wave": _WAVES,
    "sensors.wave": _WAVES,
    "pipe.seam": {
        "seamless": "none",
        "no": "none",
        "welded": "longitudinal",
        "straight": "longitudinal",
        **dict.fromkeys(("erw", "hfw", "hfi", "efw", "saw", "lsaw", "sawl", "dsaw", "straight welded"), "longitudinal"),
        **dict.fromkeys(("ssaw", "hsaw", "sawh", "helical", "spiral welded", "spirally welded"), "spiral"),
    },
    "access.disturbance": {
        **dict.fromkeys(_BEND, "bend"),
        **dict.fromkeys(_TWO_BENDS, "two bends out of plane"),
        **dict.fromkeys(("t", "t-piece", "t piece", "branch", "junction"), "tee"),
        **dict.fromkeys(
            ("gate valve", "ball valve", "control valve", "check valve", "tap", "butterfly valve"), "valve"
        ),
        **dict.fromkeys(("contraction", "expansion", "diffuser", "cone", "enlarger"), "reducer"),
        **dict.fromkeys(("nothing", "straight pipe", "no"), "none"),
    },
    "access.orientation": {
        **dict.fromkeys(("up", "rising", "riser", "vertical up", "vertical upward"), "upward"),
        **dict.fromkeys(("down", "falling", "vertical down", "vertical downward"), "downward"),
        **dict.fromkeys(("lying", "level", "flat"), "horizontal"),
        "upright": "vertical",
    },
    "units": {"metric": "si", "imperial": "us", "us customary": "us", "customary": "us"},
    "time_in_liquid": {"calculated": "computed"},
    "heat.meter_in": {"flow": "supply", "feed": "supply", "forward": "supply", "back": "return"},
    **dict.fromkeys(
        (
            *("liquid.gas_bubbles", "liquid.solids", "pipe.lining.bonded", "pipe.gauge_reads_coating", "access.full"),
            *("access.opposite_side", "access.pulsation", "access.outdoors", "sensors.spacing_entered"),
            "mounted.zero_corrected",
        ),
        _YES_NO,
    ),
}
"""By member: another word, and the word of the document. Letters of either case are one."""


def understood(content: Mapping[str, Any]) -> tuple[dict[str, Any], list[str]]:
    """A document in the words it knows, without its blanks, and what was taken as what."""
    notes: list[str] = []
    return _part(content, "", notes), notes


def _part(content: Mapping[str, Any], where: str, notes: list[str]) -> dict[str, Any]:
    told = {}
    for name, item in content.items():
        if isinstance(item, str) and not item.strip():
            continue  # a blank that was left as it is: not told
        place = f"{where}{name}"
        if isinstance(item, Mapping):
            told[name] = _part(item, f"{place}.", notes)
        else:
            told[name] = _word(item, place, notes)
    return told


def _word(item: Any, place: str, notes: list[str]) -> Any:
    known = WORDS.get(place)
    if known is None or not isinstance(item, str | bool):
        return item
    key = item if isinstance(item, bool) else " ".join(item.replace("_", " ").casefold().split())
    if key not in known:
        # A word of the document itself, whatever its letters.
        return key if isinstance(key, str) and key in known.values() else item
    if isinstance(item, str):
        notes.append(f"{place}: '{item}' is taken as {known[key]}")
    return known[key]
