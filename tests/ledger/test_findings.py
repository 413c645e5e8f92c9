"""A fault in the text is told with file, line, field, what is wrong and what would be right; all faults at once."""

from __future__ import annotations

from pathlib import Path

import pytest

from refdb.problems import LedgerError
from refdb.release import derive_records
from tests.invented import FIRST_READINGS, READINGS_HEADER, write_document

PLACE = "sources/documents/read/second-article/readings.csv:2: "


def _findings(text: Path) -> list[str]:
    with pytest.raises(LedgerError) as caught:
        derive_records(text)
    return caught.value.findings


@pytest.mark.parametrize(
    ("row", "finding"),
    [
        (
            "invented-metal.density.02,invented-metal,density,7.6,,,g/cm4,,p. 3,,",
            "unit: the unit 'g/cm4' is not in the unit table",
        ),
        (
            "invented-metal.density.02,invented-metal,density,7.6,,,m/s,,p. 3,,",
            "unit: 'm/s' measures speed, but density is needed",
        ),
        (
            "invented-metal.density.02,invented-metal,density,about 7,,,g/cm3,,p. 3,,",
            "number: 'about 7' is not a number as a document would print it",
        ),
        (
            "invented-metal.density.02,invented-metal,density,,8,7,g/cm3,,p. 3,,",
            "record: low 8 exceeds high 7",
        ),
        (
            "invented-metal.density.02,wood,density,7.6,,,g/cm3,,p. 3,,",
            "subject: 'wood' does not exist; add it to shared/subjects/ or correct the name",
        ),
        (
            "invented-metal.colour.01,invented-metal,colour,7.6,,,g/cm3,,p. 3,,",
            "property: 'colour' is not in shared/vocabulary/properties.toml",
        ),
        (
            "invented-metal.sound_speed.01,invented-metal,sound_speed,1500,,,m/s,,p. 3,,",
            "property: sound_speed is not a property of a material",
        ),
        (
            "invented-metal.density.new,invented-metal,density,7.6,,,g/cm3,,p. 3,,",
            "id: 'invented-metal.density.new' should be 'invented-metal.density.' and a number; "
            "the next free one is 'invented-metal.density.02'",
        ),
        (
            "invented-metal.density.01,invented-metal,density,7.6,,,g/cm3,,p. 3,,",
            "id: 'invented-metal.density.01' stands already at first-article/readings.csv:3; the next free one is "
            "'invented-metal.density.02'",
        ),
        (
            "invented-metal.density.02,invented-metal,density,7.6,,,g/cm3,,,,",
            "locator: is missing; write it",
        ),
        (
            "invented-metal.density.02,invented-metal,density,7.6,,,g/cm3,20 degQ,p. 3,,",
            "state.temperature: the unit 'degQ' is not in the unit table",
        ),
        (
            "invented-metal.density.02,invented-metal,density,7.6,,,g/cm3,,p. 3,odd,why",
            "flags.0.code: Input should be 'misprint', 'suspect', 'wrong-kind', 'unclear-basis', 'withdrawn' or "
            "'note', not 'odd'",
        ),
    ],
)
def test_a_wrong_row_is_told_with_its_line_and_the_way_out(invented_text: Path, row: str, finding: str) -> None:
    write_document(invented_text, "second-article", READINGS_HEADER + row + "\n")
    assert any(line.startswith(PLACE + finding) for line in _findings(invented_text))


@pytest.mark.parametrize(
    ("method", "frequency", "finding"),
    [
        ("dynamical", "", "method: Input should be 'dynamic', 'static' or 'isothermal', not 'dynamical'"),
        ("", "2 bananas", "state.frequency: the unit 'bananas' is not in the unit table"),
        ("", "2 m", "state.frequency: "),
        ("", "0 MHz", "state.frequency: 0 MHz is no frequency; it is above zero"),
        ("", "often", "state.frequency"),
    ],
)
def test_how_and_at_which_frequency_something_was_found_is_checked(
    invented_text: Path, method: str, frequency: str, finding: str
) -> None:
    header = READINGS_HEADER.strip() + ",method,frequency\n"
    row = f"invented-plastic.shear_speed.01,invented-plastic,shear_speed,900,,,m/s,,p. 3,,,{method},{frequency}\n"
    write_document(invented_text, "second-article", header + row)
    told = _findings(invented_text)
    assert any(finding in line for line in told), told


def test_all_faults_are_told_at_once(invented_text: Path) -> None:
    rows = "invented-metal.density.02,invented-metal,density,x,,,g/cm3,,p. 3,,\nnonsense\n"
    write_document(invented_text, "second-article", READINGS_HEADER + rows)
    (invented_text / "sources" / "documents" / "read" / "third-article").mkdir()
    found = _findings(invented_text)
    assert len(found) == 3
    assert any("readings.csv:3: row: has 1 cells where the header has 11" in line for line in found)
    assert any("third-article: source.toml: is missing" in line for line in found)


def test_a_row_with_one_fault_is_told_its_others_in_the_same_round(invented_text: Path) -> None:
    rows = "invented-metal.density.new,invented-metal,density,about 7,,,m/s,,,,\n"
    rows += "invented-metal.density.other,wood,density,7,,,g/cm3,,p. 3,,\n"
    write_document(invented_text, "second-article", READINGS_HEADER + rows)
    found = "\n".join(_findings(invented_text))
    assert "readings.csv:2: number: 'about 7' is not a number" in found
    assert "readings.csv:2: locator: is missing" in found
    assert "readings.csv:2: unit: 'm/s' measures speed, but density is needed" in found
    assert "readings.csv:2: id: " in found
    assert "readings.csv:3: subject: 'wood' does not exist" in found


