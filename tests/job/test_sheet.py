"""The sheet of a job: what a person prints, in which units, and what another release would change in it."""

from __future__ import annotations

import copy
import html
import json
import math
import re
import tomllib
import xml.etree.ElementTree as ET
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from refdb.database import Database
from refdb.job import against, work_job
from refdb.job.figures import decided, joined, number, plain
from refdb.job.flow.profile_evidence import MEASURED, SIMULATED
from refdb.job.models import AgainstQuestion
from refdb.job.reading import read_model
from refdb.job.sheet import blank_page, page, pdf
from refdb.job.sheet.canvas import TEXT
from refdb.job.sheet.factor_chart import TOP, factor_chart
from refdb.job.sheet.geometry import geometry
from refdb.job.shown_units import ShownUnits
from refdb.problems import BadParameter, UnknownName
from refdb.units import units
from tests.conftest import PROJECT, CommandLine

EXAMPLES = sorted((PROJECT / "shared/examples/jobs").glob("*.toml"))
FILE = Path(__file__).parent / "data/heating-water.toml"


@pytest.fixture
def job() -> dict[str, Any]:
    return tomllib.loads(FILE.read_text())


def quantities(part: Any, where: str = "") -> dict[str, tuple[float, str]]:
    """Every quantity of a document, by its place."""
    if isinstance(part, list):
        return {
            key: told for index, item in enumerate(part) for key, told in quantities(item, f"{where}.{index}").items()
        }
    if not isinstance(part, dict):
        return {}
    if isinstance(part.get("magnitude"), float):
        return {where: (part["magnitude"], part["unit"])}
    return {key: told for name, item in part.items() for key, told in quantities(item, f"{where}.{name}").items()}


# Figures


@pytest.mark.parametrize(
    ("value", "doubt", "words"),
    [
        (191.3225, 1.7202, "191.3 mm ± 1.7 mm"),
        (191.3225, 0.0999, "191.32 mm ± 0.10 mm"),
        (191.3225, 17.2, "191 mm ± 17 mm"),
        (12345.0, 432.0, "12340 mm ± 430 mm"),
        (0.0, 0.5, "0.00 mm ± 0.50 mm"),
        (25.0, 0.0, "25 mm"),
    ],
)
def test_two_digits_of_the_uncertainty_decide(value: float, doubt: float, words: str) -> None:
    assert joined({"magnitude": value, "unit": "mm"}, {"magnitude": doubt, "unit": "mm"}) == words


def test_numbers_without_an_uncertainty_are_written_without_a_power_where_they_can_be_read() -> None:
    assert number(430355.823978) == "430356"
    assert number(0.00025) == "0.00025"
    assert number(2.5e-9, 2) == "2.5e-09"
    assert plain(None) == ""
    assert decided({"magnitude": 2.0e-5, "unit": "m"}, {"magnitude": 1.0e-6, "unit": "m"}) == (
        "2.00e-05 m",
        "1.0e-06 m",
    )


# US units


def back(magnitude: float, symbol: str, wanted: str) -> float:
    """A quantity of a US document in the unit that the SI document has."""
    btu = 1.05505585262e3  # J: Btu_IT of NIST SP 811, appendix B.8, like the US gallon
    if wanted == "kW.h/m3":
        return magnitude * btu / 3.6e6 / 3.785411784e-3
    compound = {"s/m": 1 / 0.3048, "ns per m/s": 1 / 0.3048, "K": 5 / 9, "delta_K": 5 / 9}
    compound |= {"m/s/K": 0.3048 * 1.8, "K/(m/s)": 1 / (0.3048 * 1.8)}
    if wanted == "MJ/(m3.K)":
        return magnitude * btu / 1e6 * 1.8 / 3.785411784e-3
    if wanted in compound:
        return magnitude * compound[wanted]
    source = units().find(symbol)
    return float(source.to(magnitude, units().find(wanted, source.dimension)))


@pytest.mark.parametrize("example", [FILE, *EXAMPLES], ids=lambda path: path.stem)
def test_results_in_us_units_are_those_in_si(database: Database, example: Path) -> None:
    content = tomllib.loads(example.read_text())
    si, us = (quantities(work_job({**content, "units": one}, database)) for one in ("si", "us"))
    assert si.keys() == us.keys()
    # What the user gave stays in the unit in which it was given.
    us = {place: told for place, told in us.items() if not (place.startswith(".inputs") and told[1] == si[place][1])}
    metric = {"mm", "m", "m2", "m/s", "kg/s", "kg/m3", "Pa", "kPa", "degC", "K", "kW", "mPa.s", "J/(kg.K)"}
    assert not metric & {unit for _, unit in us.values()}
    # A pipe by its standard starts from the printed millimetre in one document and from the printed inch in the other.
    apart = 5e-3 if "size" in content["pipe"] and "outside_diameter" not in content["pipe"] else 1e-12
    for place, (told, symbol) in us.items():
        magnitude, unit = si[place]
        expected = magnitude if unit == symbol else back(told, symbol, unit)
        assert expected == pytest.approx(magnitude, rel=apart, abs=1e-12), place


