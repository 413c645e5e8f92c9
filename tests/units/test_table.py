"""The unit table against pint, and against its own rules."""

from __future__ import annotations

import tomllib
from functools import cache, partial
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from refdb.problems import LedgerError
from refdb.units import Quantity, Unit, parse_quantity, units
from refdb.vocabulary import properties
from tests.peers import Peer
from tests.rows import failing

pint = Peer("pint")

TEXT = tomllib.loads((Path(__file__).parents[2] / "shared/vocabulary/units.toml").read_text(encoding="utf-8"))
ENTRIES = TEXT["unit"]
LINES = [entry for entry in ENTRIES if "function" not in entry]
BAD_LENGTH = (
    '\n[[unit]]\nsymbol = "{symbol}"\nucum = "{symbol}"\ndimension = "length"\npint = "meter"\nspellings = []\n'
)


@cache
def _registry() -> Any:
    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


def _spellings() -> list[tuple[Unit, str]]:
    return [(unit, spelling) for unit in units().entries for spelling in (unit.symbol, *unit.spellings)]


@pytest.mark.parametrize("magnitude", [0.0, 1.0, -40.0, 123.456])
def test_every_factor_agrees_with_pint(magnitude: float) -> None:
    # Some versions of pint know no international-table Btu; tests/outside checks it against NIST SP 811.
    known = [entry for entry in LINES if "Btu_it" not in entry["pint"] or "Btu_it" in _registry()]
    assert failing(partial(_agrees_with_pint, magnitude), known, lambda entry: str(entry["symbol"])) == []


def _agrees_with_pint(magnitude: float, entry: dict[str, Any]) -> None:
    unit = units().find(entry["symbol"], entry["dimension"])
    si = next(e for e in ENTRIES if e["dimension"] == entry["dimension"])
    expected = _registry().Quantity(magnitude * float(entry.get("times", "1")), entry["pint"]).to(si["pint"]).magnitude
    gauge = 101325.0 if entry.get("gauge") else 0.0
    result = unit.to(magnitude, units().si(unit.dimension))
    assert result == pytest.approx(expected + gauge, rel=1e-12, abs=1e-12)


def test_every_spelling_leads_to_its_unit_and_back() -> None:
    assert failing(_leads_there_and_back, _spellings(), str) == []


def _leads_there_and_back(entry: tuple[Unit, str]) -> None:
    unit, spelling = entry
    found = units().find(spelling, unit.dimension)
    assert found is unit
    there = unit.to(87.3, units().si(unit.dimension))
    assert units().si(unit.dimension).to(there, unit) == pytest.approx(87.3, rel=1e-12)


def test_every_spelling_is_read_behind_a_number() -> None:
    assert failing(_is_read_behind_a_number, _spellings(), str) == []


def _is_read_behind_a_number(entry: tuple[Unit, str]) -> None:
    unit, spelling = entry
    assert parse_quantity(f"87.3 {spelling}", unit.dimension, "field") == Quantity(87.3, unit)


def test_every_ucum_code_leads_to_a_unit_of_the_same_size() -> None:
    assert failing(_has_a_ucum_code_of_its_size, units().entries, lambda unit: unit.symbol) == []


def _has_a_ucum_code_of_its_size(unit: Unit) -> None:
    found = units().find(unit.ucum, unit.dimension)
    assert found.ucum == unit.ucum
    assert found.scale == unit.scale or (found is unit and unit.function is not None)


def test_arrays_convert_like_their_numbers() -> None:
    assert failing(_converts_arrays, units().entries, lambda unit: unit.symbol) == []


def _converts_arrays(unit: Unit) -> None:
    si, magnitudes = units().si(unit.dimension), np.array([35.0, 87.3, 120.0])
    there = unit.to(magnitudes, si)
    assert there == pytest.approx([unit.to(float(number), si) for number in magnitudes], rel=1e-14)
    assert si.to(there, unit) == pytest.approx(magnitudes, rel=1e-12)


def test_a_spelling_shared_by_two_dimensions_is_told_apart_by_what_is_asked_for() -> None:
    assert units().find("K", "temperature").symbol == "K"
    assert units().find("K", "temperature_difference").symbol == "delta_K"


def test_a_plain_bar_is_absolute_and_says_so() -> None:
    plain = units().find("bar", "pressure")
    assert not plain.gauge
    assert "absolute" in (plain.assume or "")
    assert units().find("bar(g)", "pressure").offset == 101325.0


def test_differences_and_uncertainties_take_no_offset() -> None:
    fahrenheit, celsius = units().find("degF"), units().find("degC")
    assert fahrenheit.difference_to(1.8, celsius) == pytest.approx(1.0, rel=1e-15)


def test_every_property_has_an_si_and_a_us_unit_of_its_dimension() -> None:
    for name, definition in properties().items():
        for key in ("si", "us"):
            assert units().find(definition[key], definition["dimension"]).symbol == definition[key], name


def test_a_wrong_dimension_or_a_repeated_spelling_stops_the_build(invented_text: Path) -> None:
    from refdb.release.vocabulary import compile_vocabulary

    file = invented_text / "shared" / "vocabulary" / "units.toml"
    file.write_text(
        file.read_text()
        + '\n[[unit]]\nsymbol = "m/s"\nucum = "m/s"\ndimension = "speed"\npint = "meter / second"\nspellings = []\n'
        + '\n[[unit]]\nsymbol = "stone"\nucum = "x"\ndimension = "speed"\npint = "stone"\nspellings = []\n'
    )
    with pytest.raises(LedgerError) as caught:
        compile_vocabulary(invented_text)
    assert any("'m/s' stands twice for speed" in line for line in caught.value.findings)
    assert any("stone" in line for line in caught.value.findings)


def test_a_spelling_accepted_and_refused_a_repeated_refusal_and_an_unknown_function_stop_the_build(
    invented_text: Path,
) -> None:
    from refdb.release.vocabulary import compile_vocabulary

    file = invented_text / "shared" / "vocabulary" / "units.toml"
    good = file.read_text(encoding="utf-8")
    file.write_text(good + BAD_LENGTH.format(symbol="gpm"), encoding="utf-8")
    with pytest.raises(LedgerError, match="'gpm' is refused, and accepted for length"):
        compile_vocabulary(invented_text)
    file.write_text(good + '\n[[refused]]\nspellings = ["gpm"]\nwhy = "again"\n', encoding="utf-8")
    with pytest.raises(LedgerError, match="'gpm' is refused twice"):
        compile_vocabulary(invented_text)
    file.write_text(good.replace('"api-gravity"', '"no-such"'), encoding="utf-8")
    with pytest.raises(LedgerError, match="the function 'no-such'"):
        compile_vocabulary(invented_text)
    file.write_text(good.replace('"api-gravity"', '"saybolt-universal"'), encoding="utf-8")
    with pytest.raises(LedgerError, match="used once each"):
        compile_vocabulary(invented_text)
