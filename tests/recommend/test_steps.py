"""A step is carried forward exactly while everything that it rests on stays what it was."""

from __future__ import annotations

import copy
import random
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from refdb.ledger import Ledger, load_ledger
from refdb.recommend import Derived, Earlier, recommend
from refdb.recommend.policy import Policy, load_policy
from refdb.records.models import Flag, PropertyReading, Scalar, Source, Subject
from refdb.records.rules import REFERENCE
from refdb.release.vocabulary import compile_vocabulary
from refdb.vocabulary import VocabularyDocument
from tests.conftest import PROJECT
from tests.invented import READINGS_HEADER, SECOND_READINGS, follow_second_rule, write_document

OTHER_METALS = "".join(
    f"\n[{name}-metal]\nname = 'The {name} metal'\nsubject_kind = 'material'\nfamily = 'other-metal'\n"
    for name in ("red", "green", "blue", "white")
)
OTHER_READINGS = "".join(
    f"{name}-metal.{what}.01,{name}-metal,{what},{value},,,{unit},20 degC,p. 1,,\n"
    for name, speed in (("red", "5000"), ("green", "5100"), ("blue", "4900"), ("white", "5050"))
    for what, value, unit in (("longitudinal_speed", speed, "m/s"), ("density", "7.6", "g/cm3"))
)


class Text:
    """An invented text as it is derived: from scratch, or with what an earlier derivation gave."""

    def __init__(self, root: Path, vocabulary: VocabularyDocument) -> None:
        self.vocabulary: VocabularyDocument = copy.deepcopy(vocabulary)
        self.ledger: Ledger = load_ledger(root, self.vocabulary)
        self.policy: Policy = load_policy(root)

    def derived(self, earlier: Earlier | None = None) -> Derived:
        return recommend(self.ledger, self.policy, self.vocabulary, None, earlier)

    def known(self, derived: Derived) -> Earlier:
        """What a release cut of it would know."""
        return Earlier(
            derived.steps, {row: record.plain() for row, record in self.ledger.records.items()} | derived.rows
        )

    def put(self, row: str, **changed: Any) -> None:
        """Change fields of a record."""
        self.ledger.records[row] = self.ledger.records[row].model_copy(update=changed)


@pytest.fixture(scope="module")
def vocabulary() -> VocabularyDocument:
    """The vocabulary, which is the real one in every text."""
    return compile_vocabulary(PROJECT)


@pytest.fixture
def text(invented_text: Path, vocabulary: VocabularyDocument) -> Text:
    follow_second_rule(invented_text)
    subjects = invented_text / "shared" / "subjects" / "invented.toml"
    subjects.write_text(subjects.read_text() + OTHER_METALS)
    write_document(invented_text, "second-article", READINGS_HEADER + SECOND_READINGS)
    write_document(invented_text, "family", READINGS_HEADER + OTHER_READINGS)
    return Text(invented_text, vocabulary)


def _family(text: Text, name: str, **changed: Any) -> None:
    family = text.policy.families[name].model_copy(update=changed)
    text.policy = replace(text.policy, families=text.policy.families | {name: family})


def _factor(text: Text, symbol: str, scale: float) -> None:
    for unit in text.vocabulary["units"]:
        if unit["symbol"] == symbol:
            unit["scale"] = scale


CHANGES: dict[str, tuple[Callable[[Text], None], set[str]]] = {
    "nothing": (lambda _: None, set()),
    "a reading": (
        lambda text: text.put("invented-metal.density.01", number="7.4"),
        {
            "published invented-metal.density",
            "published invented-metal.longitudinal_speed",
            "derived invented-metal.shear_speed",
            "family other-metal",
            # Their readings are held against what the rest of the family has.
            *(
                f"published {name}-metal.{what}"
                for name in ("red", "green", "blue", "white")
                for what in ("density", "longitudinal_speed")
            ),
        },
    ),
    "a note": (
        lambda text: text.put("invented-liquid.sound_speed.01", note="told later"),
        {
            "published invented-liquid.sound_speed",
            "derived invented-liquid",
            "bound invented-liquid",
            "family invented",
        },
    ),
    "a title": (
        lambda text: text.put("second-article", title="Another title"),
        {"published invented-metal.density", "published invented-metal.longitudinal_speed"},
    ),
}