# Each example works a whole job twice.
@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    outside=st.integers(6000, 30000),
    wall=st.integers(200, 400),
    warm=st.integers(50, 180),
    flow=st.integers(100, 3000),
    passes=st.integers(1, 6),
)
def test_a_job_told_in_us_units_is_the_job_told_in_si(
    database: Database, outside: int, wall: int, warm: int, flow: int, passes: int
) -> None:
    """Every length, temperature, speed and flow here is one decimal number in both systems: 1 in is 25.4 mm."""
    content = tomllib.loads(FILE.read_text())
    content["sensors"]["passes"] = passes
    metric, customary = copy.deepcopy(content), copy.deepcopy(content)
    metric["pipe"] |= {"outside_diameter": f"{outside * 254 / 10000:.6f} mm", "wall": f"{wall * 254 / 10000:.6f} mm"}
    customary["pipe"] |= {"outside_diameter": f"{outside / 1000:.3f} in", "wall": f"{wall / 1000:.3f} in"}
    metric["liquid"]["temperature"] = f"{warm / 2:.1f} degC"
    customary["liquid"]["temperature"] = f"{warm * 0.9 + 32:.1f} degF"
    metric["sensors"]["speed"], customary["sensors"]["speed"] = "2438.4 m/s", "8000 ft/s"
    gallon = 3.785411784e-3
    metric["flow"] = {"normal": f"{flow * gallon * 60:.15g} m3/h"}
    customary["flow"] = {"normal": f"{flow} US gal/min"}
    told, same = (quantities(work_job(one, database)) for one in (metric, customary))
    # The limits of the match of pipes are told in the unit of the question.
    assert told.keys() == same.keys()
    for place, (magnitude, unit) in told.items():
        number, symbol = same[place]
        if ".inputs" not in place:  # what is given is told in the unit it was given in
            expected = number if symbol == unit else back(number, symbol, unit)
            assert expected == pytest.approx(magnitude, rel=1e-11, abs=1e-15), place


def test_what_has_no_us_unit_stays() -> None:
    told = {
        "a": [{"magnitude": 3.0, "unit": "dB"}, {"magnitude": 2.0, "unit": "deg"}],
        "b": None,
        "c": "12 mm",
        "d": "3 D",
    }
    assert ShownUnits("us", "US gal/min").shown(told) == {**told, "c": "0.47 in"}


# The page


@pytest.mark.parametrize("example", [FILE, *EXAMPLES], ids=lambda path: path.stem)
def test_a_page_holds_everything_and_loads_nothing(database: Database, example: Path) -> None:
    told = work_job(tomllib.loads(example.read_text()), database)
    written = page(told)
    assert not re.search(r"<script|<link|<img|<iframe|@import|src=|\bon\w+=", written)
    assert set(re.findall(r"url\(([^)]*)\)", written)) <= {"#hatch", "#gather", "#settle"}
    assert all(target.startswith("#") for target in re.findall(r'href="([^"]*)"', written))
    read = html.unescape(written)
    texts = [told["title"], told["release_digest"], *told["cautions"], *told["assumptions"], *told["warnings"]]
    texts += [item["name"] for item in told["inputs"]] + [item["text"] for item in told["suitability"] or []]
    texts += [f"Verdict: {told['verdict']['fitness']}", *told["verdict"]["because"]]
    texts += [source["citation"] for item in told["inputs"] for source in item["sources"]]
    assert [text for text in texts if text not in read] == []
    assert read.index("Verdict") < read.index("Flow ") < read.index(told["cautions"][0]) < read.index("Inputs")


def test_what_somebody_wrote_is_escaped(database: Database, job: dict[str, Any]) -> None:
    hostile = "<script>alert('x')</script>\"&"
    written = page(work_job(job | {"title": hostile, "setting": hostile, "purpose": hostile}, database))
    assert "<script" not in written
    assert html.escape(hostile, quote=False).replace("'", "&#39;").replace('"', "&#34;") in written


SVG = "{http://www.w3.org/2000/svg}"


