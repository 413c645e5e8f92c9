"""Each system's own words for size and wall; what is ambiguous is told or refused, and nothing is guessed."""

from __future__ import annotations

import pytest

from refdb.database import Database
from refdb.problems import AmbiguousName, BadParameter, NotAvailable, Problem, UnknownName
from refdb.values.options import Options
from tests.rows import each


@each(
    ("system", "size", "designation", "row"),
    [
        ("b36.19", "NPS 2", "10S", "b36.19-nps-2-sch-10s"),
        ("ASME B36.19M", "DN50", "Sch 10S", "b36.19-nps-2-sch-10s"),
        ("b88", "1/2", "Type L", "b88-nominal-1-2-type-l"),
        ("astm b88", "1/2 in", "L", "b88-nominal-1-2-type-l"),
        ("en1057", "22", "0.9", "en1057-od-22-wall-0-9mm"),
        ("en1057", "22 mm", "0.9 mm", "en1057-od-22-wall-0-9mm"),
        ("iso4427", "OD 110", "SDR 11", "iso4427-od-110-sdr-11"),
        ("en 12201", "d 110", "SDR11", "iso4427-od-110-sdr-11"),
        ("iso4427", "d110", "11", "iso4427-od-110-sdr-11"),
        ("d1785", "2", "Sch 40", "d1785-nps-2-sch-40"),
        ("d2241", "NPS 4", "SDR 26", "d2241-nps-4-sdr-26"),
        ("c900", '8"', "DR 18", "c900-nominal-8-dr-18"),
        ("c151", "8 in", "Pressure Class 350", "c151-nominal-8-pressure-class-350"),
        ("c151", "8", "PC 350", "c151-nominal-8-pressure-class-350"),
        ("awwa c151", '8"', "Class 52", "c151-nominal-8-class-52"),
        ("en545", "DN200", "K9", "en545-dn-200-k9"),
        ("iso 2531", "200", "k9", "en545-dn-200-k9"),
        ("en545", "DN 200", "C40", "en545-dn-200-c40"),
        ("en545", "DN 200", "Class K9", "en545-dn-200-k9"),
        ("iso4427", "d 110", "S5", "iso4427-od-110-sdr-11"),
        ("iso4427", "d 110", "S 3.2", "iso4427-od-110-sdr-7-4"),
        ("jis-g3454", "100A", "Sch 40", "jis-g3454-a-100-sch-40"),
        ("JIS G 3454", "4B", "40", "jis-g3454-a-100-sch-40"),
        ("jis-g3452", "A 100", None, "jis-g3452-a-100-sgp"),
        ("bs3505", "0.5", "Class E", "bs3505-nominal-1-2-class-e"),
        ("din11850", "DN 50", "Series 2", "din11850-dn-50-series-2"),
        ("din8062", "110", "Series 5", "din8062-od-110-series-5"),
        ("b280", "3/8", "drawn", "b280-od-3-8-drawn"),
        ("din2448", "60.3", "2.9", "din2448-od-60-3-wall-2-9mm"),
    ],
)
def test_a_systems_own_words_lead_to_its_pipe(
    pending: Database, system: str, size: str, designation: str | None, row: str
) -> None:
    assert pending.pipe(system, size, designation).id == row


@pytest.mark.parametrize(
    ("system", "size", "designation", "words"),
    [
        ("iso4427", "110", "DR 11", "designation 'DR 11' read as SDR 11"),
        ("iso4427", "DN 110", "SDR 11", "size 'DN 110' read as OD 110; the system has no size word DN"),
        ("c900", "NPS 8", "DR 18", "read as nominal 8; the system has no size word NPS"),
        ("b36.10", "OD 219.1", "40", "read as an outside diameter"),
        ("b36.19", "8", "40S", "size '8' read as NPS 8, not DN 8"),
        ("jis-g3454", "20", "40", "size '20' read as 20A, not 20B"),
        ("en1057", "22", "0.9", "read as the wall"),
        ("iso4427", "110", "S5", "designation 'S5' read as SDR 11 (SDR = 2 S + 1)"),
    ],
)
def test_what_had_to_be_assumed_is_told(
    pending: Database, system: str, size: str, designation: str, words: str
) -> None:
    assert any(words in text for text in pending.pipe(system, size, designation).assumptions)


