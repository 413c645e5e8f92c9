"""The database as a program uses it: what can be asked, each question handed on to the room that answers it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from copy import copy
from typing import TYPE_CHECKING, Any, Literal, overload

from refdb.evidence import provenance, sources
from refdb.evidence import question as about_evidence
from refdb.liquids.question import LiquidQuestion, MatchLiquidQuestion, StrengthQuestion
from refdb.lookup import ReleaseInfo, ReleaseStore, StoredRecord
from refdb.lookup.find import Found, find
from refdb.lookup.state import State
from refdb.materials.question import (
    MatchMaterialQuestion,
    MaterialMeasured,
    MaterialQuestion,
    UnlistedMaterialQuestion,
    UnlistedQuestion,
)
from refdb.onsite.ask import liquid_speed
from refdb.onsite.question import LiquidSpeedQuestion
from refdb.onsite.travel_time import MeasuredLiquidSpeed
from refdb.pipes import question as about_pipes
from refdb.pipes.lining import LiningAnswer, linings_of
from refdb.pipes.pipe import PipeAnswer, one_pipe, pipe_with_id, pipes_of
from refdb.pipes.roughness import RoughnessAnswer, roughness_of
from refdb.questions.groups import SHORT_LIST
from refdb.questions.methods import asks
from refdb.suspensions.question import SuspensionQuestion
from refdb.units import Quantity
from refdb.values.ask import batch_at, value_of, values_at
from refdb.values.batch import Batch
from refdb.values.layers import HouseLayer
from refdb.values.options import SI, Options, require_release_only
from refdb.values.question import FindQuestion, ValueQuestion
from refdb.values.reader import Reader
from refdb.values.subjects import subjects
from refdb.values.value import Answer, Values

if TYPE_CHECKING:
    from refdb.evidence import documents as told
    from refdb.liquids.match import LiquidMatch
    from refdb.liquids.match_state import StateMatch
    from refdb.liquids.strength_answer import StrengthAnswer
    from refdb.materials.match import MaterialMatch
    from refdb.materials.question import MaterialDescribed
    from refdb.materials.unlisted import Unlisted
    from refdb.pipes.match import PipeMatch
    from refdb.suspensions.answer import SuspensionAnswer
    from refdb.values.documents import SubjectDocument

# What needs numpy, or looks at everything, is loaded by whoever asks for it, not by every command.


class Database:
    """All releases, read-only, with one of them as the default. Every problem of a question is a `Problem`.

    `help` of a method tells what it asks. `refdb.values.options.read_options` makes the `options` of a method of units,
    estimates and layers, the method `release` finds its `release`.

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

    @asks(ValueQuestion)
    def value(self, subject: str, property_id: str, **given: Any) -> Answer:
        """One property of a subject at a state; a `Quantity` of the state may hold a numpy array.

        Raises:
            Problem: the question cannot be answered as asked; its sentence says why, and the way out.
        """
        return value_of(self.reader, ValueQuestion(subject=subject, property=property_id, **given))

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
        return values_at(self.reader, subject, property_ids, state, condition, options, release, kind)

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
        return batch_at(self.reader, subject, property_ids, state, condition, options, release)

    def subject(self, name: str, release: ReleaseInfo | None = None, kind: str | None = None) -> StoredRecord:
        """The subject with this exact name or designation."""
        return self.reader.subject(name, release, kind)

    def subjects(self, kind: str, release: ReleaseInfo | None = None) -> list[SubjectDocument]:
        """Every material or liquid with its names and the properties a release advises for it."""
        return subjects(self.store, kind, release or self.release())

    @asks(about_evidence.ReadingsQuestion)
    def readings(
        self,
        subject: str,
        property_id: str | None = None,
        source: str | None = None,
        release: ReleaseInfo | None = None,
        kind: str | None = None,
    ) -> list[told.ReadingDocument]:
        """What each source says about a subject, as printed."""
        release = release or self.release()
        return sources.readings(self.store, self.subject(subject, release, kind), property_id, source, release)

    def sources(self, release: ReleaseInfo | None = None) -> list[told.SourceDocument]:
        """Every published document of a release."""
        return sources.sources(self.store, release or self.release())

    @asks(about_evidence.SourceQuestion)
    def source(self, key: str, release: ReleaseInfo | None = None) -> told.SourceDocument:
        """One document, and how many rows rest on it."""
        return sources.one_source(self.store, key, release or self.release())

    @asks(FindQuestion)
    def find(self, text: str, limit: int = SHORT_LIST, release: ReleaseInfo | None = None) -> list[Found]:
        """What fits a search text, best first."""
        return find(self.store, text, release or self.release(), limit)

    @asks(about_pipes.PipesQuestion)
    def pipe(self, system: str, size: str, designation: str | None = None, options: Options = SI) -> PipeAnswer:
        """One pipe in its standard's words, such as `pipe("b36.10", "NPS 8", "40")`."""
        return one_pipe(self.pipes(system, size, designation, options), size)

    @asks(about_pipes.PipesQuestion)
    def pipes(
        self,
        system: str | None,
        size: str | None = None,
        designation: str | None = None,
        options: Options = SI,
        release: ReleaseInfo | None = None,
    ) -> list[PipeAnswer]:
        """The pipes of a system (of all, without one), of a size, with a designation."""
        return pipes_of(self.store, system, size, designation, release or self.release(), options)

    @asks(about_pipes.PipeRowQuestion)
    def pipe_row(self, pipe_id: str, options: Options = SI, release: ReleaseInfo | None = None) -> PipeAnswer:
        """The pipe with a row id such as `b36.10-nps-8-sch-40`."""
        return pipe_with_id(self.store, pipe_id, release or self.release(), options)

    @asks(about_pipes.MatchPipeQuestion)
    def match_pipe(
        self,
        asked: about_pipes.PipeQuestion | None = None,
        *,
        options: Options = SI,
        release: ReleaseInfo | None = None,
        limit: int = SHORT_LIST,
        **measured: Any,
    ) -> PipeMatch:
        """Which pipes it can be: `match_pipe(circumference="690 mm", wall="8.1 mm", material="carbon steel")`."""
        from refdb.pipes.ask import matched

        question = asked if asked is not None else about_pipes.PipeQuestion(**measured)
        return matched(self.reader, question, options, release or self.release(), limit)

    @asks(MatchLiquidQuestion)
    def match_liquid(
        self,
        asked: LiquidQuestion | None = None,
        *,
        options: Options = SI,
        release: ReleaseInfo | None = None,
        limit: int = SHORT_LIST,
        **measured: Any,
    ) -> LiquidMatch | StateMatch:
        """The way back from a sound speed: `match_liquid(sound_speed="1482 m/s", temperature="20 degC")`."""
        from refdb.liquids.ask import matched

        question = asked if asked is not None else LiquidQuestion(**measured)
        return matched(self.reader, question, options, release or self.release(), limit)

    @asks(MatchMaterialQuestion)
    def match_material(
        self,
        asked: MaterialMeasured | None = None,
        *,
        options: Options = SI,
        release: ReleaseInfo | None = None,
        limit: int = SHORT_LIST,
        **measured: Any,
    ) -> MaterialMatch:
        """Which materials it can be: `match_material(longitudinal_speed="5740 m/s", shear_speed="3120 m/s")`."""
        from refdb.materials.match import matched

        question = asked if asked is not None else MaterialQuestion(**measured)
        return matched(self.reader, question, options, release or self.release(), limit)

    @asks(UnlistedMaterialQuestion)
    def unlisted_material(
        self,
        asked: MaterialDescribed | None = None,
        *,
        options: Options = SI,
        release: ReleaseInfo | None = None,
        **known: Any,
    ) -> Unlisted:
        """What follows for a material in no list: `unlisted_material(like="stainless-316", density="8.1 g/cm3")`."""
        from refdb.materials.unlisted import unlisted

        question = asked if asked is not None else UnlistedQuestion(**known)
        return unlisted(self.reader, question, options, release or self.release())

    @asks(LiquidSpeedQuestion)
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
        water of the release; in a `unit`.
        """
        question = asked if asked is not None else LiquidSpeedQuestion(**measured)
        return liquid_speed(self.reader, question, unit, release)

    @asks(about_pipes.LiningsQuestion)
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

    @asks(about_pipes.RoughnessQuestion)
    def roughness(
        self, material: str | None = None, options: Options = SI, release: ReleaseInfo | None = None
    ) -> list[RoughnessAnswer]:
        """The roughness of a material's surfaces."""
        return roughness_of(self.store, material, release or self.release(), options)

    @asks(StrengthQuestion)
    def strength(
        self, subject: str, strength: str | Quantity, *, release: ReleaseInfo | None = None, **given: Any
    ) -> StrengthAnswer:
        """The strength of a solution on other bases: `strength("ethanol-water", "40 % ABV", to="% mass")`."""
        from refdb.liquids.strength_answer import strength_answer

        asked = StrengthQuestion(subject=subject, strength=strength, **given)
        return strength_answer(self.reader, asked, release or self.release())

    @asks(SuspensionQuestion)
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
        """
        from refdb.suspensions.suspension import suspension

        require_release_only(options, "suspensions are answered")
        question = asked if asked is not None else SuspensionQuestion(**given)
        return suspension(self.reader, question, options, release or self.release())

    @asks(about_evidence.RowQuestion)
    def row(self, row: str, release: ReleaseInfo | None = None) -> told.RowDocument:
        """A released record with its digest."""
        return provenance.row_document(self.store, row, release or self.release())

    @asks(about_evidence.RowQuestion)
    def provenance(self, row: str, release: ReleaseInfo | None = None) -> told.ProvenanceDocument:
        """The chain from a row to its sources."""
        return provenance.provenance(self.store, row, release or self.release())

    @asks(about_evidence.HistoryQuestion)
    def history(self, row: str) -> told.HistoryDocument:
        """Every version of a row, with the releases it spans."""
        return provenance.history(self.store, row)

    @asks(about_evidence.ChangesQuestion)
    def changes(self, label: str, since: str | None = None) -> told.ChangesDocument:
        """What a release changed since an older one; the one before it by default."""
        from refdb.evidence.changes import changes

        return changes(self.store, self.store.release(label), since)

    @overload
    def audit(self, scope: Literal["solids", "liquids"], release: ReleaseInfo | None = None) -> told.AuditDocument: ...

    @overload
    def audit(self, scope: str, release: ReleaseInfo | None = None) -> told.AuditDocument | told.PipeAuditDocument: ...

    @asks(about_evidence.AuditQuestion)
    def audit(self, scope: str, release: ReleaseInfo | None = None) -> told.AuditDocument | told.PipeAuditDocument:
        """What is suspicious in the evidence of a release on `solids`, `liquids` or `pipes`, the worst first."""
        from refdb.evidence.audit import audit

        return audit(self.store, scope, release or self.release())
