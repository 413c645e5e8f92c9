"""Where documents lie: one folder each, in groups by how they were seen."""

from __future__ import annotations

from collections.abc import Iterator
from difflib import get_close_matches
from pathlib import Path

from refdb.problems import UnknownName

GROUPS: dict[str, frozenset[str]] = {
    "read": frozenset({"original"}),
    "pages": frozenset({"reproduction", "library"}),
    "programs": frozenset({"reproduction", "library"}),
    "computed": frozenset({"library"}),
    "archives": frozenset({"archive"}),
    "cited": frozenset(),
    "memory": frozenset({"memory"}),
}
"""The groups of `sources/documents/`, and how the readings in each were seen; `sources/README.md` explains them."""

RECORD = "source.toml"


def documents_folder(text_root: Path) -> Path:
    """Where the groups lie."""
    return text_root / "sources" / "documents"


def document_folders(text_root: Path) -> list[Path]:
    """The folder of every document, by key.

    A folder in a group, or in a collection within one (such as `computed/coolprop/`), is a document's; it should hold
    `source.toml`.
    """
    parent = documents_folder(text_root)
    groups = sorted(folder for folder in parent.iterdir() if folder.is_dir()) if parent.is_dir() else []
    return sorted((folder for group in groups for folder in _documents(group)), key=lambda folder: folder.name)


def folder_of(text_root: Path, key: str) -> Path:
    """The folder of a document.

    Raises:
        UnknownName: the text has no such document.
    """
    folders = {folder.name: folder for folder in document_folders(text_root)}
    if key not in folders:
        near = get_close_matches(key, folders, n=3)
        meant = f"; the nearest keys are {', '.join(near)}" if near else ""
        raise UnknownName(
            f"key: there is no document '{key}' in the text{meant}.", parameter="key", given=key, candidates=near
        )
    return folders[key]


def group_of(folder: Path, text_root: Path) -> str:
    """The group in which a document's folder lies."""
    return folder.relative_to(documents_folder(text_root)).parts[0]


def misplaced(folder: Path, text_root: Path, seen: str | None) -> Iterator[tuple[str, str]]:
    """The fault of a document that lies in the wrong group, if it does.

    Args:
        seen: how its readings were seen, where its record says that of all of them.
    """
    group = group_of(folder, text_root)
    readings = any(file.name != RECORD for file in folder.iterdir())
    if group not in GROUPS:
        yield "folder", f"'{group}' is no group of documents; move it to one of {', '.join(GROUPS)}"
    elif not readings and group != "cited":
        yield "folder", "holds no readings; move it to cited/"
    elif readings and seen is not None and seen not in GROUPS[group]:
        fitting = " or ".join(f"{name}/" for name, kinds in GROUPS.items() if seen in kinds)
        yield "folder", f"lies in {group}/, but its readings were seen as '{seen}'; move it to {fitting}"


def _documents(parent: Path) -> Iterator[Path]:
    for folder in sorted(parent.iterdir()):
        if folder.is_dir():
            if not (folder / RECORD).is_file() and any(inner.is_dir() for inner in folder.iterdir()):
                yield from _documents(folder)
            else:
                yield folder