@each(
    ("system", "size", "designation", "problem", "words"),
    [
        ("iso4427", "115", "SDR 11", UnknownName, "near sizes"),
        ("iso4427", '4"', "SDR 11", UnknownName, "near sizes"),
        ("en545", '8"', "K9", UnknownName, "near sizes"),
        ("en545", "DN 200", "K10", UnknownName, "K9"),
        ("en545", "200.5", "K9", BadParameter, "write it as DN200"),
        ("b88", "1/2", "N", UnknownName, "Type L"),
        ("b88", "1/2", "SDR 11", UnknownName, "Type L"),
        ("d2241", "4", "Sch 26", UnknownName, "SDR 26"),
        ("en1057", "22", "0.95", UnknownName, "0.9 mm"),
        ("en1057", "22", None, AmbiguousName, "walls"),
        ("jis-g3454", "100C", "40", BadParameter, "100A"),
        ("bs3505", "16", "Class C", UnknownName, "near sizes"),
    ],
)
def test_what_does_not_exist_is_refused_with_what_does(
    pending: Database, system: str, size: str, designation: str | None, problem: type[Problem], words: str
) -> None:
    with pytest.raises(problem) as caught:
        pending.pipe(system, size, designation)
    assert words in caught.value.detail


def test_a_pipe_that_is_only_recalled_is_given_on_request_and_marked(pending: Database) -> None:
    with pytest.raises(NotAvailable, match="accept=estimates") as caught:
        pending.pipe("asme-bpe", "2")
    assert caught.value.extensions["estimate_available"] is True
    recalled = pending.pipe("asme-bpe", "2", options=Options(estimates=True)).document()
    assert (recalled["rung"], recalled["seen"]) == ("memory", "memory")
    assert any("From memory" in text for text in recalled["warnings"])
    with pytest.raises(NotAvailable):
        pending.pipe_row(recalled["id"])


def test_a_pipe_that_somebody_saw_hides_what_is_recalled(pending: Database) -> None:
    body = pending.pipe("en10255", "DN 15", "Medium", Options(estimates=True)).record.body
    assert body["rung"] == "published"
    assert any(entry["reason"].startswith("recalled") for entry in body["left_out"])


def test_a_list_of_diameters_gives_no_wall_and_no_bore(pending: Database) -> None:
    pipe = pending.pipe("hdpe-ips", "54")
    assert pipe.document()["wall"] is None
    with pytest.raises(NotAvailable, match="measure it"):
        _ = pipe.bore


def test_a_wall_that_is_the_least_allowed_says_so(pending: Database) -> None:
    document = pending.pipe("d1785", "2", "40").document()
    assert document["wall_is"] == "minimum"
    assert any("least allowed" in text for text in document["assumptions"])


def test_a_nominal_wall_goes_before_a_minimum(pending: Database) -> None:
    pipe = pending.pipe("en545", "DN 200", "C40")
    walls = {entry.get("wall_is", "nominal"): float(entry["wall"]) for entry in pipe.document()["printed"]}
    assert walls["minimum"] < walls["nominal"] == pipe.wall.magnitude


def test_a_wall_follows_from_printed_diameters_and_says_so(pending: Database) -> None:
    pipe = pending.pipe("din16893", "32", "SDR 11")
    assert pipe.bore.magnitude == pytest.approx(26.2)
    assert any("no wall is printed" in text for text in pipe.assumptions)


def test_a_size_in_no_system_is_refused_and_in_several_is_answered_from_each(pending: Database) -> None:
    systems = {pipe.record.body["system"] for pipe in pending.pipes(None, "NPS 8", "40")}
    assert {"b36.10", "d1785", "f441", "h35.2"} <= systems
    with pytest.raises(Problem):
        pending.pipes(None, "NPS 777")
