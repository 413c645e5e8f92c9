"""Readings held against a ThermoML file, the XML of the IUPAC standard in which archives keep an article's values.

The standard: M. Frenkel et al., Pure Appl. Chem. 78 (2006) 541, doi 10.1351/pac200678030541. A file holds the compounds
of one article, each with its names, and blocks of values. A block belongs to one compound or to a mixture of several;
its constraints hold for all its values, its variables are given anew with each. All numbers are text.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple
from xml.etree import ElementTree

from refdb.problems import BadParameter
from refdb.records.models import PrintedQuantity, Reading, Scalar, Table
from refdb.records.numbers import numbers_of
from refdb.records.printed import printed_exactly
from refdb.transcription.compared import Compared, Sight
from refdb.units import Unit, units
from refdb.vocabulary import STATE, STRENGTHS, properties

NAMESPACE = "http://www.iupac.org/namespaces/ThermoML"
_IN = {"t": NAMESPACE}

PROPERTIES = {
    "Mass density, kg/m3": ("density", "kg/m3"),
    "Speed of sound, m/s": ("sound_speed", "m/s"),
    "Viscosity, Pa*s": ("dynamic_viscosity", "Pa.s"),
    "Kinematic viscosity, m2/s": ("kinematic_viscosity", "m2/s"),
}
"""The standard's names of properties, with the property of the vocabulary and the spelling of the unit there."""

CONDITIONS = {
    "Temperature, K": ("temperature", "K"),
    "Pressure, kPa": ("pressure", "kPa"),
    "Frequency, MHz": ("frequency", "MHz"),
    "Mole fraction": ("strength", "mol/mol"),
    "Mass fraction": ("strength", "kg/kg"),
    "Molality, mol/kg": ("strength", "mol/kg"),
    "Amount concentration (molarity), mol/dm3": ("strength", "mol/L"),
}
"""The standard's names of variables and constraints, with the part of the state and the spelling of the unit."""

WATER = "water"
_Formula = frozenset[tuple[str, int]]
_FRACTIONS = frozenset({"mole_fraction", "mass_fraction"})
_OF_THE_SOLVENT = "Solvent: "
_DIRECT = "Direct value, X"
_LIQUID = ("Liquid", "Metastable liquid", "Fluid")
_UNCERTAINTIES = frozenset(
    f"{{{NAMESPACE}}}{name}"
    for name in ("nStdUncertValue", "nExpandUncertValue", "nCombStdUncertValue", "nCombExpandUncertValue")
)


def compare(reading: Reading, content: bytes, names: Collection[str] = ()) -> list[Compared]:
    """Every printed number of a reading, held against the ThermoML file of its article.

    A value counts where property, temperature, pressure, frequency and strength are those of the reading, as far as it
    states them. The subject is the compound that goes by `name_printed`, by the words of the subject's id or by one of
    `names`; a solution is that compound in water. Where none does, it is the only compound of a formula in `names`.
    Where that tells nothing either, the values of all compounds are looked through, and what is found so is no better
    than `in the file`.

    Args:
        reading: a single value or a table; of other kinds a file of values holds no number, so none is found.
        content: the file, of one article.
        names: further names, CAS numbers or formulas of the subject, or of what is dissolved in it.

    Raises:
        BadParameter: the file is not ThermoML.
    """
    article = _read(content)
    how: Sight = "parsed"
    found: dict[str, _Found] = {}
    if isinstance(reading, Scalar | Table):
        substance = _substance(reading, article, names)
        how = "parsed" if substance.told else "in the file"
        found = _found(reading, article, substance)
    nothing = _Found(None, equal=False)
    return [
        Compared(number, found.get(number.place, nothing).text, found.get(number.place, nothing).equal, how)
        for number in numbers_of(reading)
    ]


def is_thermoml(content: bytes) -> bool:
    """Whether a file is of this kind, by its beginning."""
    return NAMESPACE.encode() in content[:2000]


class _Amount(NamedTuple):
    """A number of the file or of a reading: its text, and its exact value in the SI unit of its dimension."""

    text: str
    exact: Fraction
    dimension: str


class _Found(NamedTuple):
    """What stands in the file for one number of a reading."""

    text: str | None
    equal: bool


