"""What a sheet is put together from, for paper and for a terminal alike: every figure is words here already."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell of a table; `sources` are the numbers of documents in the list at the end."""

    text: str
    sources: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Heading:
    """The heading of a section."""

    text: str


@dataclass(frozen=True, slots=True)
class Paragraph:
    """A paragraph; `kind` is `plain`, `short` (carried to the pipe) or `title`."""

    text: str
    kind: str = "plain"


@dataclass(frozen=True, slots=True)
class Points:
    """A list; `kind` is `plain`, `small`, or `mind` for what must not be overlooked; numbered where `numbered`."""

    items: Sequence[str]
    kind: str = "plain"
    numbered: bool = False


@dataclass(frozen=True, slots=True)
class Frame:
    """A frame that cannot be overlooked."""

    title: str
    items: Sequence[str]
    kind: str = "caution"


@dataclass(frozen=True, slots=True)
class Tabulation:
    """A table.

    Attributes:
        figures: the columns that hold numbers.
        chosen: the row that is worked on.
    """

    heads: Sequence[str]
    rows: Sequence[Sequence[str | Cell]]
    figures: Sequence[int] = ()
    chosen: int = -1


@dataclass(frozen=True, slots=True)
class Drawing:
    """A picture by its name, which a terminal tells of and does not show."""

    name: str


Part = Heading | Paragraph | Points | Frame | Tabulation | Drawing


@dataclass
class Sheet:
    """A whole sheet: its title, the paper it is for, and its parts in order."""

    title: str
    parts: list[Part] = field(default_factory=list)

    def section(self, title: str, *parts: Part | None) -> None:
        """Add a section, unless nothing is in it."""
        inside = [part for part in parts if part is not None and not _empty(part)]
        if inside:
            self.parts += [Heading(title), *inside]


def _empty(part: Part) -> bool:
    return (isinstance(part, Points) and not part.items) or (isinstance(part, Tabulation) and not part.rows)
