"""Holding releases against git's history: a label stands for what first came to main under it, for ever.

Main is followed along its first parents: what a branch tried before it was merged is nobody's release.
"""

from __future__ import annotations

import json
import os
import subprocess
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from refdb.release.text import LABEL

RELEASES = "sources/releases"
GOLDEN = "tests/golden"
DIGESTS = f"{GOLDEN}/releases/digests.json"

_WHICH_REPOSITORY = ("GIT_DIR", "GIT_WORK_TREE", "GIT_INDEX_FILE", "GIT_OBJECT_DIRECTORY", "GIT_PREFIX")


class NoHistory(Exception):  # noqa: N818 - a circumstance, not a fault
    """There is no history to hold releases against, and why."""


@dataclass(frozen=True, slots=True)
class LastCut:
    """The commits that brought what a label stands for, where it was used more than once, and how that came about.

    `folder` brought the release folder and its pinned digest, `golden` the golden answers.
    """

    folder: str
    golden: str
    reason: str


@dataclass(frozen=True, slots=True)
class PinnedAgain:
    """A commit that pinned golden answers again, since answering was found wrong for all releases; no row moved.

    `fields` are those of an answer that it changed.
    """

    commit: str
    fields: frozenset[str]
    reason: str


def git(root: Path, *arguments: str) -> bytes:
    """What a git command prints, run in a folder; of that folder's repository, whichever git was started by.

    Raises:
        NoHistory: git is not there, or refuses.
    """
    environment = {name: value for name, value in os.environ.items() if name not in _WHICH_REPOSITORY}
    try:
        done = subprocess.run(["git", *arguments], cwd=root, env=environment, capture_output=True, check=True)
    except FileNotFoundError:
        raise NoHistory("there is no git program") from None
    except subprocess.CalledProcessError as error:
        raise NoHistory(f"git {arguments[0]}: {error.stderr.decode(errors='replace').strip()}") from None
    return done.stdout


