"""The database as a program uses it: what can be asked, each question handed on to the room that answers it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from copy import copy
from typing import TYPE_CHECKING, Any, Literal, overload

from refdb.evidence import provenance, sources
from refdb.liquids.measurement import LiquidQuestion
from refdb.lookup import ReleaseInfo, ReleaseStore, StoredRecord
from refdb.lookup.find import Found, find
from refdb.lookup.state import State, read_state
from refdb.onsite.ask import liquid_speed
from refdb.onsite.travel_time import LiquidSpeedQuestion, MeasuredLiquidSpeed
from refdb.pipes.lining import LiningAnswer, linings_of
from refdb.pipes.measurement import PipeQuestion
from refdb.pipes.pipe import PipeAnswer, one_pipe, pipe_with_id, pipes_anywhere, pipes_of
from refdb.pipes.roughness import RoughnessAnswer, roughness_of
from refdb.units import Quantity
from refdb.values.ask import batch_at, values_at
from refdb.values.batch import Batch
from refdb.values.layers import HouseLayer
from refdb.values.options import SI, Options, read_options, require_release_only
from refdb.values.reader import Reader
from refdb.values.subjects import subject_document, subjects
from refdb.values.value import Answer, Values

if TYPE_CHECKING:
    from refdb.evidence.documents import (
        AuditDocument,
        ChangesDocument,
        HistoryDocument,
        PipeAuditDocument,
        ProvenanceDocument,
        ReadingDocument,
        RowDocument,
        SourceDocument,
    )
    from refdb.liquids.match import LiquidMatch
    from refdb.liquids.match_state import StateMatch
    from refdb.liquids.strength_answer import StrengthAnswer
    from refdb.pipes.match import PipeMatch
    from refdb.suspensions.question import SuspensionQuestion
    from refdb.suspensions.suspension import SuspensionAnswer
    from refdb.values.documents import SubjectDocument

# What needs numpy, or looks at everything, is loaded by whoever asks for it, not by every command.

FIND_LIMIT = 20
MATCH_LIMIT = 20


class Database:
    """All releases, read-only, with one of them as the default. Every problem of a question is a `Problem`.

    Attributes:
        reader: finds releases, subjects and rows.
    """

    def __init__(self, reader: Reader) -> None:
        self.reader = reader

    @property
    def store(self) -> ReleaseStore:
        """The compiled releases."""
        return self.reader.store

    def beside(self, house: HouseLayer) -> Database:
        """This database with house values to answer from; what it has read is shared."""
        other = copy(self)
        other.reader = self.reader.beside(house)
        return other

    def release(self, label: str | None = None, as_of: str | None = None) -> ReleaseInfo:
        """The release a question is answered from: by label, or the newest cut on or before a UTC date."""
        return self.reader.release(label, as_of)

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
        state = read_state(temperature, pressure, salinity, strength)
        options = read_options(None, {property_id: unit} if unit else None, accept, layers)
        chosen = self.release(release, as_of)
        return self.values(
            subject, [property_id], state=state, condition=condition, options=options, release=chosen
        ).values[0]

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
        """Several properties of a subject at a state; see `refdb.values.ask.values_at`."""
        return values_at(
            self.reader,
            subject,
            property_ids,
            state=state,
            condition=condition,
            options=options,
            release=release,
            kind=kind,
        )

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
        """Properties of a subject at many states at once; see `refdb.values.ask.batch_at`."""
        return batch_at(
            self.reader, subject, property_ids, state=state, condition=condition, options=options, release=release
        )

    def subject(self, name: str, release: ReleaseInfo | None = None, kind: str | None = None) -> StoredRecord:
        """The subject with this exact name or designation."""
        return self.reader.subject(name, release, kind)

    def subjects(self, kind: str, release: ReleaseInfo | None = None) -> list[SubjectDocument]:
        """Every material or liquid with its names and the properties a release advises for it."""
        return subjects(self.store, kind, release or self.release())

    def subject_document(self, record: StoredRecord, release: ReleaseInfo) -> SubjectDocument:
        """A subject as plain JSON values: names, family, what is advised, how many readings there are."""
        return subject_document(self.store, record, release)

    def readings(
        self,
        subject: str,
        property_id: str | None = None,
        source: str | None = None,
        release: ReleaseInfo | None = None,
        kind: str | None = None,
    ) -> list[ReadingDocument]:
        """What each source says about a subject, as printed."""
        release = release or self.release()
        return sources.readings(self.store, self.subject(subject, release, kind), property_id, source, release)

    def sources(self, release: ReleaseInfo | None = None) -> list[SourceDocument]:
        """Every published document of a release."""
        return sources.sources(self.store, release or self.release())

    def source(self, key: str, release: ReleaseInfo | None = None) -> SourceDocument:
        """One document, and how many rows rest on it."""
        return sources.one_source(self.store, key, release or self.release())

    def find(self, text: str, limit: int = FIND_LIMIT, release: ReleaseInfo | None = None) -> list[Found]:
        """What fits a search text, best first."""
        return find(self.store, text, release or self.release(), limit)

    def pipe(self, system: str, size: str, designation: str | None = None, options: Options = SI) -> PipeAnswer:
        """One pipe in its standard's words, such as `pipe("b36.10", "NPS 8", "40")`."""
        return one_pipe(self.pipes(system, size, designation, options), size)

    def pipes(
        self,
        system: str | None,
        size: str | None = None,
        designation: str | None = None,
        options: Options = SI,
        release: ReleaseInfo | None = None,
    ) -> list[PipeAnswer]:
        """The pipes of a system (of all, without one), of a size, with a designation."""
        release = release or self.release()
        if system is None:
            return pipes_anywhere(self.store, size, designation, release, options)
        return pipes_of(self.store, system, size, designation, release, options)

    def pipe_row(self, pipe_id: str, options: Options = SI, release: ReleaseInfo | None = None) -> PipeAnswer:
        """The pipe with a row id such as `b36.10-nps-8-sch-40`."""
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
        """
        from refdb.pipes.ask import matched

        question = asked if asked is not None else PipeQuestion(**measured)
        return matched(self.reader, question, options, release or self.release(), limit)

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
        """
        from refdb.liquids.ask import matched

        question = asked if asked is not None else LiquidQuestion(**measured)
        return matched(self.reader, question, options, release or self.release(), limit)

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
        """
        question = asked if asked is not None else LiquidSpeedQuestion(**measured)
        return liquid_speed(self.reader, question, unit, release)

    def linings(
        self,
        system: str | None = None,
        size: str | None = None,
        material: str | None = None,
        options: Options = SI,
        release: ReleaseInfo | None = None,
    ) -> list[LiningAnswer]:
        """What standards line the pipes of a system and a size with."""
        return linings_of(self.store, system, size, material, release or self.release(), options)

    def roughness(
        self, material: str | None = None, options: Options = SI, release: ReleaseInfo | None = None
    ) -> list[RoughnessAnswer]:
        """The roughness of a material's surfaces."""
        return roughness_of(self.store, material, release or self.release(), options)

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
        """
        from refdb.liquids.strength_answer import strength_answer

        release = release or self.release()
        record = self.subject(subject, release, "liquid")
        state = read_state(temperature, strength=strength)
        return strength_answer(record, state, strength, to, self.reader.published(release), release)

    def with_mass_fraction(self, subject: StoredRecord, state: State, release: ReleaseInfo) -> State:
        """The state with its strength as a mass fraction, whatever basis it was given on."""
        return self.reader.with_mass_fraction(subject, state, release)

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
        """
        from refdb.suspensions.question import SuspensionQuestion
        from refdb.suspensions.suspension import suspension

        require_release_only(options, "suspensions are answered")
        question = asked if asked is not None else SuspensionQuestion(**given)
        return suspension(self.reader, question, options, release or self.release())

    def row(self, row: str, release: ReleaseInfo | None = None) -> RowDocument:
        """A released record with its digest."""
        return provenance.row_document(self.store, row, release or self.release())

    def provenance(self, row: str, release: ReleaseInfo | None = None) -> ProvenanceDocument:
        """The chain from a row to its sources."""
        return provenance.provenance(self.store, row, release or self.release())

    def history(self, row: str) -> HistoryDocument:
        """Every version of a row, with the releases it spans."""
        return provenance.history(self.store, row)

    def changes(self, label: str, since: str | None = None) -> ChangesDocument:
        """What a release changed since an older one; the one before it by default."""
        from refdb.evidence.changes import changes

        return changes(self.store, self.store.release(label), since)

    @overload
    def audit(self, scope: Literal["solids", "liquids"], release: ReleaseInfo | None = None) -> AuditDocument: ...

    @overload
    def audit(self, scope: Literal["pipes"], release: ReleaseInfo | None = None) -> PipeAuditDocument: ...

    @overload
    def audit(self, scope: str, release: ReleaseInfo | None = None) -> AuditDocument | PipeAuditDocument: ...

    def audit(self, scope: str, release: ReleaseInfo | None = None) -> AuditDocument | PipeAuditDocument:
        """What is suspicious in the evidence of a release on `solids`, `liquids` or `pipes`, the worst first."""
        from refdb.evidence.audit import audit

        return audit(self.store, scope, release or self.release())
