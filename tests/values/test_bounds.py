"""A lower bound is told as one wherever it is answered."""

from __future__ import annotations

import pytest

from refdb.cli import printing
from refdb.database import Database
from refdb.lookup.state import read_state
from refdb.values.value import Answer
from tests.service import TestClient, create_app

PROPERTY = "absorption_over_frequency_squared"
AT = "20 degC"


@pytest.fixture(scope="module")
def bound(pending: Database) -> Answer:
    """Nobody was seen to publish the absorption of n-decane."""
    return pending.values("n-decane", [PROPERTY], state=read_state(AT))[PROPERTY]


def test_python_says_that_it_is_a_lower_bound(bound: Answer) -> None:
    assert bound.bound == "lower"
    assert str(bound).startswith("at least ")
    assert any("lower bound, not a value" in text for text in bound.warnings)


def test_the_document_of_http_and_json_says_it(pending: Database, bound: Answer) -> None:
    with TestClient(create_app(pending)) as client:
        told = client.get("/v1/liquids/n-decane/values", params={"property": PROPERTY, "temperature": AT}).json()
    (value,) = told["values"]
    assert value == bound.document()
    assert value["bound"] == "lower"
    assert any("lower bound, not a value" in text for text in value["warnings"])


def test_the_command_line_says_it_beside_the_number_and_once_in_words(
    bound: Answer, capsys: pytest.CaptureFixture[str]
) -> None:
    printing.show_values([bound], [])
    printed = " ".join(capsys.readouterr().out.split())
    assert "at least" in printed
    assert printed.count("a lower bound, not a value") == 1


def test_a_published_value_is_no_bound(pending: Database) -> None:
    answer = pending.values("water", [PROPERTY], state=read_state(AT))[PROPERTY]
    assert (answer.bound, answer.document()["bound"]) == (None, None)
    assert "at least" not in str(answer)
    assert not answer.warnings
