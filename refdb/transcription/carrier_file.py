"""The file in which a document was seen, fetched from a pinned carrier that is at hand."""

from __future__ import annotations

import hashlib
import importlib.metadata
import io
import subprocess
import tarfile
import zipfile
from pathlib import Path

from refdb.problems import BadParameter
from refdb.records.models import Carrier, CarrierFile

WHEELS = (".whl", ".zip")
INNER = "!"


def carrier_file(carrier: Carrier, file: CarrierFile, place: Path | None) -> bytes:
    """The bytes of a file of a carrier.

    Args:
        place: the file itself, a folder (a checkout, an unpacked package), a git directory, a wheel or an archive;
            None for a package that is installed in the version named.

    Raises:
        BadParameter: the file is not there, or its SHA-256 is not the pinned one.
    """
    outer, _, inner = file.path.partition(INNER)
    content = _installed(carrier, outer) if place is None else _found(carrier, place, outer)
    if inner:
        content = _in_archive(content, inner)
    if file.sha256 is not None and hashlib.sha256(content).hexdigest() != file.sha256:
        raise BadParameter(
            f"carrier: {file.path} is another file than the one that was seen: its SHA-256 is not "
            f"{file.sha256[:12]}…; fetch {carrier.version or carrier.commit or 'the version that is pinned'}.",
            parameter="carrier",
        )
    return content


def is_installed(carrier: Carrier) -> bool:
    """Whether a carrier is a package that is installed here in the version it names."""
    if carrier.type != "package" or carrier.version is None:
        return False
    try:
        return importlib.metadata.version(carrier.name) == carrier.version
    except importlib.metadata.PackageNotFoundError:
        return False


def _installed(carrier: Carrier, path: str) -> bytes:
    if not is_installed(carrier):
        raise BadParameter(
            f"carrier: {carrier.name} {carrier.version or ''} is not installed here; give its file, folder or git "
            "directory by --carrier PATH.",
            parameter="carrier",
        )
    located = importlib.metadata.distribution(carrier.name).locate_file(path)
    return _read(Path(str(located)))


def _found(carrier: Carrier, place: Path, path: str) -> bytes:
    if place.is_dir():
        if (place / path).is_file():
            return _read(place / path)
        if carrier.commit is not None:
            return _in_git(place, carrier.commit, path)
        raise BadParameter(f"carrier: {place} holds no {path}.", parameter="carrier", given=str(place))
    if not place.is_file():
        raise BadParameter(f"carrier: there is no {place}.", parameter="carrier", given=str(place))
    if place.name.endswith(WHEELS) and not path.endswith(place.name):
        return _in_wheel(place, path)
    return _read(place)


def _in_wheel(place: Path, path: str) -> bytes:
    try:
        with zipfile.ZipFile(place) as wheel:
            if path in wheel.namelist():
                return wheel.read(path)
    except zipfile.BadZipFile as error:
        raise BadParameter(f"carrier: {place} is no wheel.", parameter="carrier", given=str(place)) from error
    raise BadParameter(f"carrier: {place} holds no {path}.", parameter="carrier", given=str(place))


def _in_git(folder: Path, commit: str, path: str) -> bytes:
    done = subprocess.run(  # noqa: S603 - fixed arguments; the commit is forty hexadecimal digits
        ["git", "-C", str(folder), "show", f"{commit}:{path}"],  # noqa: S607 - whichever git the maintainer uses
        capture_output=True,
    )
    if done.returncode:
        raise BadParameter(
            f"carrier: {folder} holds no {path} at commit {commit[:12]}.", parameter="carrier", given=str(folder)
        )
    return done.stdout


def _in_archive(content: bytes, inner: str) -> bytes:
    try:
        with tarfile.open(fileobj=io.BytesIO(content)) as archive:
            names = [name for name in archive.getnames() if name.removeprefix("./") == inner]
            member = archive.extractfile(names[0]) if names else None
            held = member.read() if member is not None else None
    except tarfile.TarError as error:
        raise BadParameter("carrier: what was given is no tar archive.", parameter="carrier") from error
    if held is None:
        raise BadParameter(f"carrier: the archive holds no {inner}.", parameter="carrier")
    return held


def _read(file: Path) -> bytes:
    try:
        return file.read_bytes()
    except OSError as error:
        raise BadParameter(f"carrier: {file} cannot be read: {error.strerror}.", parameter="carrier") from error
