"""Whether the documents, materials and classes that the rules about solids name are there."""

from __future__ import annotations

from collections.abc import Container, Iterator

from refdb.recommend.policy import Policy


def wrong_names(policy: Policy, subjects: Container[str], documents: Container[str]) -> Iterator[str]:
    """What is named and not there, a sentence each."""
    classes = {entry.name for entry in policy.evidence}
    for entry in policy.evidence:
        absent = [name for name in entry.documents if name not in documents]
        yield from (_no("document", name, f"evidence '{entry.name}'") for name in absent)
        better = [name for name in entry.gives_way_to if name not in classes]
        yield from (_no("class of evidence", name, f"evidence '{entry.name}'") for name in better)
    for width in policy.class_widths:
        if width.name not in classes:
            yield _no("class of evidence", width.name, "class_width")
    pairs = [pair.documents for pair in policy.shared_lineages] + [pair.documents for pair in policy.apart]
    for name in (name for pair in pairs for name in pair):
        if name not in documents:
            yield _no("document", name, "shared_lineage or apart")
    for kin in policy.dilute:
        named = (kin.of, *kin.subjects)
        yield from (_no("subject", name, f"dilute of '{kin.of}'") for name in named if name not in subjects)


def _no(kind: str, name: str, where: str) -> str:
    return f"sources/rules: {where}: there is no {kind} '{name}'; correct the name, or take it out"