class _Point(NamedTuple):
    """One value of a reading: the places of its number and of the variable's, and its state as far as that is told."""

    place: str
    variable_place: str | None
    value: _Amount
    state: Mapping[str, _Amount]


class _Substance(NamedTuple):
    """The compounds that a reading may be about; `solvents` is None where it is about no solution."""

    compounds: frozenset[int]
    solvents: frozenset[int] | None
    told: bool


@dataclass(frozen=True)
class _Value:
    """One value of a file with all that holds for it: state by name, amount of each component that has one."""

    components: frozenset[int]
    property: str
    value: _Amount
    state: Mapping[str, _Amount]
    amounts: Mapping[int, _Amount]
    uncertainties: tuple[_Amount, ...]

    def pure(self, compounds: frozenset[int]) -> bool:
        """Whether one of the compounds is there alone: a fraction of 1 of it, or none of anything else."""
        return any(self._whole(compound) or self._only({compound}) for compound in compounds & self.components)

    def strength(self, solutes: frozenset[int], solvents: frozenset[int], wanted: _Amount) -> _Amount | None:
        """The amount that says the strength, or None where it is another strength or says none.

        A strength of nothing is the solvent alone, whatever the unit, and a fraction of 1 the dissolved thing alone.
        """
        if wanted.exact == 0 and self.pure(solvents):
            return wanted
        if wanted.exact == 1 and wanted.dimension in _FRACTIONS and self.pure(solutes):
            return wanted
        for solute in solutes & self.components:
            for solvent in (solvents & self.components) - {solute}:
                said = self._said(solute, solvent, wanted) if self._only({solute, solvent}) else None
                if said is not None:
                    return said
        return None

    def _said(self, solute: int, solvent: int, wanted: _Amount) -> _Amount | None:
        own, rest = self.amounts.get(solute), self.amounts.get(solvent)
        if own is not None and (own.exact, own.dimension) == (wanted.exact, wanted.dimension):
            return own
        if rest is None or rest.dimension not in _FRACTIONS:
            return None
        return rest if (1 - rest.exact, rest.dimension) == (wanted.exact, wanted.dimension) else None

    def _whole(self, compound: int) -> bool:
        own = self.amounts.get(compound)
        return own is not None and own.dimension in _FRACTIONS and own.exact == 1

    def _only(self, compounds: set[int]) -> bool:
        others = [self.amounts.get(other) for other in self.components - compounds]
        return all(amount is not None and amount.exact == 0 for amount in others)


@dataclass(frozen=True)
class _Article:
    """The compounds of a file by number, with their folded names and their formulas, and its values."""

    compounds: Mapping[int, frozenset[str]]
    formulas: Mapping[int, _Formula]
    values: tuple[_Value, ...]

    def named(self, names: Collection[str]) -> frozenset[int]:
        """The compounds that go by one of the names, else the one that alone has one of them as its formula."""
        folded = {_folded(name) for name in names}
        fitting = frozenset(number for number, own in self.compounds.items() if own & folded)
        formulas = {formula for name in names if (formula := _formula(name))}
        alike = frozenset(number for number, formula in self.formulas.items() if formula in formulas)
        return fitting or (alike if len(alike) == 1 else frozenset())


def _substance(reading: Scalar | Table, article: _Article, names: Collection[str]) -> _Substance:
    own = {reading.subject, reading.subject.removesuffix(f"-{WATER}"), reading.name_printed or "", *names} - {""}
    told = article.named(own)
    everything = frozenset(article.compounds)
    varied = isinstance(reading, Table) and reading.variable.name == "strength"
    if not varied and reading.state.strength is None:
        return _Substance(told or everything, None, bool(told))
    water = article.named([WATER])
    return _Substance(told or everything - water, water, bool(told))


