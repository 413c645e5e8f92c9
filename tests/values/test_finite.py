"""No number that is not finite is read, and none is told."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest

from refdb import Quantity
from refdb.database import Database
from refdb.documents import ProblemDocument
from refdb.job import fit, work_job
from refdb.problems import BadParameter, BadQuantity, NotFinite, Problem
from refdb.suspensions.answer import SuspensionAnswer
from refdb.units import parse_quantity, read_quantity, units
from refdb.values.finite import require_finite
from refdb.values.options import Options
from refdb.values.value import Values
from tests.conftest import CommandLine
from tests.job.conftest import Changed, changed
from tests.rows import each
from tests.service import TestClient, respond
from tests.shapes import require_shape

__all__ = ["changed"]

METRE = units().find("m", "length")
SUSPENSION: dict[str, Any] = {
    "continuous": "water",
    "dispersed": "toluene",
    "fraction": "10 % vol",
    "temperature": "20 degC",
}


@each(
    ("text", "dimension", "words"),
    [
        ("1e300 m", "length", "1e+300 m is not below 1e+30 m"),
        ("1e28 km", "length", "1e+28 km is not below 1e+30 m"),
        ("1e308 GPa", "pressure", "is not below 1e+30 Pa"),
        ("-1e300 degF", "temperature", "is not below 1e+30 K"),
        ("1e-300 m/s", "speed", "1e-300 m/s is below 1e-30 m/s"),
        ("1e-400 m", "length", "is too small a number; write 0"),
        ("1e-60 degAPI", "density", None),
        ("1e60 degAPI", "density", "is below 1e-30 kg/m3"),
        ("1e-29 degC", "temperature", None),
        ("1e29 m", "length", None),
        ("0e999 m", "length", None),
        ("0 m", "length", None),
    ],
)
def test_a_quantity_of_a_size_that_nothing_has_is_refused(text: str, dimension: str, words: str | None) -> None:
    if words is None:
        assert parse_quantity(text, dimension, "some field").unit.dimension == dimension
        return
    with pytest.raises(BadQuantity) as refusal:
        parse_quantity(text, dimension, "some field")
    assert refusal.value.detail.startswith("some field: ")
    assert words in refusal.value.detail


@pytest.mark.parametrize("magnitude", [float("nan"), float("inf"), -1e300])
def test_a_quantity_of_a_program_is_refused_as_its_text_is(magnitude: float) -> None:
    with pytest.raises(BadQuantity, match="some field: "):
        read_quantity(Quantity(magnitude, METRE), "length", "some field")


@pytest.mark.parametrize("magnitude", [float("nan"), float("inf"), 1e300])
def test_an_array_that_holds_no_number_is_refused_in_values_and_batches(database: Database, magnitude: float) -> None:
    celsius = Quantity(np.array([20.0, magnitude]), units().find("degC", "temperature"))
    with pytest.raises(BadQuantity, match="temperature: "):
        database.value("water", "sound_speed", temperature=celsius)
    with pytest.raises(BadQuantity, match="temperature: magnitude 1 "):
        database.batch("water", ["sound_speed"], state={"temperature": celsius})


@pytest.mark.parametrize(
    ("path", "asked", "parameter"),
    [
        ("/v1/measure-speed", {"path": "1e300 mm", "path_uncertainty": "0.1 mm"}, "path"),
        ("/v1/measure-speed", {"path": "100 mm", "path_uncertainty": "1e300 mm"}, "path_uncertainty"),
        ("/v1/liquids/match", {"sound_speed": "1e200 m/s", "temperature": "20 degC"}, "sound_speed"),
        ("/v1/suspension", {**SUSPENSION, "particle_size": "1e-300 um", "frequency": "1 MHz"}, "particle_size"),
        ("/v1/pipes/match", {"circumference": "1e200 mm"}, "circumference"),
        ("/v1/strength", {"subject": "ethanol-water", "strength": "1e200 % vol"}, "strength"),
    ],
)
def test_what_overflowed_is_refused_where_it_was_given(
    client: TestClient, path: str, asked: dict[str, Any], parameter: str
) -> None:
    times = {"travel_time": "67.5 us", "travel_time_uncertainty": "0.05 us"} if path == "/v1/measure-speed" else {}
    response = client.get(path, params=asked | times)
    assert (response.status_code, response.json()["parameter"]) == (422, parameter)


def test_a_document_is_searched_for_numbers_that_are_none() -> None:
    require_finite({"a": [{"b": 1.0}, None, "nan"], "c": 10**400})
    for document, where in (
        ({"a": [{"b": 1.0}, {"b": float("nan")}]}, "a.1.b: cannot be calculated"),
        ({"a": {"b": (1.0, float("-inf"))}}, "a.b.1: becomes larger than any number"),
    ):
        with pytest.raises(NotFinite) as refusal:
            require_finite(document)
        assert where in refusal.value.detail


def _told(document: Mapping[str, Any], *way: Any) -> dict[str, Any]:
    """A copy of a document with a number that is none at a place."""
    copied: dict[str, Any] = json.loads(json.dumps(document))
    held: Any = copied
    for step in way[:-1]:
        held = held[step]
    held[way[-1]] = float("nan")
    return copied


def test_the_service_never_sends_null_for_a_number_that_is_none(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = {"subject": "water", "property": "sound_speed", "temperature": "20 degC"}
    usual = client.get("/v1/values", params=asked).json()
    place = ("values", 0, "standard_uncertainty", "magnitude")
    monkeypatch.setattr(Values, "document", lambda _: _told(usual, *place))
    response = client.get("/v1/values", params=asked)
    problem = require_shape(ProblemDocument, response.json())
    assert (response.status_code, problem["type"]) == (422, "urn:refdb:problem:not-finite")
    assert problem["parameter"] == "values.0.standard_uncertainty.magnitude"


def test_the_command_line_never_prints_a_number_that_is_none(
    command: CommandLine, monkeypatch: pytest.MonkeyPatch, database: Database
) -> None:
    usual = database.suspension(**SUSPENSION).document()
    monkeypatch.setattr(SuspensionAnswer, "document", lambda _: _told(usual, "at_fraction", "slope", "magnitude"))
    words = ("suspension", "water", "toluene", "--fraction", "10 % vol", "--temperature", "20 degC")
    for arguments in (words, (*words, "--json")):
        printed = command(*arguments)
        assert (printed.code, printed.out) == (2, "")
        assert "at_fraction.slope.magnitude: cannot be calculated" in printed.err


def test_an_array_that_goes_out_holds_numbers_alone(client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("refdb.values.batch.BatchPart.value", property(lambda part: part.each.value * np.inf))
    asked = {"subject": "water", "properties": ["density"], "temperature": {"unit": "degC", "magnitudes": [20, 300]}}
    for headers in ({}, {"Accept": respond.ARROW}):
        response = client.post("/v1/values", json=asked, headers=headers)
        assert (response.status_code, response.json()["type"]) == (422, "urn:refdb:problem:not-finite"), headers
        assert "value" in response.json()["detail"]


def test_a_step_of_a_job_whose_numbers_overflow_is_refused_and_the_others_told(
    database: Database, changed: Changed
) -> None:
    """A speed at the critical one, and an uncertainty that is more than it, leave no spacing on one side."""
    told = work_job(changed(pipe={"shear_speed": "3978 m/s", "shear_speed_uncertainty": "3970 m/s"}), database)
    refused = {item["step"]: item["problem"] for item in told["refused"]}
    assert refused["spacing"]["type"] == "urn:refdb:problem:not-finite"
    assert refused["spacing"]["parameter"].startswith("spacing.passes.0.")
    assert told["waves"] is not None
    json.dumps(told, allow_nan=False)


def test_a_slope_that_leaves_the_wedge_no_speed_is_refused(database: Database, changed: Changed) -> None:
    with pytest.raises(Problem, match=r"sensors.speed_slope: leaves the wedge -\d"):
        work_job(changed(sensors={"speed_slope": "-50 m/(s.K)", "temperature": "90 degC"}), database)


def test_sensors_that_two_spacings_do_not_fix_are_refused() -> None:
    """One spacing is known so much better that a float holds nothing of the other beside it."""
    known = {"passes": 2, "wall_speed": "3200 m/s"}
    first = {
        **known,
        "spacing": "100 mm",
        "bore": "200 mm",
        "sound_speed": "1480e-6 m/s",
        "wall": "8 mm",
        "lining": "3 mm",
        "lining_speed": "2500 m/s",
        "spacing_uncertainty": "0.5e-21 mm",
    }
    second = {**known, "spacing": "150 mm", "bore": "300 mm", "sound_speed": "1480 m/s", "wall": "90 mm"}
    with pytest.raises(BadParameter, match=r"known: spacings so alike, or known so unequally well, .*; add one"):
        fit({"known": [first, second]})


def test_a_refused_state_is_told_as_null_with_its_status(database: Database) -> None:
    states = {"temperature": {"unit": "degC", "magnitudes": [20.0, 300.0]}}
    columns = database.batch("water", ["density"], state=states, options=Options()).document()["columns"]
    assert [value is None for value in columns["value"]] == [False, True]
    assert columns["status"][1] != "ok"