class History:
    """The whole history of main, and the files of today beside it.

    Args:
        root: the folder of the project.
        last_cuts: the labels that were used more than once.
        pinned_again: the commits that pinned golden answers again, the oldest first.

    Raises:
        NoHistory: the folder is no repository of its own, its history is not whole, or there is no git.
    """

    def __init__(
        self, root: Path, last_cuts: Mapping[str, LastCut] | None = None, pinned_again: Sequence[PinnedAgain] = ()
    ) -> None:
        self.root = root
        self.last_cuts = last_cuts or {}
        self.pinned_again = pinned_again
        if Path(_line(root, "rev-parse", "--show-toplevel")).resolve() != root.resolve():
            raise NoHistory(f"{root} is no git repository of its own, but lies in another one")
        if _line(root, "rev-parse", "--is-shallow-repository") != "false":
            raise NoHistory(
                f"the history in {root} is cut short (a shallow clone); `git fetch --unshallow` completes it"
            )

    @cached_property
    def main(self) -> list[str]:
        """The commits along first parents, the oldest first."""
        return git(self.root, "rev-list", "--first-parent", "--reverse", "HEAD").decode().split()

    def labels(self) -> list[str]:
        """Every label that was ever brought to main."""
        names = git(self.root, "log", "--first-parent", "-m", "--format=", "--name-only", "--", RELEASES)
        folders = {name.split("/")[2] for name in names.decode().split("\n") if name}
        return sorted(folder for folder in folders if LABEL.match(folder))

    def is_new(self, label: str) -> bool:
        """Whether no commit holds anything under a label: it was just cut, and is about to be committed."""
        return self._brought(f"{RELEASES}/{label}") is None

    def findings(self, label: str) -> list[str]:
        """Everything that is not as it was first brought to main, or last cut, each in one line."""
        last = self.last_cuts.get(label)
        if last is not None and not {last.folder, last.golden} <= set(self.main):
            return [f"{label}: the commits named for its last cut are not on main's first-parent line"]
        folder, golden = f"{RELEASES}/{label}", f"{GOLDEN}/{label}.json"
        by_folder = last.folder if last is not None else self._brought(folder)
        by_golden = last.golden if last is not None else self._brought(golden)
        return [
            *self._differences(label, folder, by_folder),
            *self._answers_moved(label, golden, by_golden),
            *self._pinned_otherwise(label, by_folder if last is not None else self._pinned_first(label)),
        ]

    def _answers_moved(self, label: str, golden: str, commit: str | None) -> Iterator[str]:
        """What is not as it was pinned last, and what pinning again moved beyond what it was for."""
        for again in self.pinned_again:
            if again.commit not in self.main:
                yield f"{label}: commit {again.commit[:7]}, which pinned again, is not on main's first-parent line"
                return
            if commit is None or self.main.index(commit) >= self.main.index(again.commit):
                continue
            before, after = (self._pinned_without(golden, at, again.fields) for at in (commit, again.commit))
            if before != after:
                yield f"{label}: commit {again.commit[:7]} pinned again more than {', '.join(sorted(again.fields))}"
            commit = again.commit
        yield from self._differences(label, golden, commit)

    def _pinned_without(self, golden: str, commit: str, fields: frozenset[str]) -> Any:
        """What a commit pins of a release, without some fields of its answers."""
        pinned = json.loads(git(self.root, "cat-file", "blob", f"{commit}:{golden}"))
        for entry in pinned["answers"]:
            entry["answer"] = {name: told for name, told in entry["answer"].items() if name not in fields}
        return pinned

    def _brought(self, path: str) -> str | None:
        """The first commit on main that holds a path; None where none does."""
        commits = git(self.root, "rev-list", "--first-parent", "--reverse", "HEAD", "--", path).decode().split()
        return commits[0] if commits else None

    def _pinned_first(self, label: str) -> str | None:
        """The first commit on main that pins the digest of a label."""
        commits = git(self.root, "rev-list", "--first-parent", "--reverse", "HEAD", "--", DIGESTS).decode().split()
        return next((commit for commit in commits if self._pinned(label, commit) is not None), None)

    def _pinned(self, label: str, commit: str) -> str | None:
        held = self._files(DIGESTS, commit).get(DIGESTS)
        pinned = None if held is None else json.loads(git(self.root, "cat-file", "blob", held)).get(label)
        return None if pinned is None else str(pinned)

    def _files(self, path: str, commit: str) -> dict[str, str]:
        """The files that a commit holds at a path or below it, each with the name of its content."""
        entries = git(self.root, "ls-tree", "-r", "-z", commit, "--", path).decode().split("\0")
        cells = [entry.partition("\t") for entry in entries if entry]
        return {name: told.split()[2] for told, _, name in cells}

    def _files_of_today(self, path: str) -> dict[str, str]:
        """The same of the working tree."""
        top = self.root / path
        files = [top] if top.is_file() else [file for file in top.rglob("*") if file.is_file()]
        names = [file.relative_to(self.root).as_posix() for file in files]
        contents = git(self.root, "hash-object", "--no-filters", "--", *names).decode().split() if names else []
        return dict(zip(names, contents, strict=True))

    def _differences(self, label: str, path: str, commit: str | None) -> Iterator[str]:
        if commit is None:
            return
        then, now = self._files(path, commit), self._files_of_today(path)
        for name in sorted(then.keys() | now.keys()):
            if name not in now:
                yield f"{label}: {name} is gone; commit {commit[:7]} brought it"
            elif name not in then:
                yield f"{label}: {name} was added after commit {commit[:7]}"
            elif then[name] != now[name]:
                yield f"{label}: {name} is not what commit {commit[:7]} brought"

    def _pinned_otherwise(self, label: str, commit: str | None) -> Iterator[str]:
        if commit is None:
            return
        file = self.root / DIGESTS
        now = json.loads(file.read_bytes()).get(label) if file.is_file() else None
        if now != self._pinned(label, commit):
            yield f"{label}: its digest in {DIGESTS} is not what commit {commit[:7]} pinned"


def _line(root: Path, *arguments: str) -> str:
    return git(root, *arguments).decode().strip()
