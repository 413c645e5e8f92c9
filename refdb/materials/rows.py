"""What a release tells of every material at a temperature: numbers in SI with their covariance."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from refdb.lookup import ReleaseInfo, StoredRecord
from refdb.lookup.state import State
from refdb.problems import NotAvailable, OutsideRange, UnknownName
from refdb.units import units
from refdb.values.options import Options
from refdb.values.reader import Reader
from refdb.values.value import Answer, answer

if TYPE_CHECKING:
    from refdb.materials.documents import MatchReason


@dataclass(frozen=True, slots=True)
class MaterialRows:
    """Some properties of a material, in SI, in the order they were asked for."""

    record: StoredRecord
    answers: tuple[Answer, ...]

    @property
    def values(self) -> Any:
        """An array of the numbers."""
        return np.array([_si(found.evaluated.value, found) for found in self.answers])

    @property
    def uncertainties(self) -> Any:
        """An array of their standard uncertainties."""
        return np.array([_si(found.evaluated.standard_uncertainty, found, difference=True) for found in self.answers])

    @property
    def covariance(self) -> Any:
        """Their covariance: rows of one material err together, as far as they tell."""
        count = len(self.answers)
        correlation = np.eye(count)
        for one in range(count):
            told = self.answers[one].text.fixed.get("correlations", {})
            for other in range(count):
                if one != other:
                    correlation[one, other] = float(told.get(self.answers[other].row, "0"))
        sizes = self.uncertainties
        return correlation * sizes[:, None] * sizes[None, :]


def materials_at(
    reader: Reader, names: Sequence[str], state: State, options: Options, release: ReleaseInfo
) -> Iterator[MaterialRows | tuple[str, MatchReason]]:
    """Every material with all of the properties at a temperature, or its id with the reason why it has not."""
    for record in reader.store.of_kind("subject", release):
        if record.body["subject_kind"] == "material":
            found = rows_of(reader, record, names, state, options, release)
            yield (record.id, found) if isinstance(found, str) else found


def rows_of(
    reader: Reader, record: StoredRecord, names: Sequence[str], state: State, options: Options, release: ReleaseInfo
) -> MaterialRows | MatchReason:
    """The properties of one material at a temperature, or why they cannot be told."""
    answers = []
    for name in names:
        try:
            text = reader.permitted(record, name, None, options, release)
            if text.row.is_bounded:
                return "bound"
            evaluated = text.row.evaluate(State(state.celsius), needs_temperature=False)
        except OutsideRange:
            return "outside_range"
        except NotAvailable as problem:
            return "estimate" if problem.extensions.get("estimate_available") else "no_value"
        except UnknownName:
            return "no_value"
        answers.append(answer(text, evaluated, options.unit_for(name, text.row.unit)))
    return MaterialRows(record, tuple(answers))


def _si(number: Any, found: Answer, *, difference: bool = False) -> float:
    own = found.text.row.unit
    si = units().si(own.dimension)
    return float(own.difference_to(number, si) if difference else own.to(number, si))