def _found(reading: Scalar | Table, article: _Article, substance: _Substance) -> dict[str, _Found]:
    """What the file says for the numbers of a reading, by their places."""
    dimension = properties()[reading.property]["dimension"]
    unit = units().find(reading.unit, dimension)
    if unit.function is not None:
        return {}
    values = [value for value in article.values if value.property == reading.property]
    found: dict[str, _Found] = {}
    taken: list[_Value] = []
    for point in _points(reading, unit):
        said = [(value, state) for value in values if (state := _said(value, point.state, substance)) is not None]
        if not said:
            continue
        # An article may give several values for one state; the reading is of any one of them.
        value, state = next((pair for pair in said if pair[0].value.exact == point.value.exact), said[0])
        taken.append(value)
        found[point.place] = _Found(value.value.text, value.value.exact == point.value.exact)
        if point.variable_place is not None and isinstance(reading, Table):
            found[point.variable_place] = _Found(state[reading.variable.name].text, equal=True)
    if reading.stated_uncertainty is not None and taken:
        stated = reading.stated_uncertainty
        found["stated_uncertainty.number"] = _uncertainty(
            _amount(stated.number, units().find(stated.unit, dimension)), taken
        )
    return found


def _points(reading: Scalar | Table, unit: Unit) -> Iterator[_Point]:
    stated = {
        name: _amount(part.number, _state_unit(name, part.unit))
        for name in STATE
        if isinstance(part := getattr(reading.state, name), PrintedQuantity)
    }
    if isinstance(reading, Scalar):
        yield _Point("number", None, _amount(reading.number, unit), stated)
        return
    variable = reading.variable
    for index, (x, y) in enumerate(reading.points):
        state = stated | {variable.name: _amount(x, _state_unit(variable.name, variable.unit))}
        yield _Point(f"points.{index}.1", f"points.{index}.0", _amount(y, unit), state)


def _said(value: _Value, state: Mapping[str, _Amount], substance: _Substance) -> Mapping[str, _Amount] | None:
    """What the file says for each part of a state, or None where the value is for another state or substance."""
    said: dict[str, _Amount] = {}
    for name, wanted in state.items():
        own = value.state.get(name)
        if name == "strength":
            own = value.strength(substance.compounds, substance.solvents or frozenset(), wanted)
        elif own is not None and own.exact != wanted.exact:
            return None
        if own is None:
            return None
        said[name] = own
    return said if substance.solvents is not None or value.pure(substance.compounds) else None


def _uncertainty(stated: _Amount, values: Collection[_Value]) -> _Found:
    """The uncertainty that the file gives; equal only where every value of the reading has it."""
    given = [amount for value in values for amount in value.uncertainties]
    other = [value for value in values if all(amount.exact != stated.exact for amount in value.uncertainties)]
    shown = [amount for value in other for amount in value.uncertainties] or given
    return _Found(shown[0].text if shown else None, not other)


def _amount(text: str, unit: Unit) -> _Amount:
    # The factors of linear units are short decimals, so that their text is exact.
    exact = Fraction(printed_exactly(text)) * Fraction(str(unit.scale)) + Fraction(str(unit.offset))
    return _Amount(text, exact, unit.dimension)


def _state_unit(part: str, spelling: str) -> Unit:
    if part != "strength":
        return units().find(spelling, STATE[part].dimension)
    return next(unit for unit in units().spelled(spelling) if unit.dimension in STRENGTHS)


def _folded(name: str) -> str:
    """A name without what is written now one way, now another: capitals, hyphens, blanks, British ph."""
    return re.sub(r"[^a-z0-9]", "", name.lower().replace("sulph", "sulf"))


def _formula(text: str) -> _Formula:
    """The elements of a formula with their numbers, as KCl is also written ClK; empty where the text is no formula."""
    if not re.fullmatch(r"(?:[A-Z][a-z]?\d*)+", text):
        return frozenset()
    numbers: Counter[str] = Counter()
    for element, number in re.findall(r"([A-Z][a-z]?)(\d*)", text):
        numbers[element] += int(number or 1)
    return frozenset(numbers.items())


