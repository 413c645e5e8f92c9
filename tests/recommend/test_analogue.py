"""A near relative's value stands in where nothing is known, never where something is."""

from __future__ import annotations

import math
from typing import Any

import pytest

from refdb.problems import LedgerError
from refdb.recommend.policy import Analogue
from refdb.recommend.solids.analogue import estimate_analogues
from refdb.records.models import RecommendedValue, Subject

RELATIVE = Subject(id="oak", subject_kind="material", name="Oak", family="wood")
UNKNOWN = Subject(id="ash", subject_kind="material", name="Ash", family="wood")
CHOICE = Analogue(subject="ash", of="oak", properties=["density"], difference="0.1", reason="Invented.")


def row(subject: str, rung: str = "published") -> RecommendedValue:
    fields: dict[str, Any] = {
        "id": f"{subject}.density",
        "subject": subject,
        "property": "density",
        "unit": "kg/m3",
        "form": {"name": "constant/1", "coefficients": {"c0": "700"}},
        "domain": {"temperature": {"low": "15", "high": "25", "unit": "degC"}},
        "uncertainty": {"number": "20", "unit": "kg/m3", "code": "stated", "text": "invented"},
        "rule": "consensus/2",
        "basis": "measured",
        "seen": "original",
        "rung": rung,
        "inputs": [{"id": f"{subject}.density.01", "digest": "sha256:" + "0" * 64}],
    }
    return RecommendedValue.model_validate(fields)


def test_the_relative_stands_in_with_its_uncertainty_and_the_difference() -> None:
    (found,) = estimate_analogues([RELATIVE, UNKNOWN], {"oak.density": row("oak")}, [CHOICE]).values()
    assert (found.id, found.rung, found.rule) == ("ash.density", "analogue", "analogue/1")
    assert found.form["coefficients"]["c0"] == "700"
    assert float(found.uncertainty.number) == pytest.approx(math.hypot(20.0, 70.0), rel=0.02)
    assert found.inputs[0].id == "oak.density"


def test_what_is_known_is_never_replaced() -> None:
    rows = {"oak.density": row("oak"), "ash.density": row("ash")}
    assert estimate_analogues([RELATIVE, UNKNOWN], rows, [CHOICE]) == {}


@pytest.mark.parametrize("rung", ["family", "memory"])
def test_an_estimate_is_no_relative(rung: str) -> None:
    assert estimate_analogues([RELATIVE, UNKNOWN], {"oak.density": row("oak", rung)}, [CHOICE]) == {}


def test_a_name_that_leads_nowhere_stops_the_build() -> None:
    with pytest.raises(LedgerError, match="no subject 'oak'"):
        estimate_analogues([UNKNOWN], {}, [CHOICE])