def test_faults_of_documents_and_of_rules_are_told_in_one_round(invented_text: Path) -> None:
    rules = invented_text / "sources" / "rules" / "invented.toml"
    rules.write_text(rules.read_text().replace('density = "0.02"', 'density = "little"'))
    write_document(invented_text, "second-article", READINGS_HEADER + "nonsense\n")
    found = _findings(invented_text)
    assert [line.split(":")[0].rpartition("/")[2] for line in found] == ["readings.csv", "invented.toml"]


def test_what_is_left_empty_is_told_so(invented_text: Path) -> None:
    folder = write_document(invented_text, "second-article", READINGS_HEADER)
    (folder / "source.toml").write_text((folder / "source.toml").read_text().replace('"The second article"', '""'))
    assert any(line.endswith("source.toml: title: is empty; write it") for line in _findings(invented_text))


def test_several_wrong_ids_are_told_different_ways_out(invented_text: Path) -> None:
    rows = "".join(f"invented-metal.density.{word},invented-metal,density,7,,,g/cm3,,p. 3,,\n" for word in "abc")
    write_document(invented_text, "second-article", READINGS_HEADER + rows)
    free = [line.rpartition("the next free one is ")[2] for line in _findings(invented_text)]
    assert free == ["'invented-metal.density.02'", "'invented-metal.density.03'", "'invented-metal.density.04'"]


def test_a_family_that_is_none_is_told_with_the_nearest(invented_text: Path) -> None:
    file = invented_text / "shared" / "subjects" / "invented.toml"
    file.write_text(file.read_text().replace('"thermoplastic"', '"thermoplastics"'))
    (found,) = _findings(invented_text)
    assert "family: 'thermoplastics' is not in shared/vocabulary/families.toml (the nearest: thermoplastic" in found


@pytest.mark.parametrize(
    ("group", "fault"),
    [
        ("programs", "lies in programs/, but its readings were seen as 'original'; move it to read/"),
        ("books", "'books' is no group of documents; move it to one of read, pages"),
    ],
)
def test_a_document_in_the_wrong_group_is_told_where_it_belongs(invented_text: Path, group: str, fault: str) -> None:
    documents = invented_text / "sources" / "documents"
    (documents / group).mkdir()
    (documents / "read" / "first-article").rename(documents / group / "first-article")
    (found,) = _findings(invented_text)
    assert f"documents/{group}/first-article/source.toml: folder: {fault}" in found


def test_a_document_without_readings_is_only_cited(invented_text: Path) -> None:
    folder = write_document(invented_text, "second-article", READINGS_HEADER)
    (folder / "readings.csv").unlink()
    (found,) = _findings(invented_text)
    assert found.endswith("folder: holds no readings; move it to cited/")


def test_a_repeated_key_in_toml_is_refused(invented_text: Path) -> None:
    write_document(invented_text, "second-article", READINGS_HEADER, more='title = "Twice"\n')
    assert any("is not valid UTF-8 TOML" in line for line in _findings(invented_text))


def test_a_document_whose_numbers_may_not_be_passed_on_is_refused(invented_text: Path) -> None:
    file = invented_text / "sources" / "documents" / "read" / "first-article" / "source.toml"
    file.write_text(file.read_text().replace('rights = "CC0-1.0"', 'rights = "withheld"'))
    assert any(
        "rights: what is withheld may not be passed on, as a release would" in line for line in _findings(invented_text)
    )


def test_an_unknown_column_is_refused(invented_text: Path) -> None:
    write_document(invented_text, "second-article", READINGS_HEADER.replace("locator", "page") + FIRST_READINGS)
    assert any("second-article/readings.csv:1: header: use each of" in line for line in _findings(invented_text))


def test_an_equation_needs_every_coefficient_of_its_form(invented_text: Path) -> None:
    file = invented_text / "sources" / "documents" / "read" / "first-article" / "equations.toml"
    file.write_text(file.read_text().replace('c1 = "-3.5"', 'c2 = "-3.5"'))
    assert any(
        "polynomial/1 needs the coefficients ['c0', 'c1'], not ['c0', 'c2']" in line
        for line in _findings(invented_text)
    )


def test_a_fault_in_the_rules_is_told_too(invented_text: Path) -> None:
    rules = invented_text / "sources" / "rules" / "invented.toml"
    rules.write_text(rules.read_text().replace('density = "0.02"', 'density = "little"'))
    assert any(
        line.startswith("sources/rules/invented.toml: density: 'little' is not a number")
        for line in _findings(invented_text)
    )


def test_printed_words_of_a_temperature_are_kept(invented_text: Path) -> None:
    row = "invented-metal.density.02,invented-metal,density,7.6,,,g/cm3,room temperature,p. 3,,\n"
    row += "invented-metal.density.03,invented-metal,density,7.6,,,g/cm3,15 to 25 degC,p. 3,,\n"
    write_document(invented_text, "second-article", READINGS_HEADER + row)
    records = derive_records(invented_text)
    assert records["invented-metal.density.02"]["state"]["temperature"] == "room temperature"
    assert records["invented-metal.density.03"]["state"]["temperature"] == {"low": "15", "high": "25", "unit": "degC"}
    assert records["invented-metal.density.01"]["state"]["temperature"] == "not stated"
