"""What follows for a material in no list, conditional on what was measured: held against materials that are in it."""

from __future__ import annotations

import json
import math
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from refdb.database import Database
from refdb.lookup.state import read_state
from refdb.materials.kind import MIXED, family_of, mixed_density, read_composition
from refdb.materials.measurement import MATCHED, MeasuredNumber
from refdb.materials.rows import MaterialRows, rows_of
from refdb.materials.unlisted import RELATIONS, condition
from refdb.problems import BadParameter, NotAvailable, OutsideRange, Problem
from refdb.values.options import SI
from tests.conftest import CommandLine

if TYPE_CHECKING:
    from fastapi.testclient import TestClient

FAMILIES = ("austenitic-stainless", "nickel-alloy", "copper-alloy", "aluminium", "low-alloy-steel")


def test_conditioning_on_one_speed_is_the_closed_form_of_a_bivariate_normal() -> None:
    mean, sizes = np.log([5700.0, 3100.0, 8000.0]), np.array([0.02, 0.03, 0.01])
    correlation = np.array([[1.0, 0.6, 0.0], [0.6, 1.0, 0.0], [0.0, 0.0, 1.0]])
    covariance = correlation * sizes[:, None] * sizes[None, :]
    point, after, chi_squared = condition(mean, covariance, [MeasuredNumber("longitudinal_speed", 5800.0, 1e-3)])
    moved = math.log(5800.0) - mean[0]
    assert point[0] == pytest.approx(math.log(5800.0), abs=1e-9)
    assert point[1] - mean[1] == pytest.approx(0.6 * 0.03 / 0.02 * moved, rel=1e-6)
    assert math.sqrt(after[1, 1]) == pytest.approx(0.03 * math.sqrt(1.0 - 0.36), rel=1e-5)
    assert point[2] == mean[2]
    assert chi_squared == pytest.approx((100.0 / (5700.0 * 0.02)) ** 2, rel=1e-3)


def test_a_modulus_and_a_density_give_the_speed_that_belongs_to_them() -> None:
    """With next to nothing known before: E, nu and the density tell both speeds exactly."""
    mean, covariance = np.log([5000.0, 2800.0, 8000.0]), np.diag([0.09, 0.09, 0.01])
    numbers = [("youngs_modulus", 200e9), ("poisson_ratio", 0.3), ("density", 7850.0)]
    point, _, _ = condition(mean, covariance, [MeasuredNumber(name, value, 1e-5 * value) for name, value in numbers])
    assert math.exp(point[1]) == pytest.approx(math.sqrt(200e9 / 2.6 / 7850.0), rel=1e-3)
    assert RELATIONS["poisson_ratio"](point) == pytest.approx(0.3, rel=1e-3)


def _members(database: Database, family: str) -> list[MaterialRows]:
    reader, release = database.reader, database.release()
    found = []
    for record in reader.store.of_kind("subject", release):
        if record.body["subject_kind"] == "material" and record.body["family"] == family:
            rows = rows_of(reader, record, MATCHED, read_state("20 degC"), SI, release)
            if isinstance(rows, MaterialRows):
                found.append(rows)
    return found


@pytest.mark.parametrize("family", FAMILIES)
def test_a_members_shear_speed_follows_from_its_longitudinal_speed_and_the_others(
    database: Database, family: str
) -> None:
    """Every member left out in turn, its longitudinal speed given: nine of ten within two standard uncertainties."""
    members = _members(database, family)
    assert len(members) >= 5
    scores = []
    for place, left in enumerate(members):
        others = [one for other, one in enumerate(members) if other != place]
        logs = np.array([np.log(one.values) for one in others])
        own = np.mean([one.covariance / np.outer(one.values, one.values) for one in others], axis=0)
        covariance = np.cov(logs.T) * (1.0 + 1.0 / len(others)) + own
        fast, slow = left.values[0], left.values[1]
        point, after, _ = condition(
            logs.mean(axis=0), covariance, [MeasuredNumber("longitudinal_speed", fast, float(left.uncertainties[0]))]
        )
        size = math.hypot(math.exp(point[1]) * math.sqrt(after[1, 1]), float(left.uncertainties[1]))
        scores.append(abs(math.exp(point[1]) - slow) / size)
    assert sum(score <= 2.0 for score in scores) >= 0.9 * len(scores) - 1.0
    assert max(scores) < 4.0


def test_measuring_narrows_and_never_widens(database: Database) -> None:
    bare = database.unlisted_material(family="nickel-alloy", longitudinal_speed="5700 m/s")
    more = database.unlisted_material(
        family="nickel-alloy", longitudinal_speed="5700 m/s", density="8.4 g/cm3", youngs_modulus="206 GPa"
    )
    for name in RELATIONS:
        assert more.value(name)[1] <= bare.value(name)[1] * 1.0001 or name == "youngs_modulus"
        assert bare.value(name)[1] <= bare.before(name)[1] * 1.0001
    assert more.value("shear_speed")[1] < 0.5 * bare.value("shear_speed")[1]


