"""The drawings of a sheet: to scale, and no text in another or outside, from DN15 to DN2000."""

from __future__ import annotations

import itertools
from typing import Any

import pytest

from refdb.database import Database
from refdb.job import work_job
from refdb.job.sheet.canvas import Canvas
from refdb.job.sheet.chart import drawn_chart
from refdb.job.sheet.clock_face import CENTRE, clock_face, drawn_clock
from refdb.job.sheet.drawing import drawing, drawn_section
from refdb.job.sheet.geometry import geometry
from tests.job.conftest import Changed

SIZES = (("15 mm", "1 mm"), ("60.3 mm", "3.9 mm"), ("219.1 mm", "6.3 mm"), ("630 mm", "57 mm"), ("2032 mm", "20 mm"))
LAYERS: tuple[dict[str, Any], ...] = (
    {},
    {
        "coating": "0.4 mm",
        "coating_speed": "2400 m/s",
        "deposits": "0.5 mm",
        "lining": {
            "thickness": "1.5 mm",
            "longitudinal_speed": "2300 m/s",
            "shear_speed": "1100 m/s",
            "density": "1200 kg/m3",
            "bonded": "yes",
        },
    },
)


def _in_order(canvas: Canvas, what: str) -> None:
    width, height = canvas.size
    for text in canvas.texts:
        assert text.left >= -0.5, (what, text)
        assert text.top >= -0.5, (what, text)
        assert text.right <= width + 0.5, (what, text)
        assert text.bottom <= height + 0.5, (what, text)
    for one, other in itertools.combinations(canvas.texts, 2):
        assert not one.overlaps(other), (what, one, other)


@pytest.mark.parametrize("units", ["si", "us"])
@pytest.mark.parametrize(("outside", "wall"), SIZES)
def test_no_text_stands_in_another_or_outside(
    database: Database, changed: Changed, outside: str, wall: str, units: str
) -> None:
    for layers, passes, housing in itertools.product(LAYERS, (1, 2, 3, 6), (None, "75 mm")):
        sensors = {"passes": passes, "housing_length": housing, "frequency": "4 MHz"}
        pipe = {"outside_diameter": outside, "wall": wall, "surface": None, "roughness": "1 um", **layers}
        flow = {"normal": "0.2 m3/h", "minimum": None, "maximum": None}
        told = work_job(changed(pipe=pipe, sensors=sensors, flow=flow, units=units), database)
        section, clock = drawn_section(told), drawn_clock(told)
        for drawn, kind in ((section, "section"), (clock, "clock face")):
            if drawn is not None:
                _in_order(drawn, f"{kind} {outside} {passes} passes {housing} {units}")
        _in_order(drawn_chart(told["uncertainty"]), "budget")


def test_housings_that_find_no_room_are_drawn_smaller_and_said_to_be(database: Database, changed: Changed) -> None:
    told = work_job(changed(sensors={"passes": 2, "housing_length": "250 mm"}), database)
    section = geometry(told)
    assert section is not None
    assert section.crowded
    front = max(x for x, _ in section.wedge()[0])
    assert 2.0 * front < section.exit_spacing
    assert "would overlap" in str(drawing(told))


def test_two_wedges_in_line_never_overlap(database: Database, changed: Changed) -> None:
    for passes, housing in itertools.product((2, 4, 6), (None, "30 mm", "75 mm", "300 mm")):
        told = work_job(changed(sensors={"passes": passes, "housing_length": housing}), database)
        section = geometry(told)
        assert section is not None
        assert 2.0 * max(x for x, _ in section.wedge()[0]) < section.exit_spacing


def test_the_clock_face_is_to_scale_and_names_its_scale(database: Database, changed: Changed) -> None:
    told = work_job(changed(), database)
    drawn = drawn_clock(told)
    assert drawn is not None
    words = next(text.words for text in drawn.texts if text.words.startswith("scale "))
    scale = float(words.split(":")[1].split()[0])
    written = str(clock_face(told))
    # The rim of the pipe begins at twelve o'clock.
    top = float(written.split('class="wall" points="')[1].split()[0].split(",")[1])
    assert (CENTRE[1] - top) * scale == pytest.approx(219.1 / 2.0, abs=0.02 * scale)


@pytest.mark.parametrize(
    ("orientation", "shows"), [("horizontal", True), ("unknown", True), ("upward", False), ("vertical", False)]
)
def test_gas_and_sediment_are_shown_in_a_pipe_that_lies(
    database: Database, changed: Changed, orientation: str, shows: bool
) -> None:
    written = str(clock_face(work_job(changed(access={"orientation": orientation}), database)))
    assert ('class="gas"' in written) == shows


def test_whoever_hears_the_page_is_told_what_is_drawn(database: Database, changed: Changed) -> None:
    told = work_job(changed(sensors={"passes": 1}), database)
    assert "opposite side" in str(drawing(told)).split("<desc>")[1].split("</desc>")[0]
    assert "opposite sides" in str(clock_face(told)).split("<desc>")[1].split("</desc>")[0]