def drawing(written: str, title: str) -> ET.Element:
    """The one drawing of a page whose title begins so."""
    found = [ET.fromstring(text) for text in re.findall(r"<svg.*?</svg>", written, re.DOTALL)]  # noqa: S314 - our own
    (one,) = (each for each in found if (each.findtext(f"{SVG}title") or "").startswith(title))
    return one


@pytest.mark.parametrize("passes", [1, 2, 3, 4])
def test_the_section_is_to_scale(database: Database, job: dict[str, Any], passes: int) -> None:
    """Dots mark the exit points: their distance on paper is the computed one at the scale that is printed."""
    job["sensors"] |= {"passes": passes, "offset": "20 mm"}
    told = work_job(job, database)
    drawn = drawing(page(told), "Longitudinal section")
    words = " ".join(text.text or "" for text in drawn.iter(f"{SVG}text"))
    scale = float(re.search(r"Scale 1:([\d.]+)", words)[1])  # type: ignore[index]
    ends = [dot for dot in drawn.iter(f"{SVG}circle") if dot.get("r") == "0.70"]
    apart = (float(ends[1].get("cx", "")) - float(ends[0].get("cx", ""))) * scale
    exits = told["spacing"]["passes"][passes - 1]["between_exit_points"]["magnitude"]
    assert apart == pytest.approx(exits, abs=0.02 * scale)
    across = abs(float(ends[1].get("cy", "")) - float(ends[0].get("cy", ""))) * scale
    assert across == pytest.approx(0.0 if passes % 2 == 0 else 219.1, abs=0.02 * scale)


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda path: path.stem)
def test_the_traced_path_ends_at_the_second_sensor(database: Database, example: Path) -> None:
    told = work_job(tomllib.loads(example.read_text()), database)
    section = geometry(told)
    assert section is not None
    end = section.way()[-1]
    assert end[0] == pytest.approx(section.exit_spacing, rel=1e-9)
    assert end[1] == pytest.approx(section.side * section.top, rel=1e-9)


def test_the_budget_is_drawn_largest_first(database: Database, job: dict[str, Any]) -> None:
    drawn = drawing(page(work_job(job, database)), "What each input brings")
    bars = [float(bar.get("width", "")) for bar in drawn.iter(f"{SVG}rect") if bar.get("class") == "bar"]
    named = bars[:-1]  # at the end stands what is left
    assert len(named) > 5
    assert named == sorted(named, reverse=True)


def test_the_factor_is_drawn_with_what_was_measured_and_the_flows_of_the_job(
    database: Database, job: dict[str, Any]
) -> None:
    """Nothing is told by colour: signs differ in shape, and each stands in the words below the axes."""
    told = work_job(job, database)
    written = page(told)
    drawn = drawing(written, "Profile factor")
    words = [text.text or "" for text in drawn.iter(f"{SVG}text")]
    for point in told["flow"]["points"]:
        assert any(text.startswith(point["name"]) and f"k = {point['profile_factor']:.4f}" in text for text in words)
    signs = [each.get("class") for each in drawn.iter(f"{SVG}circle")]
    assert signs.count("solid") == len(MEASURED) + 1  # one more in the words
    assert signs.count("ring") == len(SIMULATED) + 1
    assert {float(text.get("font-size", "")) for text in drawn.iter(f"{SVG}text")} == {TEXT}
    assert not re.search(r"#(?!([0-9a-f])\1*\b)[0-9a-f]+", ET.tostring(drawn, encoding="unicode").replace("#hatch", ""))
    assert all(text in html.unescape(written) for text in told["flow"]["profile"]["documents"])


def test_a_reynolds_number_stands_on_the_axis_where_it_belongs(database: Database, job: dict[str, Any]) -> None:
    """Halfway between two powers of ten, by logarithm, lies the root of ten."""
    flow = work_job(job, database)["flow"]
    places = []
    for reynolds in (1e4, math.sqrt(10.0) * 1e4, 1e5):
        moved = flow | {"points": [flow["points"][0] | {"reynolds": reynolds, "reynolds_uncertainty": 0.0}]}
        lines = ET.fromstring(str(factor_chart(moved))).iter(f"{SVG}line")  # noqa: S314 - our own
        places.append(next(float(line.get("x1", "")) for line in lines if line.get("y1") == f"{TOP:.2f}"))
    assert places[1] - places[0] == pytest.approx(places[2] - places[1], abs=0.02)


