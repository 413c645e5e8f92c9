"""The blank sheet that is carried to the pipe and filled in by hand, in the order of the job's document."""

from __future__ import annotations

from markupsafe import Markup

from refdb.job.sheet import markup
from refdb.job.suitability import CAUTIONS

YES_NO = "yes / no / unknown"
PARTS: tuple[tuple[str, tuple[tuple[str, str], ...]], ...] = (
    (
        "Purpose and flow",
        (
            ("Title of the job; plant, line, place", ""),
            ("Purpose: what hangs on the figure", ""),
            ("Least flow that matters", "with unit"),
            ("Normal flow", "with unit"),
            ("Greatest flow", "with unit"),
            ("Accuracy that is needed", "% of reading, k = 2"),
        ),
    ),
    (
        "Liquid",
        (
            ("What flows; its strength or salinity", ""),
            ("Temperature, how measured", "°C / °F"),
            ("Pressure", "absolute / gauge"),
            ("Sound speed, density, viscosity, where known", "with units, source"),
            ("Gas bubbles", YES_NO),
            ("Solids", YES_NO),
        ),
    ),
    (
        "Pipe as found",
        (
            ("Marking, standard, size, designation", ""),
            ("Material; how known", ""),
            ("Circumference, at three places", "mm / in"),
            ("Outside diameter, two directions at right angles", "mm / in"),
            ("Paint or coating: thickness, taken off?", "mm / in"),
            ("Wall, at eight points around", "mm / in"),
            ("Gauge: speed it is set to; reads through coating?", "m/s / ft/s"),
            ("Wall temperature", "°C / °F"),
            ("Lining: material, thickness, bonded?", "mm / in"),
            ("Deposits: thickness, how known", "mm / in"),
            ("Seam; age; surface inside", ""),
        ),
    ),
    (
        "Access",
        (
            ("Upstream: straight length, and what disturbs", "pipe diameters"),
            ("Downstream: straight length, and what disturbs", "pipe diameters"),
            ("Orientation, direction of flow", "horizontal / up / down"),
            ("Pipe always full", YES_NO),
            ("Both sides within reach; room along the pipe", YES_NO),
            ("Pulsation; outdoors", YES_NO),
        ),
    ),
    (
        "Sensors",
        (
            ("Frequency", "MHz"),
            ("Angle in the wedge, sound speed there and its temperature", "°, m/s / ft/s, °C / °F"),
            ("Offset of the marks, delay, length of a housing", "mm / in, us"),
            ("Range of temperature of sensors and couplant", "°C / °F"),
            ("Passes; spacing worked out", "mm / in"),
            ("Spacing really set, and entered into the instrument?", "mm / in"),
        ),
    ),
    (
        "After mounting",
        (
            ("Sound speed shown", "m/s / ft/s"),
            ("Time difference at rest, line shut and full", "ns"),
            ("Flow shown, and its scatter", "with unit"),
            ("Total time; time difference in flow", "us, ns"),
            ("Signal, as the instrument tells it", ""),
            ("Second meter: flow, expanded uncertainty", "with unit"),
        ),
    ),
)
"""What is asked, part by part, and in what; the order is that of `refdb.job.models`."""
INSTRUMENTS = ("Flow meter", "Sensor A", "Sensor B", "Wall thickness gauge", "Tape", "Thermometer", "")


def blank_page() -> str:
    """An empty sheet for the site, as a printable page of HTML that loads nothing and runs nothing."""
    parts: list[Markup | None] = [
        Markup("<h1>Clamp-on flow measurement: site sheet</h1>"),
        markup.box("Before anything else", CAUTIONS),
        *(_part(title, asked) for title, asked in PARTS),
        _instruments(),
        markup.heading("Remarks, sketch of the line"),
        Markup('<table class="keep"><tr><td style="height: 60mm; border: 0.2mm solid #000"></td></tr></table>'),
        markup.SIGNATURE,
    ]
    # No size of paper: the browser then takes the printer's own.
    return markup.document("Clamp-on flow measurement: site sheet", "auto", parts)


def _part(title: str, asked: tuple[tuple[str, str], ...]) -> Markup:
    row = Markup('<tr><td class="asked">{}</td><td></td><td class="unit">{}</td></tr>')
    rows = Markup("").join(row.format(words, unit) for words, unit in asked)
    inside = Markup('{}<table class="blank">{}</table>').format(markup.heading(title), rows)
    return Markup('<div class="keep">{}</div>').format(inside)


def _instruments() -> Markup:
    rows = [(name, "", "", "") for name in INSTRUMENTS]
    heads = ("Instrument", "Type", "Serial number", "Calibrated when, by whom, certificate")
    table = markup.table(heads, rows, kind="blank")
    return Markup('<div class="keep">{}{}</div>').format(markup.heading("Who, when, with what"), table)
