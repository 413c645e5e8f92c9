"""What standards line a pipe with, by size; what is only recalled is given on request."""

from __future__ import annotations

import pytest

from refdb.database import Database
from refdb.problems import NotAvailable, Problem, UnknownName
from refdb.values.options import Options
from refdb_api.documents import LiningList, PipeList
from tests.service import TestClient, create_app
from tests.shapes import require_shape


@pytest.mark.parametrize(
    ("size", "nominal", "least"),
    [("DN 200", 4.0, 2.5), ("DN300", 4.0, 2.5), ("DN 350", 5.0, 3.0), ("DN 1000", 6.0, 3.5)],
)
def test_the_mortar_of_ductile_iron_grows_with_the_size(
    pending: Database, size: str, nominal: float, least: float
) -> None:
    (lining,) = pending.linings("en545", size)
    assert lining.thickness is not None
    assert lining.minimum is not None
    assert (lining.thickness.magnitude, lining.minimum.magnitude) == (nominal, least)
    assert lining.record.body["material"] == "cement-mortar"


def test_a_lining_is_answered_in_inches_on_request(pending: Database) -> None:
    told = pending.linings("b36.10", "NPS 8", "cement-mortar", Options(system="us"))
    inside = {lining.record.body["standard"]: lining for lining in told if lining.record.body["side"] == "inside"}
    thickness = inside["AWWA C205, shop lined"].thickness
    assert thickness is not None
    assert (thickness.magnitude, thickness.unit.symbol) == (0.25, "in")


def test_a_coating_outside_is_told_apart_from_a_lining(pending: Database) -> None:
    sides = {lining.id: lining.record.body["side"] for lining in pending.linings("b36.10", "NPS 8")}
    assert sides["lining.awwa-c205.cement-mortar-coating"] == "outside"


def test_a_recalled_lining_is_given_on_request_and_marked(pending: Database) -> None:
    wanted = "lining.awwa-c104.cement-mortar.single-nominal-3-to-12"
    assert wanted not in {lining.id for lining in pending.linings("c151", "8")}
    recalled = {lining.id: lining for lining in pending.linings("c151", "8", options=Options(estimates=True))}
    assert recalled[wanted].document()["rung"] == "memory"


def test_a_doubted_thickness_is_not_answered(pending: Database) -> None:
    ids = {lining.id for lining in pending.linings()}
    assert "lining.cement-lined-pipe.cement-mortar.nominal-from-20" not in ids


@pytest.mark.parametrize(
    ("system", "size", "material", "problem", "words"),
    [
        ("b88", "1/2", None, NotAvailable, "measure"),
        ("en545", "DN 201", None, UnknownName, "near sizes"),
        ("en545", "DN 200", "gold", UnknownName, "there are bitumen"),
        (None, "DN 200", None, NotAvailable, "needs its system"),
        ("en5455", None, None, UnknownName, "no pipe system"),
    ],
)
def test_a_lining_that_nobody_printed_is_refused_with_the_way_out(
    pending: Database, system: str | None, size: str | None, material: str | None, problem: type[Problem], words: str
) -> None:
    with pytest.raises(problem, match=words):
        pending.linings(system, size, material)


def test_linings_and_pipes_keep_their_documents_over_http(pending: Database) -> None:
    with TestClient(create_app(pending)) as client:
        linings = client.get("/v1/linings?system=en545&size=DN200")
        assert linings.status_code == 200
        assert len(require_shape(LiningList, linings.json())["items"]) == 1
        for question in ("system=en545&limit=500", "system=hdpe-ips", "system=asme-bpe&accept=estimates", "size=NPS 8"):
            answer = client.get(f"/v1/pipes?{question}")
            assert answer.status_code == 200, answer.text
            require_shape(PipeList, answer.json())
        recalled = client.get("/v1/pipes?system=asme-bpe")
        assert recalled.status_code == 404
        assert recalled.json()["estimate_available"] is True
