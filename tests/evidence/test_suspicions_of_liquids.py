"""Misprints and slips met in public tables and programs, planted beside the real evidence: general questions find each.

What is planted is what the named page or program says; nothing here is advised to anybody. A store that holds the real
release and one more document stands in for a release with that document in it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import pytest

from refdb.database import Database
from refdb.evidence.audit import audit
from refdb.evidence.suspicion_liquids import HYDROCARBONS, suspicions_of_liquids
from refdb.lookup import ReleaseInfo, ReleaseStore, StoredRecord
from tests.shapes import untyped

if TYPE_CHECKING:
    from refdb.evidence.documents import SuspicionDocument


Body = dict[str, Any]


class Planted(ReleaseStore):
    """A release with readings of one more document, or of several."""

    def __init__(self, under: ReleaseStore, bodies: list[Body]) -> None:
        super().__init__(under.path)
        self._more = [StoredRecord(body["id"], "sha256:" + "0" * 64, 1, None, body) for body in bodies]

    def record(self, row: str, release: ReleaseInfo) -> StoredRecord | None:
        planted = next((record for record in self._more if record.id == row), None)
        return planted or super().record(row, release)

    def about(self, kinds: tuple[str, ...], subject: str, release: ReleaseInfo) -> list[StoredRecord]:
        more = [r for r in self._more if r.body["kind"] in kinds and r.body["subject"] == subject]
        return [*super().about(kinds, subject, release), *more]


class WaterAlone(Planted):
    """The same for who looks at one liquid after the other: the others are not asked about."""

    def of_kind(self, kind: str, release: ReleaseInfo) -> list[StoredRecord]:
        return [one for one in super().of_kind(kind, release) if kind != "subject" or one.id == "water"]


def _found(database: Database, *bodies: Body) -> list[SuspicionDocument]:
    """The suspicions about what was planted."""
    store = Planted(database.store, list(bodies))
    planted = {body["id"] for body in bodies}
    subjects = [store.record(body["subject"], store.release()) for body in bodies]
    families = {subject.body["family"] for subject in subjects if subject is not None}
    # Hydrocarbons are held against one another, whatever their family.
    families |= set(HYDROCARBONS) if families & set(HYDROCARBONS) else set()
    suspicions = suspicions_of_liquids(store, store.release(), families)
    return [one for one in suspicions if planted & {reading["id"] for reading in one["readings"]}]


def _codes(database: Database, *bodies: Body) -> set[str]:
    return {one["code"] for one in _found(database, *bodies)}


def _reading(subject: str, property_id: str, kind: str, unit: str, **fields: Any) -> Body:
    source = fields.pop("source", "planted")
    number = fields.pop("which", 90)
    state = fields.pop("state", {})
    return {
        "id": f"{subject}.{property_id}.{number}",
        "kind": kind,
        "source": source,
        "locator": "planted",
        "basis": "evaluated",
        "seen": "reproduction",
        "subject": subject,
        "property": property_id,
        "unit": unit,
        "state": state,
        **fields,
    }


def _single(subject: str, property_id: str, number: str, unit: str, celsius: str, **fields: Any) -> Body:
    temperature = {"number": celsius, "unit": "degC"}
    return _reading(subject, property_id, "scalar", unit, number=number, state={"temperature": temperature}, **fields)


def _polynomial(subject: str, property_id: str, unit: str, *coefficients: str, **fields: Any) -> Body:
    return _reading(
        subject,
        property_id,
        "equation",
        unit,
        form="polynomial/1",
        variable={"name": "temperature", "unit": "degC"},
        coefficients={f"c{power}": text for power, text in enumerate(coefficients)},
        interval={"low": "0", "high": "95", "unit": "degC"},
        equation_printed="planted",
        **fields,
    )


def _altered(database: Database, row: str, wrong: dict[str, str]) -> Body:
    """Another print of an equation in the release, with some of its coefficients changed."""
    record = database.store.record(row, database.release())
    assert record is not None
    body = {**record.body, "id": f"{row}9", "source": "planted", "check_values": []}
    if body["kind"] == "equation":
        body["coefficients"] = {name: wrong.get(name, text) for name, text in body["coefficients"].items()}
    else:
        body["terms"] = [[wrong.get(term[0], term[0]), *term[1:]] for term in body["terms"]]
    assert body != {**record.body, "id": f"{row}9", "source": "planted", "check_values": []}
    return body


def test_what_the_release_says_of_water_is_not_suspicious(database: Database) -> None:
    suspicions = audit(database.store, "liquids", database.store.release())["suspicions"]
    of_water = [one for one in suspicions if one["subject"] in {"water", "seawater"}]
    # Water's absorption falls by a third from 0 to 10 degC: tables in such steps leave the line of their neighbours.
    assert [one for one in of_water if one["properties"] != ["absorption_over_frequency_squared"]] == []


def test_a_minus_sign_read_as_a_digit_is_found(pending: Database) -> None:
    """Del Grosso and Mader's coefficients in a published table: 25.80852 and 21.4780 for -5.80852 and -1.4780."""
    wrong = _polynomial(
        "water", "sound_speed", "m/s", "1402.388", "5.03711", "0.2580852", "3.34198e-4", "2.14780e-5", "3.14643e-9"
    )
    assert _codes(pending, wrong) & {"far-from-advised", "impossible"}