@pytest.mark.parametrize("change", CHANGES)
def test_what_rests_on_a_change_is_computed_again_and_nothing_else(text: Text, change: str) -> None:
    before = text.derived()
    earlier = text.known(before)
    make, computed = CHANGES[change]
    make(text)
    after = text.derived(earlier)
    # A row that came out the same stops the change there.
    assert set(after.computed) <= computed
    assert after.rows == text.derived().rows
    if change == "nothing":
        assert after.rows == before.rows


@pytest.mark.parametrize(
    "change",
    [
        lambda text: _family(text, "metals", shear_speed="0.03", longitudinal_speed="0.03"),
        lambda text: _family(text, "metals", members=["nobody"]),
        lambda text: text.put("second-article", lineage="first-article"),
        lambda text: text.put("invented-metal.longitudinal_speed.02", flags=[Flag(code="suspect", text="too fast")]),
        lambda text: text.put("invented-metal", family="thermoplastic"),
        lambda text: text.put("red-metal.longitudinal_speed.01", number="50"),
        lambda text: _factor(text, "g/cm3", 1100.0),
        lambda text: setattr(text, "policy", replace(text.policy, references={})),
    ],
    ids=["a spread", "a family's members", "a lineage", "a flag", "a family", "a decimal slip", "a unit", "a choice"],
)
def test_carrying_forward_gives_what_deriving_from_scratch_gives(text: Text, change: Callable[[Text], None]) -> None:
    before = text.derived()
    earlier = text.known(before)
    change(text)
    afresh = text.derived().rows
    assert afresh != before.rows
    assert text.derived(earlier).rows == afresh


def test_a_new_version_of_a_rule_is_computed(text: Text, monkeypatch: pytest.MonkeyPatch) -> None:
    earlier = text.known(text.derived())
    monkeypatch.setattr("refdb.recommend.derive.REFERENCE", replace(REFERENCE, name="reference/99"))
    assert text.derived(earlier).computed == ["published invented-liquid.sound_speed"]


def test_a_row_that_was_altered_is_not_carried_forward(text: Text) -> None:
    before = text.derived()
    earlier = text.known(before)
    altered = {**before.rows["invented-metal.density"], "unit": "g/cm3"}
    after = text.derived(Earlier(earlier.steps, {**earlier.records, "invented-metal.density": altered}))
    assert "published invented-metal.density" in after.computed
    assert after.rows == before.rows


@pytest.fixture(scope="module")
def whole(vocabulary: VocabularyDocument) -> Text:
    """The project's own text."""
    return Text(PROJECT, vocabulary)


FEW = 2


@pytest.mark.long
@pytest.mark.parametrize("seed", range(3))
def test_whatever_changes_in_the_ledger_carrying_forward_gives_what_deriving_from_scratch_gives(
    whole: Text, seed: int
) -> None:
    kept = dict(whole.ledger.records)
    earlier = whole.known(whole.derived())
    chance = random.Random(seed)  # noqa: S311 - a campaign, no secret
    try:
        for row in chance.sample(sorted(row for row, record in kept.items() if isinstance(record, Scalar)), 25):
            whole.put(row, number=str(float(kept[row].number.replace(",", "").replace(" ", "")) * 1.01))  # type: ignore[union-attr]
        readings = [record for record in kept.values() if isinstance(record, PropertyReading)]
        beside = Counter((reading.subject, reading.property) for reading in readings)
        # A rule that is left without a reading stops the build, as it should, and another test holds that.
        policy = load_policy(PROJECT)
        followed = {name for line in policy.viscosities.values() for name in line.readings}
        followed |= {entry.reading for entry in policy.references.values()}
        followed |= {entry.reading for entry in policy.grids.values()}
        followed |= {entry.reading for entry in policy.solutions.grids}
        followed |= {
            name
            for entry in policy.solutions.speeds
            for name in (entry.density, entry.bulk_modulus, entry.specific_heat)
        }
        doubted = sorted(
            one.id for one in readings if beside[one.subject, one.property] > FEW and one.id not in followed
        )
        for row in chance.sample(doubted, 10):
            whole.put(row, flags=[Flag(code="suspect", text="invented doubt")])
        for row in chance.sample(sorted(row for row, record in kept.items() if isinstance(record, Source)), 5):
            whole.put(row, lineage="one-of-them")
        for row in chance.sample(sorted(row for row, record in kept.items() if isinstance(record, Subject)), 3):
            whole.put(row, isotropic=False)
        after = whole.derived(earlier)
        assert len(after.computed) < len(after.steps) / 2
        assert after.rows == whole.derived().rows
    finally:
        whole.ledger.records.update(kept)
