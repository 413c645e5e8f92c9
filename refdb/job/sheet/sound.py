"""Waves, spacing and loss on the sheet."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from refdb.job.figures import expanded, number, plain
from refdb.job.sheet.parts import Paragraph, Part, Points, Tabulation

TRAVELS = {True: "travels", False: "does not travel", None: "unknown"}
NOTHING = "–"


def wave_parts(waves: Mapping[str, Any]) -> list[Part]:
    """Angles, every arrival, echoes."""
    angles = [f"{layer['layer']} {plain(layer['angle'], 4)} ({layer['mode']})" for layer in waves["layers"]]
    ratio = waves["thickness_by_wavelength"]
    words = (
        f"Angles to the normal: {', '.join([*angles, 'liquid ' + plain(waves['liquid_angle'], 4)])}. Slowness along "
        f"the pipe {plain(waves['slowness'])}: waves slower than {plain(waves['slowest_speed_beyond'])} travel."
    )
    if ratio is not None:
        words += f" The wall is {number(ratio, 3)} shear wavelengths thick."
    rows = [
        (
            named(item["wall_wave"], item["lining_wave"]),
            TRAVELS[item["travels"]] + (", worked on" if item["worked_on"] else ""),
            plain(item["speed"]) or NOTHING,
            plain(item["angle"], 4) or NOTHING,
            plain(item["spacing"], 4) or NOTHING,
            plain(item["total_time"]) or NOTHING,
            ends(item["absorption_in_walls"]),
            plain(item["weaker_by"], 3) or NOTHING,
        )
        for item in waves["arrivals"]
    ]
    heads = ("Wave in wall (and lining)", "", "Speed in wall", "Angle", "Spacing", "Time", "Absorbed", "Comes in less")
    parts: list[Part] = [Paragraph(words), Tabulation(heads, rows, (2, 3, 4, 5, 6, 7)), _energies(waves)]
    if waves["echoes"] is not None:
        places = ", ".join(plain(place, 4) for place in waves["echoes"]["beyond_the_spacing"])
        parts.append(Paragraph(f"Echoes beyond the spacing at {places}. {waves['echoes']['text']}"))
    return parts


def _energies(waves: Mapping[str, Any]) -> Tabulation:
    """What each interface lets through of an arrival, as parts of the energy."""
    rows = []
    for item in waves["arrivals"]:
        told = item["transmission"]
        if told is None:
            continue
        rows.append(
            (
                named(item["wall_wave"], item["lining_wave"]),
                " to ".join(number(each, 3) for each in told["wedge_to_wall"]),
                number(told["wall_to_liquid"], 3),
                number(told["liquid_to_wall"], 3),
                " to ".join(number(each, 3) for each in told["wall_to_wedge"]),
                number(told["reflected_in_liquid"], 3),
            )
        )
    heads = ("Part of the energy", "Wedge to wall", "Wall to liquid", "Liquid to wall", "Wall to wedge", "Reflected")
    return Tabulation(heads, rows, (1, 2, 3, 4, 5))


def named(wall: str, lining: str | None) -> str:
    """A pair of waves in words."""
    return " and ".join(filter(None, (wall, lining)))


def ends(pair: Any) -> str:
    """A range of two quantities, once where both ends are the same."""
    if pair is None:
        return NOTHING
    low, high = (plain(each, 3) for each in pair)
    return low if low == high else f"{number(pair[0]['magnitude'], 3)} to {high}"


def pass_tables(document: Mapping[str, Any]) -> list[Part]:
    """Spacings and times for each number of passes."""
    spacing = document["spacing"]
    rows, times = [], []
    for item in spacing["passes"]:
        count = str(item["passes"])
        rows.append(
            (
                count,
                expanded(item["spacing"], item["standard_uncertainty"]),
                plain(item["between_exit_points"], 4),
                plain(item["nearest_setting"]) or NOTHING,
                item["remark"] or "",
            )
        )
        times.append(
            (
                count,
                plain(item["time_in_liquid"]),
                plain(item["time_in_layers"]),
                plain(item["total_time"]),
                plain(item["time_difference_per_velocity"], 4),
                plain(item["error_of_1_mm_not_entered"], 3),
            )
        )
    chosen = document["arrangement"]["passes"] - 1
    heads = ("Passes", "Spacing of the marks", "Between exit points", "Rail", "Remark")
    parts: list[Part] = [Tabulation(heads, rows, (1, 2, 3), chosen)]
    timed = (
        *("Passes", "In the liquid", "In the layers", "Total time", "Difference per velocity"),
        "Flow off per 1 mm (0.039 in) not entered",
    )
    parts.append(Tabulation(timed, times, (1, 2, 3, 4, 5), chosen))
    told = spacing["as_set"]
    if told is not None:
        words = (
            f"As set: {plain(told['apart'], 3)} from the spacing above, entered: {told['entered']}; the time shifts by "
            f"{plain(told['shift_of_time'], 3)}, the flow by {plain(told['error_of_flow'], 3)}; {told['text']}."
        )
        parts.append(Paragraph(words))
    return parts


def loss_table(document: Mapping[str, Any]) -> list[Part]:
    """The loss and its parts for each number of passes."""
    spacing = document["spacing"]
    rows = [
        (
            str(item["passes"]),
            ends((lost["low"], lost["high"])),
            plain(lost["usual"], 3),
            ends(lost["transmission"]),
            plain(lost["reflections"], 3),
            ends(lost["absorption"]),
            ends(lost["spreading"]),
            lost["signal"],
        )
        for item in spacing["passes"]
        if (lost := item["loss"]) is not None
    ]
    if not rows:
        return [Paragraph("The loss is not told: data of the wall are missing.")]
    heads = (
        *("Passes", "Least to most", "In the mean", "Contact, wall, lining", "Reflections", "Liquid", "Spreading"),
        "Signal",
    )
    basis = spacing["passes"][0]["loss"]["absorption_from"]
    return [
        Tabulation(heads, rows, (1, 2, 3, 4, 5, 6), document["arrangement"]["passes"] - 1),
        Paragraph(f"Absorption of the liquid: {basis}."),
        Points(spacing["text"], "small"),
    ]