def test_what_does_not_fit_its_kind_is_said_and_nothing_is_kept(database: Database) -> None:
    found = database.unlisted_material(family="nickel-alloy", density="7.0 g/cm3")
    assert not found.fits
    assert "does not fit" in found.advice[0]
    assert not any("keep" in one for one in found.document()["values"])


def test_a_neighbour_is_nearer_than_any_member(database: Database) -> None:
    near = database.unlisted_material(like="stainless-316", density="8.0 g/cm3").before("shear_speed")
    assert near[0] == pytest.approx(float(database.value("stainless-316", "shear_speed").magnitude), rel=1e-9)


# Nominal compositions of UNS (common practice, no source) and densities that handbooks print: Callister and Rethwisch,
# Materials Science and Engineering, table B.1 (304, 316, brass, Monel, Inconel 625, aluminium 6061).
KNOWN = [
    ("Fe 70.5 %, Cr 18.5 %, Ni 9.5 %, Mn 1.5 %", "austenitic-stainless", 8000.0),
    ("Fe 66 %, Cr 17 %, Ni 12 %, Mo 2.5 %, Mn 1.5 %, Si 0.5 %", "austenitic-stainless", 8000.0),
    ("Cu 70 %, Zn 30 %", "copper-alloy", 8530.0),
    ("Ni 66.5 %, Cu 31.5 %, Fe 2 %", "nickel-alloy", 8800.0),
    ("Ni 62 %, Cr 21.5 %, Mo 9 %, Nb 3.6 %, Fe 3 %", "nickel-alloy", 8440.0),
    ("Al 97.5 %, Mg 1 %, Si 0.6 %, Cu 0.3 %", "aluminium", 2700.0),
    ("Ti 90 %, Al 6 %, V 4 %", "titanium", 4430.0),
    ("Fe 99 %, C 0.2 %, Mn 0.5 %", "carbon-steel", 7850.0),
]


@pytest.mark.parametrize(("text", "family", "density"), KNOWN)
def test_a_composition_tells_family_and_density_of_handbook_alloys(
    database: Database, text: str, family: str, density: float
) -> None:
    composition = read_composition(text)
    assert family_of(composition) == family
    mixed = mixed_density(database.reader, composition, read_state("20 degC"), database.release())
    assert abs(mixed / density - 1.0) <= 2.0 * MIXED


@pytest.mark.parametrize(
    ("asked", "problem", "words"),
    [
        ({"density": "8 g/cm3"}, BadParameter, "one of like, family and composition"),
        ({"density": "8 g/cm3", "like": "stainless-316", "family": "nickel-alloy"}, BadParameter, "give one of"),
        ({"density": "8 g/cm3", "family": "steel"}, BadParameter, "it is one of"),
        ({"density": "8 g/cm3", "composition": "Fe 50 %"}, BadParameter, "adds up to 50 %"),
        ({"density": "8 g/cm3", "composition": "Fe 100"}, BadParameter, "mass percent"),
        ({"density": "8 g/cm3", "composition": "Fe 60 %, Fe 40 %"}, BadParameter, "once"),
        ({"density": "8 g/cm3", "composition": "Fe 96 %, C 4 %"}, NotAvailable, "like"),
        ({"density": "8 g/cm3", "like": "abs"}, NotAvailable, "name its family"),
        ({"like": "stainless-316"}, BadParameter, "nothing is given"),
        ({"like": "stainless", "density": "8 g/cm3"}, Problem, "ask for one of them"),
        ({"family": "nickel-alloy", "poisson_ratio": "0.7 1"}, Problem, "every solid"),
        ({"family": "nickel-alloy", "density": "2.7 g/cm3"}, OutsideRange, "not of one more of the family"),
        ({"like": "hdpe", "longitudinal_speed": "12000 m/s", "poisson_ratio": "0.01 1"}, OutsideRange, "by far"),
    ],
)
def test_a_wrong_question_is_refused_in_a_sentence(
    database: Database, asked: dict[str, Any], problem: type[Problem], words: str
) -> None:
    with pytest.raises(problem, match=words):
        database.unlisted_material(**asked)


def test_command_and_service_give_the_same_document(
    database: Database, command: CommandLine, client: TestClient
) -> None:
    asked: dict[str, Any] = {"like": "stainless-316", "density": "8.1 g/cm3"}
    printed = json.loads(
        command("unlisted-material", "--like", "stainless-316", "--density", "8.1 g/cm3", "--json").out
    )
    served = client.get("/v1/materials/unlisted", params=asked).json()
    assert printed == served == json.loads(json.dumps(database.unlisted_material(**asked).document()))


def test_what_follows_can_be_kept_as_a_house_value(database: Database, command: CommandLine) -> None:
    """The command that is offered is one that the house takes: a place for materials in no list is there."""
    told = database.unlisted_material(family="nickel-alloy", density="8.9 g/cm3").document()["values"]
    assert told[0]["keep"].startswith("refdb house add own-material-1 longitudinal_speed --value ")
    assert database.subject("own-material-1").body["family"] == "own-material"
    shown = command("unlisted-material", "--family", "nickel-alloy", "--density", "8.9 g/cm3")
    assert "To keep a value" in shown.out