# The readings of a document are compared one after the other with one file.
@lru_cache(maxsize=1)
def _read(content: bytes) -> _Article:
    """The compounds and values of a file.

    Raises:
        BadParameter: the file is not ThermoML.
    """
    try:
        # A file that its reader names; expat itself limits how far entities expand.
        root = ElementTree.fromstring(content)  # noqa: S314
    except ElementTree.ParseError as error:
        raise _refused(f"not well-formed XML ({error})") from error
    if root.tag != f"{{{NAMESPACE}}}DataReport":
        raise _refused(f"the XML is {root.tag}, not a DataReport of {NAMESPACE}")
    try:
        values = tuple(value for block in root.iterfind("t:PureOrMixtureData", _IN) for value in _values(block))
        listed = {_number(part, "t:RegNum/t:nOrgNum"): part for part in root.iterfind("t:Compound", _IN)}
    except (KeyError, ValueError) as error:
        raise _refused(f"a number or what it refers to is missing ({error})") from error
    formulas = {number: _formula(_text(part, "t:sFormulaMolec")) for number, part in listed.items()}
    return _Article({number: _names(part) for number, part in listed.items()}, formulas, values)


def _refused(why: str) -> BadParameter:
    return BadParameter(f"carrier: {why}; give the ThermoML file of the article.", parameter="carrier")


def _names(compound: ElementTree.Element) -> frozenset[str]:
    tags = ("t:sCommonName", "t:sIUPACName", "t:sCASName", "t:RegNum/t:nCASRNum")
    return frozenset(_folded(name.text or "") for tag in tags for name in compound.iterfind(tag, _IN))


def _values(block: ElementTree.Element) -> Iterator[_Value]:
    """The values of a block that are a property of a liquid known to the vocabulary."""
    components = frozenset(_number(part, "t:RegNum/t:nOrgNum") for part in block.iterfind("t:Component", _IN))
    columns = {_number(part, "t:nPropNumber"): _column(part) for part in block.iterfind("t:Property", _IN)}
    varied = {_number(part, "t:nVarNumber"): part for part in block.iterfind("t:Variable", _IN)}
    fixed = [(part, "Constraint", _text(part, "t:nConstraintValue")) for part in block.iterfind("t:Constraint", _IN)]
    for row in block.iterfind("t:NumValues", _IN):
        given = [
            (varied[_number(cell, "t:nVarNumber")], "Variable", _text(cell, "t:nVarValue"))
            for cell in row.iterfind("t:VariableValue", _IN)
        ]
        state, amounts = _conditions([*fixed, *given])
        for cell in row.iterfind("t:PropertyValue", _IN):
            column = columns[_number(cell, "t:nPropNumber")]
            if column is not None:
                name, unit = column
                uncertain = tuple(_amount(part.text or "", unit) for part in cell.iter() if part.tag in _UNCERTAINTIES)
                value = _amount(_text(cell, "t:nPropValue"), unit)
                yield _Value(components, name, value, state, amounts, uncertain)


def _column(part: ElementTree.Element) -> tuple[str, Unit] | None:
    """The property of a column and its unit, or None where it is no value of a liquid that the vocabulary knows."""
    words = _text(part, "t:Property-MethodID/t:PropertyGroup/*/t:ePropName")
    phase = part.findtext("t:PropPhaseID/t:ePropPhase", _LIQUID[0], _IN)
    direct = part.findtext("t:ePresentation", _DIRECT, _IN) == _DIRECT
    if words not in PROPERTIES or not direct or not phase.startswith(_LIQUID):
        return None
    name, spelling = PROPERTIES[words]
    return name, units().find(spelling, properties()[name]["dimension"])


def _conditions(
    parts: Collection[tuple[ElementTree.Element, str, str]],
) -> tuple[dict[str, _Amount], dict[int, _Amount]]:
    """State by name, and amounts by component, of constraints and variables with their numbers."""
    state: dict[str, _Amount] = {}
    amounts: dict[int, _Amount] = {}
    for part, kind, text in parts:
        words = _text(part, f"t:{kind}ID/t:{kind}Type/*").removeprefix(_OF_THE_SOLVENT)
        if words not in CONDITIONS:
            continue
        name, spelling = CONDITIONS[words]
        amount = _amount(text, _state_unit(name, spelling))
        if name == "strength":
            amounts[_number(part, f"t:{kind}ID/t:RegNum/t:nOrgNum")] = amount
        else:
            state[name] = amount
    return state, amounts


def _text(part: ElementTree.Element, path: str) -> str:
    return part.findtext(path, "", _IN)


def _number(part: ElementTree.Element, path: str) -> int:
    return int(_text(part, path))
