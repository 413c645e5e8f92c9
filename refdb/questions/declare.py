"""Declaring the fields of a question: their words, example and dimension lie in the metadata of a dataclass."""

from __future__ import annotations

import dataclasses
import inspect
from collections.abc import Set
from copy import copy
from functools import cache
from typing import Any, ClassVar, NamedTuple, TypeVar, dataclass_transform

Q = TypeVar("Q")
_KEY = "asked"


class Asked(NamedTuple):
    """One field of a question, for people and machines.

    Attributes:
        words: what it is, in sentences.
        example: a text that would be right.
        dimensions: of a quantity, what it may measure, by the ids of the vocabulary.
        default: what stands in where it is not given.
        repeatable: several may be given.
        pairs: written PROPERTY:UNIT; a mapping in JSON.
        choices: the only texts that are right.
        between: of a whole number, the least and the greatest.
        must_be: what a wrong one is told to be, where that is not plain.
        required: nothing is answered without it.
        checked: whether it is there is looked at by the room that answers, which says what to do.
        positional: an argument of the command, not an option.
        several_words: written there as any number of words.
        metavar: how the command line shows it, where its name does not say it.
        option: its name on the command line, where it has another there.
        part: its name as a part of a path of the service.
        parameter: its name in Python's methods, where it has another there.
        paging: lists come in pages over HTTP, and whole elsewhere: it is asked there alone.
        name: its own.
    """

    words: str
    example: str
    dimensions: tuple[str, ...] = ()
    default: Any = None
    repeatable: bool = False
    pairs: bool = False
    choices: tuple[str, ...] = ()
    between: tuple[int, int] | None = None
    must_be: str = ""
    required: bool = False
    checked: bool = False
    positional: bool = False
    several_words: bool = False
    metavar: str = ""
    option: str = ""
    part: str = ""
    parameter: str = ""
    paging: bool = False
    name: str = ""

    @property
    def described(self) -> str:
        """The words, with what the declaration says beside them in words of its own."""
        more = " Written PROPERTY:UNIT." if self.pairs else ""
        more += " May be repeated." if self.repeatable else ""
        if self.between is not None:
            more += f" From {self.between[0]} to {self.between[1]}."
        return self.words + more

    @property
    def needed(self) -> bool:
        """Whether a question without it is refused before it is asked."""
        return self.required and not self.checked

    @property
    def has_usual(self) -> bool:
        """Whether something stands in that can be told, where it is not given."""
        return isinstance(self.default, str | int)

    @property
    def whole(self) -> bool:
        """Whether it is a whole number, as its default is."""
        return isinstance(self.default, int)


def asked(words: str, example: str = "", *, dimension: str | tuple[str, ...] = (), **more: Any) -> Any:
    """Declare a field of a question; `Asked` says what can be told of it.

    What is neither required nor has a default is None, or nothing at all where several may be given.
    """
    dimensions = (dimension,) if isinstance(dimension, str) else dimension
    if more.get("repeatable"):
        more.setdefault("default", ())
    told = Asked(words, example, dimensions, **more)
    metadata = {_KEY: told}
    if told.needed:
        return dataclasses.field(metadata=metadata)
    return dataclasses.field(default=told.default, metadata=metadata)


def fields_of(question: type) -> tuple[Asked, ...]:
    """The fields of a question, in the order in which they are asked."""
    return _fields_of(question)


@cache
def _fields_of(question: type) -> tuple[Asked, ...]:
    return tuple(field.metadata[_KEY]._replace(name=field.name) for field in dataclasses.fields(question))


class Question:
    """What questions have in common: given by keyword, never changed, equal where the same is asked.

    (A frozen dataclass has five functions written for it. For all questions together that takes longer than to answer
    one of them, and every command would pay for it. For the same reason they have no slots: what is not given is read
    from the class.)
    """

    fields: ClassVar[Set[str]] = frozenset()
    needed: ClassVar[Set[str]] = frozenset()

    def __init__(self, **given: Any) -> None:
        if not (given.keys() <= self.fields and self.needed <= given.keys()):
            raise TypeError(
                f"{type(self).__name__}: needs {', '.join(sorted(self.needed)) or 'nothing'}, and takes "
                f"{', '.join(sorted(self.fields))}; {', '.join(given) or 'nothing'} is given"
            )
        self.__dict__.update(given)

    def __setattr__(self, name: str, value: object) -> None:
        raise dataclasses.FrozenInstanceError(f"{type(self).__name__}.{name} cannot be changed")

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Question) and type(self) is type(other) and self._told() == other._told()

    __hash__ = None  # type: ignore[assignment]

    def __repr__(self) -> str:
        return f"{type(self).__name__}({', '.join(f'{name}={one!r}' for name, one in vars(self).items())})"

    def _told(self) -> dict[str, Any]:
        return {name: getattr(self, name) for name in self.fields}


def checked(question: type[Q], given: dict[str, Any]) -> Q:
    """A question whose fields have been checked against its declaration already, made without checking them again."""
    made = object.__new__(question)
    made.__dict__.update(given)
    return made


@dataclass_transform(kw_only_default=True, frozen_default=True)
def group(cls: type[Q]) -> type[Q]:
    """Fields that several questions share: a question inherits them. It has no objects of its own."""
    return cls


@dataclass_transform(kw_only_default=True, frozen_default=True)
def question(cls: type[Q]) -> type[Q]:
    """Make a question of a class and the groups it inherits: a dataclass that does what a `Question` does.

    Its positional fields come first, those of groups before its own; then its own; then those of the groups, in order.
    """
    own = inspect.get_annotations(cls)
    shared: dict[str, Any] = {}
    for base in cls.__mro__[1:]:
        if base is not Question and not dataclasses.is_dataclass(base):
            for name, kind in inspect.get_annotations(base).items():
                if name not in own and name not in shared:
                    shared[name] = kind
                    # Dataclasses write the name of the class into what declares its field.
                    setattr(cls, name, copy(getattr(base, name)))

    def place(name: str) -> int:
        positional = getattr(cls, name).metadata[_KEY].positional
        return (0 if name in shared else 1) if positional else 2

    cls.__annotations__ = {name: (own | shared)[name] for name in sorted([*own, *shared], key=place)}
    made: Any = dataclasses.dataclass(init=False, repr=False, eq=False, kw_only=True)(cls)
    told = dataclasses.fields(made)
    made.fields = frozenset(field.name for field in told)
    made.needed = frozenset(field.name for field in told if field.default is dataclasses.MISSING)
    return cls