def test_a_job_whose_spacing_is_refused_says_so_in_place_of_a_drawing(database: Database, job: dict[str, Any]) -> None:
    job["pipe"] |= {"outside_diameter": "60 mm", "wall": "0.8 mm"}
    written = page(work_job(job, database))
    assert "No drawing" in written
    assert "the step spacing is refused" in written


def test_a_pdf_is_written_or_what_is_missing_is_said(database: Database, job: dict[str, Any]) -> None:
    written = page(work_job(job, database))
    try:
        made = pdf(written)
    except BadParameter as problem:
        # A machine without the extra, or without Pango: the sentence names what to install.
        made = problem.detail.encode()
    assert re.search(rb"^%PDF-|refdb\[pdf\]|libpango", made)


def test_a_missing_library_is_one_sentence_and_code_2(
    command: CommandLine, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setitem(__import__("sys").modules, "weasyprint", None)
    told = command("job", "--blank", "--pdf", str(tmp_path / "sheet.pdf"))
    assert told.code == 2
    assert "refdb[pdf]" in told.err


def test_the_blank_sheet_asks_in_the_order_of_a_job() -> None:
    written = blank_page()
    parts = [
        "Local codes",
        "Purpose and flow",
        "Liquid",
        "Pipe as found",
        "Access",
        "Sensors",
        "After mounting",
        "Serial",
    ]
    places = [written.index(part) for part in parts]
    assert places == sorted(places)


# From the command line and the service


def test_the_command_writes_the_page(command: CommandLine, tmp_path: Path) -> None:
    printed = command("job", str(FILE), "--html")
    assert printed.out.startswith("<!DOCTYPE html>")
    target = tmp_path / "sheet.html"
    assert command("job", str(FILE), "--html", str(target)).code == 0
    assert target.read_text() == printed.out
    assert command("job", "--blank").out == blank_page()


@pytest.mark.parametrize(
    "asked", [(), ("--blank", str(FILE)), (str(FILE), "--html", "--json"), (str(FILE), "--html", "no/such/folder/x")]
)
def test_what_cannot_go_together_is_refused(command: CommandLine, asked: tuple[str, ...]) -> None:
    assert command("job", *asked).code == 2


def test_the_service_sends_the_page(client: Any, job: dict[str, Any]) -> None:
    sent = client.post("/v1/jobs/sheet", json=job)
    assert sent.headers["content-type"].startswith("text/html")
    assert sent.headers["content-security-policy"].startswith("default-src 'none'")
    assert sent.text.startswith("<!DOCTYPE html>")
    assert client.post("/v1/jobs/sheet", json={"title": "x"}).status_code == 422


# Against another release


def test_nothing_changes_on_the_same_release(database: Database, job: dict[str, Any]) -> None:
    told = against(job, database, database.release().label)
    assert told["text"] == "nothing changes"
    assert told["inputs"] == told["results"] == told["rows"] == []


def test_what_moves_is_told_in_its_uncertainty(database: Database, job: dict[str, Any]) -> None:
    told = against(job | {"release": "2026r6"}, database, "2026r1")
    assert (told["before"]["release"], told["after"]["release"]) == ("2026r6", "2026r1")
    assert told["inputs"] or told["refused"]
    for item in told["inputs"] + told["results"]:
        assert item["before"] != item["after"]
        moved, before, after = item["in_standard_uncertainties"], item["before"], item["after"]
        if moved is not None:
            apart = after["value"]["magnitude"] - before["value"]["magnitude"]
            assert moved == pytest.approx(apart / before["standard_uncertainty"]["magnitude"], rel=1e-5, abs=1e-12)


def test_a_release_that_cannot_work_the_job_is_told(database: Database) -> None:
    content = tomllib.loads((PROJECT / "shared/examples/jobs/cold-glycol-copper.toml").read_text())
    told = against(content, database, "2026r1")
    assert told["text"] == "release 2026r1 cannot work this job"
    assert told["refused"][0]["release"] == "2026r1"


def test_an_unknown_release_is_refused(database: Database, job: dict[str, Any]) -> None:
    with pytest.raises(UnknownName):
        against(job, database, "1999r1")


def test_the_command_and_the_service_compare_releases(command: CommandLine, client: Any, job: dict[str, Any]) -> None:
    told = json.loads(command("job", str(FILE), "--against", "2026r5", "--json").out)
    sent = client.post("/v1/jobs/against", json={"job": job, "release": "2026r5"}).json()
    assert told == sent
    assert told["text"] in command("job", str(FILE), "--against", "2026r5").out
    with pytest.raises(BadParameter, match=r"^job\.colour"):
        read_model(AgainstQuestion, {"job": job | {"colour": "red"}, "release": "2026r5"})