def test_a_lost_exponent_is_found(pending: Database) -> None:
    """1.40238677 * 103, as a program for bioacoustics writes 1.40238677e3."""
    wrong = _polynomial("water", "sound_speed", "m/s", "144.4458373", "5.03798765", "-5.80980033e-2")
    assert "far-from-advised" in _codes(pending, wrong)


@pytest.mark.parametrize(("celsius", "printed"), [("40", "1526"), ("13", "1441"), ("0.01", "1401.0")])
def test_a_table_of_water_that_is_off_by_little_stands_among_the_deviations(
    pending: Database, celsius: str, printed: str
) -> None:
    """Engineering tables on a page (40 degC), a noise handbook (13 degC), a superseded formulation (0 degC)."""
    wrong = _single("water", "sound_speed", printed, "m/s", celsius)
    store = WaterAlone(pending.store, [wrong])
    deviations = untyped(audit(store, "liquids", store.release()))["deviations"]
    (entry,) = [one for one in deviations if one["reading"]["id"] == wrong["id"]]
    assert abs(entry["in_uncertainties"]) > 5


def test_an_equation_that_is_high_everywhere_stands_among_the_deviations(pending: Database) -> None:
    """Greenspan and Tschiegg (1957): 0.25 to 0.38 m/s high; coefficients as programs carry them."""
    wrong = _polynomial(
        "water", "sound_speed", "m/s", "1402.736", "5.03358", "-5.79506e-2", "3.31636e-4", "-1.45262e-6", "3.0449e-9"
    )
    store = WaterAlone(pending.store, [wrong])
    deviations = untyped(audit(store, "liquids", store.release()))["deviations"]
    (entry,) = [one for one in deviations if one["reading"]["id"] == wrong["id"]]
    assert entry["in_uncertainties"] > 3


@pytest.mark.parametrize(
    ("right", "wrong"),
    [
        ("1.288598e-4", "1.988598e-4"),
        ("5.012285", "5.022285"),
        ("2.449993e-5", "2.44993e-5"),
        ("-8.833959e-9", "-8.33959e-9"),
    ],
)
def test_one_wrong_digit_in_a_coefficient_is_found_whatever_it_changes(
    pending: Database, right: str, wrong: str
) -> None:
    """A 2 read as 9, a digit one too high, a digit dropped: as four public programs miscopy Del Grosso's equation.

    Here done to the form that Wong and Zhu (1995) give it, which the release holds.
    """
    found = _found(pending, _altered(pending, "seawater.sound_speed.03", {right: wrong}))
    assert any(one["code"] == "digits-differ" and wrong in one["text"] for one in found)


def test_a_number_that_no_liquid_has_is_found(pending: Database) -> None:
    """A program asks for metres where its equation needs kilometres: 18257 m/s in sea water."""
    wrong = _single("seawater", "sound_speed", "18257", "m/s", "20")
    assert "impossible" in _codes(pending, wrong)


def test_a_specific_heat_of_water_from_another_constant_stands_among_the_deviations(pending: Database) -> None:
    """4128.9 for 4176.2 J/(kg.K) in the equation for the water in foods: 1.2 % low."""
    wrong = _polynomial("water", "specific_heat", "J/(kg.K)", "4128.9", "-9.0864e-2", "5.4731e-3")
    store = WaterAlone(pending.store, [wrong])
    (entry,) = [
        o for o in untyped(audit(store, "liquids", store.release()))["deviations"] if o["reading"]["id"] == wrong["id"]
    ]
    assert entry["relative"] < -0.01


