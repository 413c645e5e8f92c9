"""The database as a program uses it: open it in one line, ask in one line."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from copy import copy
from functools import lru_cache, partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from refdb.answer.batch import Batch, BatchPart, read_batch_state
from refdb.answer.citation import citation, cited
from refdb.answer.layers import HouseLayer, layered_answer
from refdb.answer.lining import LiningAnswer, linings_of
from refdb.answer.liquid_measurement import LiquidQuestion, read_liquid
from refdb.answer.liquid_recipe import (
    DENSITY_HINT,
    LiquidSpeedQuestion,
    MeasuredLiquidSpeed,
    check_liquid_parts,
    speed_against_water,
    speed_over_path,
)
from refdb.answer.liquid_recipe import HINT as LIQUID_HINT
from refdb.answer.options import ESTIMATE_RUNGS, SI, Options, read_options, require_release_only
from refdb.answer.pipe import PipeAnswer, one_pipe, pipe_with_id, pipes_anywhere, pipes_of
from refdb.answer.pipe_measurement import PipeQuestion, Speed
from refdb.answer.provenance import history, provenance, row_document
from refdb.answer.recipe import HINT
from refdb.answer.roughness import RoughnessAnswer, roughness_of
from refdb.answer.value import Answer, RowText, Values, answer
from refdb.data import POINTER, WAY_OUT, CompiledFiles, current, pinned
from refdb.lookup import ReleaseInfo, ReleaseStore, StoredRecord
from refdb.lookup.evaluate import PreparedRow
from refdb.lookup.find import Found, find, likeliest, subject_named
from refdb.lookup.state import State, read_state
from refdb.problems import BadParameter, IntegrityError, MissingState, NotAvailable, OutsideRange, Problem, UnknownName
from refdb.records.readings import PROPERTY_READING_KINDS, as_printed
from refdb.units import Quantity, units
from refdb.vocabulary import conditions, properties, vocabulary

if TYPE_CHECKING:
    from refdb.answer.match_liquid import LiquidMatch, Reason
    from refdb.answer.match_pipe import PipeMatch
    from refdb.answer.match_state import StateMatch
    from refdb.answer.pipe_candidates import Candidates
    from refdb.answer.strength import Rows
    from refdb.answer.strength_answer import StrengthAnswer
    from refdb.answer.suspension_answer import SuspensionAnswer
    from refdb.answer.suspension_question import SuspensionQuestion

RECIPES = {
    "longitudinal_speed": ("material", HINT),
    "shear_speed": ("material", HINT),
    "sound_speed": ("liquid", LIQUID_HINT),
    "density": ("liquid", DENSITY_HINT),
}
"""For properties that can be measured on site: the kind of subject, and how."""
MOST_SUBJECTS = 4096
"""Spellings of subjects that are remembered; a name can be written in any number of ways."""
FIND_LIMIT = 20
MATCH_LIMIT = 20


def open_database(
    release: str | None = None,
    as_of: str | None = None,
    store: Path | None = None,
    house: HouseLayer | None = None,
) -> Database:
    """Open the compiled database that is installed with the package.

    Args:
        release: read this release unless a question names another; the newest by default.
        as_of: read the newest release cut on or before this UTC date (`YYYY-MM-DD`).
        store: the compiled store file of another folder; `SHA256SUMS` must name it there, with the same vocabulary.
        house: where house values come from, such as `refdb.house.House(URL)`; asked with `layers="house,release"`.

    Raises:
        IntegrityError: no store has been compiled, or what is there does not fit; `refdb.data` says what is checked.
        UnknownName: there is no such release.
    """
    files = pinned() if store is None else _beside(store)
    opened = ReleaseStore(files.store)
    if opened.manifest != files.digest("manifest"):
        raise IntegrityError(
            f"The release store {opened.path} is not the one that the manifest beside it tells; {WAY_OUT}."
        )
    vocabulary()  # now, since a later build may clear its file away
    return Database(opened, release, as_of, house)


def _beside(store: Path) -> CompiledFiles:
    """The compiled files of the folder that a store lies in."""
    files = current(store.parent)
    if files.store.name != store.name:
        raise IntegrityError(f"The release store {store} is not {files.store.name}, which {POINTER} names there.")
    if files.digest("vocabulary") != pinned().digest("vocabulary"):
        raise IntegrityError(
            f"The release store {store} was compiled with another vocabulary than the one in {pinned().folder}, which "
            f"is in use; read its folder with the setting REFDB_DATA={store.parent}."
        )
    return files


class Database:
    """All releases, read-only, with one of them as the default."""

    def __init__(
        self,
        store: ReleaseStore,
        release: str | None = None,
        as_of: str | None = None,
        house: HouseLayer | None = None,
    ) -> None:
        self.store = store
        self.house = house
        self._default = (release, _checked_date(as_of))
        store.release(*self._default)
        self._subject_named = lru_cache(MOST_SUBJECTS)(partial(subject_named, store))
        self._rows: dict[tuple[str, int], RowText] = {}
        self._candidates: dict[tuple[int, bool], Candidates] = {}

    def beside(self, house: HouseLayer) -> Database:
        """This database with house values to answer from; what it has read is shared."""
        other = copy(self)
        other.house = house
        return other

    def release(self, label: str | None = None, as_of: str | None = None) -> ReleaseInfo:
        """The release a question is answered from.

        Raises:
            UnknownName: there is no such release.
            BadParameter: both a label and a date were given, or the date is not one.
        """
        if label is None and as_of is None:
            return self.store.release(*self._default)
        return self.store.release(label, _checked_date(as_of))

    def releases(self) -> list[ReleaseInfo]:
        """Every release, oldest first."""
        return list(self.store.releases)

    def value(
        self,
        subject: str,
        property_id: str,
        *,
        temperature: str | Quantity | None = None,
        pressure: str | Quantity | None = None,
        salinity: str | Quantity | None = None,
        strength: str | Quantity | None = None,
        condition: str | None = None,
        unit: str | None = None,
        accept: str | None = None,
        layers: str | None = None,
        release: str | None = None,
        as_of: str | None = None,
    ) -> Answer:
        """One property of a subject at a state.

        Args:
            subject: an exact name or designation; `find` is the forgiving one.
            property_id: such as `sound_speed`.
            temperature: such as `"20 degC"`; a `Quantity` may hold a numpy array. A liquid needs one.
            pressure: absolute or gauge, such as `"3 bar(g)"`; 1 atm where it is not given.
            salinity: of sea water, such as `"35 g/kg"` (absolute) or `"35 psu"` (practical).
            strength: of a solution, such as `"30 % mass"`, `"30 % vol"`, `"2 mol/kg"`, or its measured density.
            condition: such as `annealed`, where readings tell conditions apart.
            unit: the unit to answer in.
            accept: `"estimates"` to be given values that nobody published.
            layers: `"house,release"` to be given an organisation's own values first.
            release, as_of: another release than the default.

        Raises:
            Problem: the question cannot be answered as asked; its sentence says why, and the way out.
        """
        options = read_options(None, {property_id: unit} if unit else None, accept, layers)
        found = self.values(
            subject,
            [property_id],
            state=read_state(temperature, pressure, salinity, strength),
            condition=condition,
            options=options,
            release=self.release(release, as_of),
        )
        return found.values[0]

    def values(
        self,
        subject: str,
        property_ids: Iterable[str] = (),
        *,
        state: State,
        condition: str | None = None,
        options: Options = SI,
        release: ReleaseInfo | None = None,
        kind: str | None = None,
    ) -> Values:
        """Several properties of a subject at a state.

        Args:
            property_ids: the properties; none means every one that an engineer needs or a row advises.
            kind: `material` or `liquid` where only that kind of subject will do.

        Raises:
            Problem: a named property, or all, cannot be answered.
        """
        release = release or self.release()
        record = self.subject(subject, release, kind)
        state = self.with_mass_fraction(record, state, release)
        named = list(dict.fromkeys(property_ids))
        for property_id in named:
            self.check_property(property_id, record)
        wanted = named or self._open_question(record, release, options)
        ask = self._layered if options.house else self._released
        answers: list[Answer] = []
        problems: list[tuple[str, Problem]] = []
        for property_id in wanted:
            try:
                answers.append(ask(record, property_id, state, condition, options, release))
            except Problem as problem:
                if named:
                    raise
                problems.append((property_id, problem))
        if not answers:
            raise _most_telling(problems)
        return Values(release.label, answers, _refused(problems))

    def batch(
        self,
        subject: str,
        property_ids: Iterable[str] = (),
        *,
        state: Mapping[str, Any],
        condition: str | None = None,
        options: Options = SI,
        release: ReleaseInfo | None = None,
    ) -> Batch:
        """Properties of a subject at many states at once; a state that cannot be answered spoils no other.

        Args:
            property_ids: the properties; none means every one that a row advises, those that cannot be answered at
                all told under `refused`.
            state: `temperature`, `pressure`, `salinity`, `strength`: each a Quantity, its text, or a mapping of `unit`
                and `magnitudes`. Arrays and lists must be of one length.

        Raises:
            Problem: the question as a whole is wrong: an unknown name, a wrong unit, a part of the state missing.
            NotAvailable: no property is named, and no row advises any.
        """
        require_release_only(options, "many states at once are answered")
        release = release or self.release()
        record = self.subject(subject, release)
        states, count = read_batch_state(state)
        states = self.with_mass_fraction(record, states, release)
        named = list(dict.fromkeys(property_ids))
        for property_id in named:
            self.check_property(property_id, record)
        wanted = named or self._advised(record, release, estimates=options.estimates)
        if not wanted:
            raise self._nothing_advised(record, release)
        liquid = record.body["subject_kind"] == "liquid"
        parts = []
        problems: list[tuple[str, Problem]] = []
        for property_id in wanted:
            try:
                text = self._permitted(record, property_id, condition, options, release)
                each = text.row.evaluate_each(states, count, needs_temperature=liquid)
            except Problem as problem:
                if named:
                    raise
                problems.append((property_id, problem))
                continue
            unit = options.unit_for(property_id, text.row.unit)
            parts.append(BatchPart(property_id, text.row.unit, unit, each, text.row.id, text.row.digest))
        if not parts:
            raise _most_telling(problems)
        return Batch(release.label, _subject_reference(record.body), parts, _refused(problems))

    def subject(self, name: str, release: ReleaseInfo | None = None, kind: str | None = None) -> StoredRecord:
        """The subject with this exact name.

        Raises:
            UnknownName, AmbiguousName: no one subject is called so.
        """
        return self._subject_named(name, release or self.release(), kind)

    def subjects(self, kind: str, release: ReleaseInfo | None = None) -> list[dict[str, Any]]:
        """Every material or liquid with its names and the properties a release advises for it."""
        release = release or self.release()
        records = self.store.of_kind("subject", release)
        return [self.subject_document(r, release) for r in records if r.body["subject_kind"] == kind]

    def subject_document(self, record: StoredRecord, release: ReleaseInfo) -> dict[str, Any]:
        """A subject as plain JSON values: names, family, what is advised, how many readings there are."""
        body = record.body
        designations = self.store.about(("designation",), record.id, release)
        rows = [
            row
            for row in self.store.about(("recommended",), record.id, release)
            if row.body["rung"] not in ESTIMATE_RUNGS
        ]
        readings = self.store.about(PROPERTY_READING_KINDS, record.id, release)
        return {
            **_subject_reference(body),
            "family": body["family"],
            "note": body.get("note"),
            "designations": [{"kind": d.body["designation_kind"], "text": d.body["text"]} for d in designations],
            "properties": sorted({row.body["property"] for row in rows}),
            "conditions": sorted({row.body["condition"] for row in rows if "condition" in row.body}),
            "readings": len(readings),
            "row": {"id": record.id, "digest": record.digest},
            "release": release.label,
        }

    def readings(
        self,
        subject: str,
        property_id: str | None = None,
        source: str | None = None,
        release: ReleaseInfo | None = None,
        kind: str | None = None,
    ) -> list[dict[str, Any]]:
        """What each source says about a subject, as printed.

        Raises:
            UnknownName, AmbiguousName: the subject, property or source is not known.
        """
        release = release or self.release()
        record = self.subject(subject, release, kind)
        if property_id is not None:
            self.check_property(property_id, record)
        if source is not None:
            self.source(source, release)
        found = self.store.about(PROPERTY_READING_KINDS, record.id, release)
        return [
            self._reading_document(reading, release)
            for reading in found
            if property_id in {None, reading.body["property"]} and source in {None, reading.body["source"]}
        ]

    def sources(self, release: ReleaseInfo | None = None) -> list[dict[str, Any]]:
        """Every published document of a release."""
        release = release or self.release()
        return [self._source_document(record) for record in self.store.of_kind("source", release)]

    def source(self, key: str, release: ReleaseInfo | None = None) -> dict[str, Any]:
        """One document, and how many rows rest on it.

        Raises:
            UnknownName: there is no such source.
        """
        release = release or self.release()
        record = self.store.record(key, release)
        if record is None or record.body["kind"] != "source":
            known = [r.id for r in self.store.of_kind("source", release)]
            near = likeliest(key, known)
            raise UnknownName(
                f"source: there is no source '{key}'; the nearest keys are {', '.join(near or known[:5])}.",
                parameter="source",
                given=key,
                candidates=near or known,
            )
        resting = self.store.resting_on(key, release)
        return self._source_document(record) | {"release": release.label, "rows_resting_on_it": len(resting)}

    def find(self, text: str, limit: int = FIND_LIMIT, release: ReleaseInfo | None = None) -> list[Found]:
        """What fits a search text, best first.

        Raises:
            BadParameter: the text is empty or too long.
        """
        return find(self.store, text, release or self.release(), limit)

    def pipe(self, system: str, size: str, designation: str | None = None, options: Options = SI) -> PipeAnswer:
        """One pipe in its standard's words, such as `pipe("b36.10", "NPS 8", "40")`.

        Raises:
            UnknownName, AmbiguousName, BadParameter: no one pipe is called so.
        """
        return one_pipe(self.pipes(system, size, designation, options), size)

    def pipes(
        self,
        system: str | None,
        size: str | None = None,
        designation: str | None = None,
        options: Options = SI,
        release: ReleaseInfo | None = None,
    ) -> list[PipeAnswer]:
        """The pipes of a system (of all, without one), of a size, with a designation.

        Raises:
            UnknownName, BadParameter: none is called so.
            NotAvailable: what fits is only recalled, and estimates were not asked for.
        """
        release = release or self.release()
        if system is None:
            return pipes_anywhere(self.store, size, designation, release, options)
        return pipes_of(self.store, system, size, designation, release, options)

    def pipe_row(self, pipe_id: str, options: Options = SI, release: ReleaseInfo | None = None) -> PipeAnswer:
        """The pipe with a row id such as `b36.10-nps-8-sch-40`.

        Raises:
            UnknownName: there is none.
        """
        return pipe_with_id(self.store, pipe_id, release or self.release(), options)

    def match_pipe(
        self,
        asked: PipeQuestion | None = None,
        *,
        options: Options = SI,
        release: ReleaseInfo | None = None,
        limit: int = MATCH_LIMIT,
        **measured: Any,
    ) -> PipeMatch:
        """Which pipes it can be: `match_pipe(circumference="690 mm", wall="8.1 mm", material="carbon steel")`.

        Args:
            asked: what was measured; or its attributes, by name, as quantities or their text.
            options: units of the answer, and whether pipes that are only recalled may be among it.
            limit: at most this many outcomes.
            measured: the attributes of `PipeQuestion`.

        Raises:
            BadQuantity, UnknownUnit, WrongDimension, OutsideRange, BadParameter: a measurement is wrong.
            MissingState: a wall cannot be corrected without the material.
            UnknownName, AmbiguousName: no one material or system is called so.
            NotAvailable: the release has no pipes of the system.
        """
        # numpy is loaded by the first match, not by every command.
        from refdb.answer.match_pipe import match_pipe

        release = release or self.release()
        question = asked if asked is not None else PipeQuestion(**measured)
        known = self._known_pipes(release, options.estimates)
        return match_pipe(self.store, release, known, question, self._speeds(release), options, limit)

    def _known_pipes(self, release: ReleaseInfo, estimates: bool) -> Candidates:
        from refdb.answer.pipe_candidates import candidates

        key = (release.ordinal, estimates)
        if key not in self._candidates:
            self._candidates[key] = candidates(self.store, release, estimates)
        return self._candidates[key]

    def _speeds(self, release: ReleaseInfo) -> Speed:
        """Finds a material's longitudinal speed: at the temperature where its row goes so far, at 20 degC otherwise."""

        def speed(material: str, celsius: float | None) -> tuple[float, float, str]:
            unit = units().find("m/s", "speed")
            options = Options(units={"longitudinal_speed": unit.symbol})
            at = f"{celsius:g} degC" if celsius is not None else None
            try:
                found = self._longitudinal(material, at, options, release)
            except OutsideRange:
                found = self._longitudinal(material, None, options, release)
            except (NotAvailable, UnknownName):
                raise MissingState(
                    f"material_speed: release {release.label} has no longitudinal speed of {material} to correct the "
                    "wall by; give the speed, or leave gauge_speed out.",
                    parameter="material_speed",
                ) from None
            value, doubt = float(found.value.magnitude), float(found.standard_uncertainty.magnitude)
            return value, doubt, f"{value:g} m/s ± {doubt:.2g} m/s of row {found.row}"

        return speed

    def _longitudinal(self, material: str, at: str | None, options: Options, release: ReleaseInfo) -> Answer:
        state = read_state(at)
        return self.values(material, ["longitudinal_speed"], state=state, options=options, release=release).values[0]

    def match_liquid(
        self,
        asked: LiquidQuestion | None = None,
        *,
        options: Options = SI,
        release: ReleaseInfo | None = None,
        limit: int = MATCH_LIMIT,
        **measured: Any,
    ) -> LiquidMatch | StateMatch:
        """The way back from a sound speed: `match_liquid(sound_speed="1482 m/s", temperature="20 degC")`.

        Without `liquid` and `solution`, which liquids agree. With `liquid="water"` and no temperature, at which
        temperatures; with `solution="seawater"`, at which salinity or strength: every one of them, with uncertainty.

        Args:
            asked: what was measured; or its attributes, by name, as quantities or their text.
            options: units of the answer, and whether estimates may be among it.
            limit: at most this many liquids.
            measured: the attributes of `LiquidQuestion`.

        Raises:
            BadQuantity, UnknownUnit, WrongDimension, OutsideRange, BadParameter, MissingState: the question is wrong.
            UnknownName, AmbiguousName: no one liquid is called so.
            NotAvailable: the release has no sound speed of the liquid named.
        """
        from refdb.answer.match_liquid import match_liquid
        from refdb.answer.match_state import match_state, sought_of_solution

        release = release or self.release()
        question = asked if asked is not None else LiquidQuestion(**measured)
        found = read_liquid(question)
        named = question.liquid or question.solution
        if named is not None:
            subject = self.subject(named, release, "liquid")
            text = self._permitted(subject, "sound_speed", None, options, release)
            sought = "temperature" if question.liquid is not None else sought_of_solution(text.row)
            return match_state(text, found, sought, options)

        def density(liquid: str) -> RowText:
            return self._permitted(self.subject(liquid, release, "liquid"), "density", None, options, release)

        return match_liquid(release.label, found, self._liquid_speeds(release, options), density, options, limit)

    def measure_liquid_speed(
        self,
        asked: LiquidSpeedQuestion | None = None,
        *,
        unit: str = "m/s",
        release: ReleaseInfo | None = None,
        **measured: Any,
    ) -> MeasuredLiquidSpeed:
        """A liquid's sound speed measured on site: `measure_liquid_speed(path="100 mm", path_uncertainty="0.1 mm",
        travel_time="67.5 us", travel_time_uncertainty="0.05 us")`, or with `water_time` and `temperature` against the
        water of the release.

        Args:
            asked: what was measured; or its attributes, by name, as quantities or their text.
            unit: to answer in.
            measured: the attributes of `LiquidSpeedQuestion`.

        Raises:
            BadParameter: a part is missing, belongs to the other way, or is not above zero.
            BadQuantity, UnknownUnit, WrongDimension: a quantity is not one, or measures something else.
            MissingState, OutsideRange: water is not liquid at the temperature, at 1 atm.
        """
        question = asked if asked is not None else LiquidSpeedQuestion(**measured)
        check_liquid_parts(question)
        if question.path is not None:
            return speed_over_path(question, unit)
        state = read_state(question.temperature)
        water = self.values("water", ["sound_speed"], state=state, release=release, kind="liquid").values[0]
        return speed_against_water(question, water, unit)

    def _liquid_speeds(self, release: ReleaseInfo, options: Options) -> dict[str, RowText | Reason]:
        """Every liquid: its row of the sound speed, or why there is none to be asked."""
        speeds: dict[str, RowText | Reason] = {}
        for record in self.store.of_kind("subject", release):
            if record.body["subject_kind"] != "liquid":
                continue
            row = self.store.record(f"{record.id}.sound_speed", release)
            if row is None:
                speeds[record.id] = "no_speed"
            elif row.body["rung"] in ESTIMATE_RUNGS and not options.estimates:
                speeds[record.id] = "estimate"
            else:
                speeds[record.id] = self._row_text(record, "sound_speed", None, release)
        return speeds

    def linings(
        self,
        system: str | None = None,
        size: str | None = None,
        material: str | None = None,
        options: Options = SI,
        release: ReleaseInfo | None = None,
    ) -> list[LiningAnswer]:
        """What standards line the pipes of a system and a size with.

        Raises:
            UnknownName, BadParameter: the system, size or material is not known.
            NotAvailable: no document seen gives a lining for them.
        """
        return linings_of(self.store, system, size, material, release or self.release(), options)

    def roughness(
        self, material: str | None = None, options: Options = SI, release: ReleaseInfo | None = None
    ) -> list[RoughnessAnswer]:
        """The roughness of a material's surfaces.

        Raises:
            UnknownName, AmbiguousName: nothing is published for it, or the name fits several.
        """
        return roughness_of(self.store, material, release or self.release(), options)

    def row(self, row: str, release: ReleaseInfo | None = None) -> dict[str, Any]:
        """A released record with its digest.

        Raises:
            UnknownName: the release has no such row.
        """
        return row_document(self.store, row, release or self.release())

    def provenance(self, row: str, release: ReleaseInfo | None = None) -> dict[str, Any]:
        """The chain from a row to its sources.

        Raises:
            UnknownName: the release has no such row.
        """
        return provenance(self.store, row, release or self.release())

    def changes(self, label: str, since: str | None = None) -> dict[str, Any]:
        """What a release changed since an older one; the one before it by default.

        Raises:
            UnknownName: there is no such release.
            BadParameter: the other release is not older, or there is none before.
        """
        from refdb.answer.changes import changes

        return changes(self.store, self.store.release(label), since)

    def audit(self, scope: str, release: ReleaseInfo | None = None) -> dict[str, Any]:
        """What is suspicious in the evidence of a release, the most suspicious first.

        Args:
            scope: `liquids` or `solids`.

        Raises:
            UnknownName: there is no such scope.
        """
        # What looks at everything is loaded by whoever asks for it, not by every command.
        from refdb.answer.audit import audit

        return audit(self.store, scope, release or self.release())

    def history(self, row: str) -> dict[str, Any]:
        """Every version of a row.

        Raises:
            UnknownName: no release ever had it.
        """
        return history(self.store, row)

    def _layered(
        self,
        subject: StoredRecord,
        property_id: str,
        state: State,
        condition: str | None,
        options: Options,
        release: ReleaseInfo,
    ) -> Answer:
        rows = [
            row for row in self._house().rows(subject.id, property_id) if row.record.body.get("condition") == condition
        ]
        return layered_answer(
            rows,
            _subject_reference(subject.body),
            state,
            options,
            release.label,
            lambda: self._released(subject, property_id, state, condition, options, release),
        )

    def _released(
        self,
        subject: StoredRecord,
        property_id: str,
        state: State,
        condition: str | None,
        options: Options,
        release: ReleaseInfo,
    ) -> Answer:
        text = self._permitted(subject, property_id, condition, options, release)
        evaluated = text.row.evaluate(state, needs_temperature=subject.body["subject_kind"] == "liquid")
        return answer(text, evaluated, options.unit_for(property_id, text.row.unit))

    def _house(self) -> HouseLayer:
        if self.house is None:
            raise BadParameter(
                "layers: no house store was opened beside the releases; open one, as in "
                "refdb.open(house=refdb.house.House(URL)).",
                parameter="layers",
            )
        return self.house

    def with_mass_fraction(self, subject: StoredRecord, state: State, release: ReleaseInfo) -> State:
        """The state with its strength as a mass fraction, whatever basis it was given on.

        Raises:
            Problem: the strength cannot be told as a mass fraction.
        """
        if not isinstance(state.strength, Quantity):
            return state
        from refdb.answer.strength import with_mass_fraction

        return with_mass_fraction(state, subject.body, self._rows_of(release))

    def strength(
        self,
        subject: str,
        strength: str | Quantity,
        *,
        temperature: str | Quantity | None = None,
        to: str | None = None,
        release: ReleaseInfo | None = None,
    ) -> StrengthAnswer:
        """The strength of a solution on other bases: `strength("ethanol-water", "40 % ABV", to="% mass")`.

        Args:
            strength: on any basis, or a density measured at the temperature.
            temperature: needed for volumes of solution and for densities.
            to: a unit; every basis that can be told where none is asked for.

        Raises:
            Problem: the strength cannot be told on the basis asked for.
        """
        from refdb.answer.strength_answer import strength_answer

        release = release or self.release()
        record = self.subject(subject, release, "liquid")
        state = read_state(temperature, strength=strength)
        return strength_answer(record, state, strength, to, self._rows_of(release), release)

    def suspension(
        self,
        asked: SuspensionQuestion | None = None,
        *,
        options: Options = SI,
        release: ReleaseInfo | None = None,
        **given: Any,
    ) -> SuspensionAnswer:
        """The sound speed of an emulsion or a slurry of fine particles by Wood's equation, or the fraction that has a
        measured one: `suspension(continuous="water", dispersed="toluene", fraction="10 % vol", temperature="20 degC")`.

        Args:
            asked: the parts, and how much or the measured speed; or its attributes, by name.
            options: whether estimates may be among the rows.
            given: the attributes of `SuspensionQuestion`.

        Raises:
            Problem: the parts mix, are gas, or are not known; a quantity is missing, wrong or outside.
        """
        from refdb.answer.suspension_answer import suspension
        from refdb.answer.suspension_question import SuspensionQuestion

        require_release_only(options, "suspensions are answered")
        question = asked if asked is not None else SuspensionQuestion(**given)
        return suspension(self, question, options, release or self.release())

    def _rows_of(self, release: ReleaseInfo) -> Rows:
        """Finds rows of any subject, estimates excepted."""

        def row(subject: str, property_id: str) -> PreparedRow:
            record = self.subject(subject, release)
            return self._permitted(record, property_id, None, SI, release).row

        return row

    def _permitted(
        self, subject: StoredRecord, property_id: str, condition: str | None, options: Options, release: ReleaseInfo
    ) -> RowText:
        """The row that answers, if it may: an estimate only where estimates are accepted."""
        text = self._row_text(subject, property_id, condition, release)
        if text.row.body["rung"] in ESTIMATE_RUNGS and not options.estimates:
            recipe = _recipe(property_id, subject)
            raise NotAvailable(
                f"{property_id}: nobody published it for {subject.id}; an estimate exists, and is given with "
                f"accept=estimates.{f' {recipe}.' if recipe is not None else ''}",
                parameter="property",
                estimate_available=True,
            )
        return text

    def _row_text(
        self, subject: StoredRecord, property_id: str, condition: str | None, release: ReleaseInfo
    ) -> RowText:
        row = f"{subject.id}.{property_id}" if condition is None else f"{subject.id}.{property_id}.{condition}"
        key = (row, release.ordinal)
        text = self._rows.get(key)
        if text is None:
            record = self.store.record(row, release)
            if record is None:
                raise self._no_row(subject, property_id, condition, release)
            sources = cited(self.store, record.body["inputs"], release)
            text = RowText(PreparedRow(record), _subject_reference(subject.body), sources, release.label)
            self._rows[key] = text
        return text

    def _no_row(self, subject: StoredRecord, property_id: str, condition: str | None, release: ReleaseInfo) -> Problem:
        rows = self.store.about(("recommended",), subject.id, release)
        if condition is not None:
            known = sorted(
                r.body["condition"] for r in rows if r.body["property"] == property_id and "condition" in r.body
            )
            way_out = (
                f"conditions told apart here are {', '.join(known)}"
                if known
                else "none are told apart here; leave it out"
            )
            problem: type[Problem] = NotAvailable if condition in conditions() else UnknownName
            return problem(
                f"condition: {property_id} of {subject.id} has no row for '{condition}'; {way_out}.",
                parameter="condition",
                given=condition,
                candidates=known,
            )
        readings = [
            r
            for r in self.store.about(PROPERTY_READING_KINDS, subject.id, release)
            if r.body["property"] == property_id
        ]
        seen = "no document seen so far prints one"
        if readings:
            seen = (
                f"none of its {len(readings)} reading(s) can be used (see `refdb readings {subject.id} {property_id}`)"
            )
        measure = _recipe(property_id, subject) or "Measure it"
        # What a mixture is asked for instead, where the text says so.
        note = f" {subject.body['note']}" if "note" in subject.body else ""
        return NotAvailable(
            f"{property_id}: release {release.label} advises no value for {subject.id}; {seen}. {measure}, or ask for "
            f"one of {', '.join(self._advised(subject, release, estimates=False)) or 'another subject'}.{note}",
            parameter="property",
            given=property_id,
            estimate_available=False,
        )

    def _nothing_advised(self, subject: StoredRecord, release: ReleaseInfo) -> NotAvailable:
        """The problem of a subject without any row that may answer."""
        estimated = self._advised(subject, release, estimates=True)
        kind = subject.body["subject_kind"]
        if estimated:
            way_out = f"Estimates of {', '.join(estimated)} exist, and are given with accept=estimates"
        else:
            way_out = next(recipe for of, recipe in RECIPES.values() if of == kind)
        note = f" {subject.body['note']}" if "note" in subject.body else ""
        return NotAvailable(
            f"subject: release {release.label} advises no value for {subject.id}. {way_out}.{note}",
            parameter="subject",
            given=subject.id,
            estimate_available=bool(estimated),
        )

    def _open_question(self, subject: StoredRecord, release: ReleaseInfo, options: Options) -> list[str]:
        """The properties an open question is about: those an engineer needs, then whatever else is advised."""
        kind = subject.body["subject_kind"]
        needed = [name for name, definition in properties().items() if kind in definition["asked_of"]]
        advised = self._advised(subject, release, estimates=options.estimates)
        kept = self._house().properties(subject.id) if options.house else []
        return list(dict.fromkeys([*needed, *advised, *kept]))

    def _advised(self, subject: StoredRecord, release: ReleaseInfo, *, estimates: bool) -> list[str]:
        """The properties that have a row; those that have nothing but an estimate only where it is accepted."""
        rows = self.store.about(("recommended",), subject.id, release)
        return sorted({row.body["property"] for row in rows if estimates or row.body["rung"] not in ESTIMATE_RUNGS})

    def check_property(self, property_id: str, subject: StoredRecord) -> None:
        """Nothing, if it is a property of that kind of subject.

        Raises:
            UnknownName: there is no such property.
            BadParameter: subjects of that kind have none such.
        """
        kind = subject.body["subject_kind"]
        asked = properties().get(property_id)
        if asked is not None and kind in asked["applies_to"]:
            return
        fitting = [name for name, definition in properties().items() if kind in definition["applies_to"]]
        if asked is None:
            near = likeliest(property_id, fitting)
            raise UnknownName(
                f"property: there is no property '{property_id}'; a {kind} has {', '.join(near or fitting)}.",
                parameter="property",
                given=property_id,
                candidates=near or fitting,
            )
        raise BadParameter(
            f"property: {property_id} is not a property of a {kind}, which {subject.id} is; a {kind} has "
            f"{', '.join(fitting)}.",
            parameter="property",
            given=property_id,
            accepted=fitting,
        )

    def _reading_document(self, record: StoredRecord, release: ReleaseInfo) -> dict[str, Any]:
        source = self.store.record(record.body["source"], release)
        return {
            "row": {"id": record.id, "digest": record.digest},
            **{key: value for key, value in as_printed(record.body).items() if key not in {"format", "id"}},
            "citation": citation(source.body) if source is not None else record.body["source"],
        }

    def _source_document(self, record: StoredRecord) -> dict[str, Any]:
        body: Mapping[str, Any] = record.body
        return {
            "key": record.id,
            "citation": citation(record.body),
            **{key: value for key, value in body.items() if key not in {"format", "id", "kind"}},
            "row": {"id": record.id, "digest": record.digest},
        }


def _recipe(property_id: str, subject: StoredRecord) -> str | None:
    """How a property is measured on site; None where there is no recipe."""
    kind, recipe = RECIPES.get(property_id, (None, None))
    return recipe if kind == subject.body["subject_kind"] else None


def _subject_reference(body: Mapping[str, Any]) -> dict[str, Any]:
    return {"id": body["id"], "kind": body["subject_kind"], "name": body["name"]}


def _checked_date(as_of: str | None) -> str | None:
    if as_of is None:
        return None
    try:
        return datetime.date.fromisoformat(as_of).isoformat()
    except ValueError:
        raise BadParameter(
            f"as_of: '{as_of}' is not a date; write it as 2026-11-25.", parameter="as_of", given=as_of
        ) from None


def _refused(problems: list[tuple[str, Problem]]) -> list[dict[str, Any]]:
    """The properties that could not be answered, each with its problem, as plain JSON values."""
    return [{"property": property_id, "problem": problem.document()} for property_id, problem in problems]


def _most_telling(problems: list[tuple[str, Problem]]) -> Problem:
    """The problem that says most when everything was refused: a wrong state before a value nobody published."""
    return min((problem for _, problem in problems), key=lambda problem: isinstance(problem, NotAvailable))
