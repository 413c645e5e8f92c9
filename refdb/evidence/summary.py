"""The chain from a row to its documents in a short paragraph of plain sentences."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from refdb.evidence.evidence_words import (
    BASIS_WORDS,
    RUNG_WORDS,
    SEEN_WORDS,
    about,
    counted,
    listed,
    named,
    property_of,
    range_sentence,
    uncertainty_sentence,
    value_words,
)
from refdb.evidence.printed import printed_words, temperature_words
from refdb.lookup import ReleaseInfo, ReleaseStore, StoredRecord
from refdb.units.readable import readable
from refdb.values.citation import citation

Step = Mapping[str, Any]

MEMORY = "memory"
TEMPERATURE_SLOPE = "temperature slope"
BOUNDS = ("where the liquid ", "where the solution ", "water's: the solution boils")
"""How the notes begin of inputs that say where the row ends, and nothing of its value."""


class Around(NamedTuple):
    """What a paragraph needs beside the chain: the release, and the rows that rest on the one asked about."""

    store: ReleaseStore
    release: ReleaseInfo
    resting: Sequence[tuple[str, str]]


def summary(record: StoredRecord, chain: Step, around: Around) -> list[str]:
    """What was printed by whom, what was left out and why, which rule made the value of it, and what limits it.

    Args:
        record: the row that was asked about.
        chain: the same row as the first step of its chain.
    """
    usual = _of_recommended if "rule" in chain else _of_reading
    sentences = _SENTENCES.get(record.body["kind"], usual)
    return list(sentences(record.body, chain, around))


def _of_recommended(body: Mapping[str, Any], chain: Step, around: Around) -> Iterator[str]:
    roles = _Roles.of(chain["inputs"])
    evidence = list(_readings_below(roles.made_of))
    yield from _made_of_sentences(body, roles, evidence, around)
    yield _left_out_sentence(list(_left_out_below(chain)))
    rule = chain["rule"]
    yield f"By rule {rule['name']} ({rule['sentence']}) this gives {value_words(body)}."
    if body.get("bound") == "lower":
        yield "It is a lower bound, not a value."
    yield uncertainty_sentence(chain)
    yield f"{_standing_words(body)}; {_seen_words(evidence)}."
    yield from range_sentence(body)


class _Roles(NamedTuple):
    """The inputs of a row by what they are for."""

    made_of: list[Step]
    slope: list[Step]
    compared: list[Step]

    @classmethod
    def of(cls, inputs: Iterable[Step]) -> _Roles:
        roles = cls([], [], [])
        for entry in inputs:
            note = entry.get("note", "")
            if entry.get("weight") == "0":
                roles.compared.append(entry)
            elif note == TEMPERATURE_SLOPE:
                roles.slope.append(entry)
            elif not note.startswith(BOUNDS):
                roles.made_of.append(entry)
        return roles


def _readings_below(entries: Iterable[Step]) -> Iterator[Step]:
    """The readings of which rows were made, down to the last; what was only compared is none of them."""
    for entry in entries:
        if "inputs" in entry:
            yield from _readings_below(_Roles.of(entry["inputs"]).made_of)
        elif "source" in entry:
            yield entry


def _made_of_sentences(
    body: Mapping[str, Any], roles: _Roles, evidence: Sequence[Step], around: Around
) -> Iterator[str]:
    subject = about(body, around.store, around.release, first=True)
    rows = [entry for entry in roles.made_of if "rule" in entry]
    readings = [entry for entry in roles.made_of if "rule" not in entry]
    documents = _evidence_words(evidence)
    if rows:
        names = listed([_row_words(entry, around) for entry in rows])
        beside = f" and of {counted(len(readings), 'reading')}" if readings else ""
        yield f"{subject} is made of {counted(len(rows), 'other row')}{beside}: {names}."
        these = "That row rests" if len(rows) == 1 and not readings else "All of it rests"
        yield f"{these} on {documents}."
    else:
        yield f"{subject} rests on {documents}."
    for entries, told in (
        (roles.slope, "Its temperature slope is from"),
        (roles.compared, "It was compared, without giving them weight, with"),
    ):
        below = [*_readings_below(entries)]
        others = [entry for entry in entries if "rule" in entry]
        if below and not others:
            yield f"{told} {_evidence_words(below)}."
        elif entries:
            yield f"{told} {counted(len(entries), 'other row', 'readings and rows')}."


def _row_words(entry: Step, around: Around) -> str:
    result = entry["result"]
    words = about(result, around.store, around.release)
    if "value" not in entry:
        return words
    return f"{words} ({readable(float(entry['value']), property_of(result)['si'])})"


def _bases_words(evidence: Iterable[Step]) -> str:
    bases = Counter(entry["basis"] for entry in _once(evidence))
    if len(bases) == 1:
        return BASIS_WORDS[next(iter(bases))]
    return named((f"{count} {BASIS_WORDS[basis]}" for basis, count in bases.most_common()))


def _once(evidence: Iterable[Step]) -> Iterable[Step]:
    return {entry["row"]["id"]: entry for entry in evidence}.values()


def _evidence_words(evidence: Sequence[Step]) -> str:
    """`7 readings, measured, in 5 independent documents: A (1972); B (1988); C; and 2 more`; those that count most come
    first."""
    printed = [entry for entry in evidence if entry["seen"] != MEMORY]
    recalled = counted(len({entry["row"]["id"] for entry in evidence if entry["seen"] == MEMORY}), "reading")
    if not printed:
        return f"{recalled} that nobody saw in print, written down from memory"
    weights: dict[str, float] = {}
    sources: dict[str, Mapping[str, Any]] = {}
    for entry in printed:
        source = entry["source"]
        sources[source["key"]] = source
        weights[source["key"]] = weights.get(source["key"], 0.0) + float(entry.get("weight", 0.0))
    ordered = sorted(sources, key=lambda key: -weights[key])
    lineages = {source.get("lineage", key) for key, source in sources.items()}
    copies = f" ({len(sources)} counting those that copied)" if len(lineages) < len(sources) else ""
    names = listed([sources[key].get("short_citation", key) for key in ordered])
    readings = counted(len({entry["row"]["id"] for entry in printed}), "reading")
    told = f"{readings}, {_bases_words(printed)}, in {counted(len(lineages), 'independent document')}{copies}: {names}"
    return told if len(printed) == len(evidence) else f"{told}; and on {recalled} from memory"


_CODED = re.compile(r"(?P<code>misprint|suspect|wrong-kind|unclear-basis|withdrawn|outlier): ")
_CODE_WORDS = {
    "misprint": "misprinted",
    "suspect": "suspect",
    "wrong-kind": "of the wrong kind",
    "unclear-basis": "of unclear basis",
    "withdrawn": "of a withdrawn document",
    "outlier": "far from all others",
}


def reason_words(reason: str) -> str:
    """The kind of a reason for which a reading was left out; its numbers stand in the chain."""
    coded = _CODED.match(reason)
    if coded is not None:
        return _CODE_WORDS[coded["code"]]
    if reason.startswith("shares its origin with "):
        return "of the same origin as another"
    name, gives_way, _ = reason.partition(", which gives way to ")
    if gives_way:
        return f"of a class that gives way ({name})"
    place = re.fullmatch(r"at .+, which is (?P<what>not .+)", reason)
    return place["what"].replace("not room", "not at room") if place is not None else reason


def _left_out_below(step: Step) -> Iterator[Step]:
    """What was left out of a row and of the rows of which it is made."""
    yield from step["left_out"]
    for entry in _Roles.of(step["inputs"]).made_of:
        if "rule" in entry:
            yield from _left_out_below(entry)


def _left_out_sentence(left_out: Sequence[Step]) -> str:
    readings = {entry["row"]["id"]: reason_words(entry["reason"]) for entry in left_out}
    if not readings:
        return "No reading was left out."
    reasons = Counter(readings.values())
    were = f"Left out {'was' if len(readings) == 1 else 'were'} {counted(len(readings), 'reading')}"
    if len(reasons) == 1:
        return f"{were}: {next(iter(reasons))}."
    return f"{were}: {'; '.join(f'{count} {words}' for words, count in reasons.most_common())}."


def _standing_words(body: Mapping[str, Any]) -> str:
    return f"Its basis is '{body['basis']}' and its rung '{body['rung']}': {RUNG_WORDS[body['rung']]}"


def _seen_words(evidence: Sequence[Step]) -> str:
    ways = Counter(entry["seen"] for entry in _once(evidence))
    told = named(f"{SEEN_WORDS[way]} ({count})" if len(ways) > 1 else SEEN_WORDS[way] for way, count in ways.items())
    sources = {entry["source"]["key"]: entry["source"] for entry in evidence}
    checked = sum(1 for source in sources.values() if source.get("checked_by"))
    by_whom = f"the readings of {checked} of {len(sources)} documents" if checked else "nothing of it"
    if set(ways) == {MEMORY}:
        return f"{by_whom} has been read a second time"
    return f"what it rests on was seen {told}, and {by_whom} {'have' if checked else 'has'} been read a second time"


def _of_reading(body: Mapping[str, Any], chain: Step, around: Around) -> Iterator[str]:
    yield _printed_sentence(body, chain, about(body, around.store, around.release))
    converted = chain["converted"]
    if converted is not None and converted["by"] != "as printed":
        middle = ", in the middle," if body["kind"] == "range" else ""
        yield f"That is{middle} {readable(converted['magnitude'], converted['unit'])}."
    for correction in chain["corrections"]:
        yield f"It is corrected to {correction['corrected']} ({correction['status']}): {_ended(correction['reason'])}"
    for flag in chain["flags"]:
        noted = flag["code"] == "note"
        doubt = "It carries a note" if noted else f"It is doubted ({flag['code']}) and goes into nothing"
        yield f"{doubt}: {_ended(flag['text'])}"
    if body["seen"] != MEMORY:
        yield f"It was seen {SEEN_WORDS[body['seen']]}."
        yield _seen_at(chain["source"])
    yield _resting_sentence(around.resting)


def _printed_sentence(body: Mapping[str, Any], chain: Step, of_what: str) -> str:
    """What a reading says, from which document, and where in it."""
    printed = printed_words(chain["printed"])
    if body["seen"] == MEMORY:
        return f"Nobody saw this in print: {printed} for {of_what} was written down from memory."
    cited = chain["source"].get("short_citation", chain["source"]["key"])
    temperature = temperature_words(body.get("state", {}))
    state = f", temperature {temperature}," if temperature else ""
    if body["basis"] == "computed":
        return f"From {cited} was computed {printed} for {of_what}{state} at {chain['locator']}."
    basis = BASIS_WORDS[body["basis"]]
    return f"{cited} prints {printed} for {of_what}{state} at {chain['locator']}; it is {basis}."


def _seen_at(source: Mapping[str, Any]) -> str:
    if "seen_at" not in source:
        return "Its document is not in the release."
    checked = source.get("checked_by") or "nobody yet"
    return (
        f"The document was seen on {source['seen_on']} at: {_ended(source['seen_at'])} It was transcribed by "
        f"{source['transcribed_by']} and checked by {checked}."
    )


def _of_source(body: Mapping[str, Any], _chain: Step, around: Around) -> Iterator[str]:
    if body["type"] == MEMORY:
        yield f"This stands for what was written down from memory, without a document: {_ended(body['title'])}"
    else:
        yield f"This is a document ({body['type']}): {_ended(citation(body))}"
    if body["type"] != MEMORY:
        yield _seen_at(body)
    if "withdrawn" in body:
        yield f"It was withdrawn on {body['withdrawn']['on']}: {_ended(body['withdrawn']['reason'])}"
    if "lineage" in body:
        yield f"It counts once together with the other documents of the lineage '{body['lineage']}'."
    yield f"{counted(len(around.resting), 'reading')} of the release {_verb(len(around.resting), 'come')} from it."


def _of_subject(body: Mapping[str, Any], _chain: Step, around: Around) -> Iterator[str]:
    yield f"{body['name']} is a {body['subject_kind']} of the family '{body['family']}'; no document stands behind it."
    yield f"{counted(len(around.resting), 'row')} of the release {_verb(len(around.resting), 'be')} about it."


def _of_designation(body: Mapping[str, Any], _chain: Step, around: Around) -> Iterator[str]:
    subject = around.store.record(body["subject"], around.release)
    name = subject.body["name"] if subject is not None else body["subject"]
    yield f"'{body['text']}' ({body['designation_kind']}) is a name of {name}."
    source = around.store.record(body["source"], around.release) if "source" in body else None
    if source is None:
        yield "No document is named for it."
    else:
        yield f"It is found in {_ended(citation(source.body))} At: {_ended(body.get('locator', 'no place told'))}"
        yield _seen_at(source.body)


def _resting_sentence(resting: Sequence[tuple[str, str]]) -> str:
    roles = Counter(role for _, role in resting)
    if not resting:
        return "No row of the release rests on it."
    left_out = f"; {counted(roles['left out'], 'row')} left it out" if roles["left out"] else ""
    resting_on_it = counted(roles["input"], "row") if roles["input"] else "No row"
    return f"{resting_on_it} of the release {_verb(max(1, roles['input']), 'rest')} on it{left_out}."


def _verb(count: int, verb: str) -> str:
    """A verb of the present tense, for one or for several."""
    if verb == "be":
        return "is" if count == 1 else "are"
    return f"{verb}s" if count == 1 else verb


def _ended(text: str) -> str:
    """A text that ends a sentence."""
    return text if text.endswith((".", "!", "?", "…")) else f"{text}."


_SENTENCES: dict[str, Callable[[Mapping[str, Any], Step, Around], Iterator[str]]] = {
    "source": _of_source,
    "subject": _of_subject,
    "designation": _of_designation,
}