@dataclass(frozen=True)
class Trap:
    """A misprint: what is planted, where it was met, and how it must be found."""

    met: str
    bodies: tuple[Body, ...]
    code: str


HEXANE = _single("n-hexane", "sound_speed", "1203", "m/s", "25")
METHANOL = _single("methanol", "sound_speed", "1143", "m/s", "25")
FROZEN_ARGON = _single("argon", "sound_speed", "840", "m/s", "-243")
BISULPHIDE = _single("carbon-disulphide", "sound_speed", "1160", "m/s", "25")
DISULPHIDE = _single("carbon-disulphide", "sound_speed", "1242", "m/s", "25", which=91)
PETROL = _single("gasoline", "sound_speed", "1390", "m/s", "20")
PETROLS_DENSITY = _single("gasoline", "density", "680", "kg/m3", "20")
PROPYLENE = _single("propylene", "dynamic_viscosity", "0.080", "mPa.s", "25")
PENTANE = _single("n-pentane", "dynamic_viscosity", "0.180", "mPa.s", "25")
PROPYNE = _reading(
    "propyne",
    "sound_speed",
    "equation",
    "m/s",
    form="polynomial/1",
    variable={"name": "temperature", "unit": "degC"},
    coefficients={"c0": "1796", "c1": "12.0"},
    interval={"low": "-30", "high": "0", "unit": "degC"},
    equation_printed="planted",
)

TRAPS = (
    Trap("engineering tables on a page: hexane", (HEXANE,), "far-from-advised"),
    Trap("Aldred 1972 as quoted: methyl alcohol", (METHANOL,), "anothers-value"),
    Trap("engineering tables on a page: argon at -243 degC", (FROZEN_ARGON,), "no-liquid-there"),
    Trap("engineering tables on a page: one liquid, two names", (BISULPHIDE, DISULPHIDE), "two-values"),
    Trap("a noise handbook's appendix: petrol", (PETROL, PETROLS_DENSITY), "unlike-its-density"),
    Trap("a handbook's viscosity of propylene", (PROPYLENE,), "far-from-advised"),
    Trap("a library's viscosity of n-pentane", (PENTANE,), "far-from-advised"),
    Trap("a library's sound speed of propyne near its lower limit", (PROPYNE,), "turns"),
)


@pytest.mark.parametrize("trap", TRAPS, ids=lambda trap: trap.met)
def test_a_slip_met_in_public_tables_is_found_by_a_general_question(pending: Database, trap: Trap) -> None:
    assert trap.code in _codes(pending, *trap.bodies)


@pytest.mark.parametrize(
    ("family", "reading"),
    [("refrigerant", "r-22.dynamic_viscosity.51"), ("alkane", "n-pentane.dynamic_viscosity.51")],
)
def test_a_library_that_is_wrong_is_found_in_the_evidence_itself(pending: Database, family: str, reading: str) -> None:
    """A library's models of these viscosities lie 9 to 37 % below what handbooks print."""
    suspicions = suspicions_of_liquids(pending.store, pending.release(), [family])
    assert any(one["readings"][0]["id"] == reading for one in suspicions if one["code"] == "documents-disagree")


def test_an_equation_that_misses_its_own_check_value_is_found(pending: Database) -> None:
    """The density of dead oil in a published model is 0.45 % high at its own reference state."""
    check = {
        "at": {"number": "15.6", "unit": "degC"},
        "value": {"number": "876.2", "unit": "kg/m3"},
        "tolerance": "0.5",
        "source": "planted",
        "locator": "its reference state",
    }
    wrong = _polynomial("water", "density", "kg/m3", "880.1", "-0.0100", check_values=[check])
    assert "against-check-value" in _codes(pending, wrong)


def test_one_point_out_of_the_line_of_its_neighbours_is_found(pending: Database) -> None:
    """Invented: two digits of a table of acetone exchanged."""
    points = [[f"{t}", f"{1280 - 4.5 * t + 0.004 * t * t:.1f}"] for t in range(-20, 50, 10)]
    points[3][1] = "1326.3"
    wrong = _reading(
        "acetone", "sound_speed", "table", "m/s",
        variable={"name": "temperature", "unit": "degC"}, points=points,
    )  # fmt: skip
    found = [one for one in _found(pending, wrong) if one["code"] in {"out-of-line", "turns"}]
    assert any("10 degC" in one["text"] for one in found)
