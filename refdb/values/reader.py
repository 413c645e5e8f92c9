"""The one place that finds a release, a subject in it, and the row that may answer for a property of it."""

from __future__ import annotations

import datetime
from copy import copy
from functools import lru_cache, partial

from refdb.lookup import ReleaseInfo, ReleaseStore, StoredRecord
from refdb.lookup.evaluate import PreparedRow
from refdb.lookup.find import subject_named
from refdb.lookup.state import State
from refdb.problems import BadParameter
from refdb.units import Quantity
from refdb.values.citation import cited
from refdb.values.layers import HouseLayer
from refdb.values.options import ESTIMATE_RUNGS, SI, Options
from refdb.values.refusals import no_row, only_an_estimate
from refdb.values.strength import Rows, with_mass_fraction
from refdb.values.subjects import subject_reference
from refdb.values.value import RowText

MOST_SUBJECTS = 4096
"""Spellings of subjects that are remembered; a name can be written in any number of ways."""


class Reader:
    """All releases, read-only, with one of them as the default.

    Attributes:
        store: the compiled releases.
        house: where house values come from; None without.
    """

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

    def beside(self, house: HouseLayer) -> Reader:
        """This reader with house values to answer from; what it has read is shared."""
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

    def subject(self, name: str, release: ReleaseInfo | None = None, kind: str | None = None) -> StoredRecord:
        """The subject with this exact name.

        Args:
            kind: `material` or `liquid` where only that kind of subject will do.

        Raises:
            UnknownName, AmbiguousName: no one subject is called so.
        """
        return self._subject_named(name, release or self.release(), kind)

    def row(self, subject: StoredRecord, property_id: str, condition: str | None, release: ReleaseInfo) -> RowText:
        """The row of a property, whatever it rests on.

        Raises:
            NotAvailable, UnknownName: the release has none, or none for the condition.
        """
        row = f"{subject.id}.{property_id}" if condition is None else f"{subject.id}.{property_id}.{condition}"
        key = (row, release.ordinal)
        text = self._rows.get(key)
        if text is None:
            record = self.store.record(row, release)
            if record is None:
                raise no_row(self.store, subject, property_id, condition, release)
            sources = cited(self.store, record.body["inputs"], release)
            text = RowText(PreparedRow(record), subject_reference(subject.body), sources, release.label)
            self._rows[key] = text
        return text

    def permitted(
        self, subject: StoredRecord, property_id: str, condition: str | None, options: Options, release: ReleaseInfo
    ) -> RowText:
        """The row of a property, if it may answer: an estimate only where estimates are accepted.

        Raises:
            NotAvailable, UnknownName: the release has none, or nothing but an estimate.
        """
        text = self.row(subject, property_id, condition, release)
        if text.row.body["rung"] in ESTIMATE_RUNGS and not options.estimates:
            raise only_an_estimate(property_id, subject, text.row.is_bounded)
        return text

    def published(self, release: ReleaseInfo) -> Rows:
        """Finds the rows of any subject by its name, estimates excepted."""

        def row(subject: str, property_id: str) -> PreparedRow:
            return self.permitted(self.subject(subject, release), property_id, None, SI, release).row

        return row

    def with_mass_fraction(self, subject: StoredRecord, state: State, release: ReleaseInfo) -> State:
        """The state with its strength as a mass fraction, whatever basis it was given on.

        Raises:
            Problem: the strength cannot be told as a mass fraction.
        """
        if not isinstance(state.strength, Quantity):
            return state
        return with_mass_fraction(state, subject.body, self.published(release))

    def house_layer(self) -> HouseLayer:
        """Where house values come from.

        Raises:
            BadParameter: no house store was opened beside the releases.
        """
        if self.house is None:
            raise BadParameter(
                "layers: no house store was opened beside the releases; open one, as in "
                "refdb.open(house=refdb.house.House(URL)).",
                parameter="layers",
            )
        return self.house


def _checked_date(as_of: str | None) -> str | None:
    if as_of is None:
        return None
    try:
        return datetime.date.fromisoformat(as_of).isoformat()
    except ValueError:
        raise BadParameter(
            f"as_of: '{as_of}' is not a date; write it as 2026-11-25.", parameter="as_of", given=as_of
        ) from None
