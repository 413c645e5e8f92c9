"""Signing releases with Ed25519 (RFC 8032), and verifying what was signed.

What is signed is one line: its format, the label of a release and the digest of the release's manifest, which covers
rows, names, links, vocabulary, date, note and the releases before (`refdb.release.manifest`). Signatures lie beside the
releases, in `sources/signatures/<label>.toml`, each with the format of its line, since a release folder is never edited
after it was cut. A release need not be signed.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from refdb.problems import BadParameter, IntegrityError, UnknownName
from refdb.records import digest
from refdb.release.manifest import manifests_of
from refdb.release.text import read_releases

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey


SIGNATURE_FORMAT = "refdb-signature/1"
"""Stands in the line that is signed and beside each signature, so that another line can be told from this one."""


@dataclass(frozen=True, slots=True)
class SignatureText:
    """One signature of a release, and the public key it fits, both in hexadecimal."""

    release: str
    public_key: str
    signature: str


def signed_text(label: str, manifest: str) -> bytes:
    """The line that is signed, from a release's label and the digest of its manifest."""
    return f"{SIGNATURE_FORMAT} {label} {manifest}\n".encode()


def fits(label: str, manifest: str, public_key: str, signature: str) -> bool:
    """Whether a signature is that of a key over a release's label and the digest of its manifest."""
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    try:
        key = Ed25519PublicKey.from_public_bytes(bytes.fromhex(public_key))
        key.verify(bytes.fromhex(signature), signed_text(label, manifest))
    except (InvalidSignature, ValueError):
        return False
    return True


def make_key(private: Path, public: Path) -> str:
    """Write a new pair of keys as PEM; the private one is readable by its owner alone.

    Returns:
        The public key in hexadecimal.

    Raises:
        BadParameter: one of the files is there already, or cannot be written.
    """
    from cryptography.hazmat.primitives import serialization
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    key = Ed25519PrivateKey.generate()
    secret = key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    told = key.public_key().public_bytes(serialization.Encoding.PEM, serialization.PublicFormat.SubjectPublicKeyInfo)
    for file, content, mode in ((private, secret, 0o600), (public, told, 0o644)):
        try:
            with os.fdopen(os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode), "wb") as stream:
                stream.write(content)
        except OSError as error:
            raise BadParameter(f"key: {file} cannot be made: {error.strerror}; name another file.") from error
    return _public_hex(key)


def sign_release(text_root: Path, label: str, private: Path) -> SignatureText:
    """Sign a release with a private key and keep the signature beside the releases.

    Raises:
        UnknownName: there is no such release.
        BadParameter: the key is none, or has signed the release already.
        IntegrityError: the release does not fit its digests or its manifest.
    """
    known = {manifest["label"]: digest(manifest) for manifest in manifests_of(read_releases(text_root))}
    if label not in known:
        raise UnknownName(
            f"release: there is no release '{label}'; there are {', '.join(known)}.", candidates=list(known)
        )
    key = _private_key(private)
    made = SignatureText(label, _public_hex(key), key.sign(signed_text(label, known[label])).hex())
    file = _file(text_root, label)
    if any(one.public_key == made.public_key for one in _read(text_root, label)):
        raise BadParameter(f"key: it has signed {label} already; see {file.name}.", parameter="key")
    file.parent.mkdir(exist_ok=True)
    with file.open("a", encoding="utf-8") as stream:
        fields = {"format": SIGNATURE_FORMAT, "public_key": made.public_key, "signature": made.signature}
        stream.write("[[signature]]\n" + "".join(f"{name} = {json.dumps(text)}\n" for name, text in fields.items()))
    return made


def read_signatures(text_root: Path, labels: Iterable[str]) -> list[SignatureText]:
    """Every signature of these releases, not checked yet.

    Raises:
        LedgerError: a file of signatures is no TOML.
        IntegrityError: a signature is of a format that is not known here.
    """
    return [one for label in labels for one in _read(text_root, label)]


def require_fitting(signatures: Iterable[SignatureText], manifests: Mapping[str, str]) -> None:
    """Check every signature.

    Args:
        signatures: as they were read.
        manifests: the digest of each release's manifest, by label.

    Raises:
        IntegrityError: a signature does not fit its release.
    """
    for one in signatures:
        if not fits(one.release, manifests[one.release], one.public_key, one.signature):
            raise IntegrityError(
                f"sources/signatures/{one.release}.toml: the signature of key {one.public_key[:16]}… does not fit"
            )


def public_key_of(file: Path) -> str:
    """A public key from a PEM file, in hexadecimal.

    Raises:
        BadParameter: the file holds no Ed25519 public key.
    """
    from cryptography.hazmat.primitives import serialization
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    try:
        key = serialization.load_pem_public_key(file.read_bytes())
    except (OSError, ValueError) as error:
        raise BadParameter(
            f"public-key: {file} holds no public key in PEM: {error}.", parameter="public_key"
        ) from error
    if not isinstance(key, Ed25519PublicKey):
        raise BadParameter(f"public-key: {file} holds no Ed25519 key.", parameter="public_key")
    return key.public_bytes_raw().hex()


def _private_key(file: Path) -> Ed25519PrivateKey:
    from cryptography.hazmat.primitives import serialization
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    try:
        key = serialization.load_pem_private_key(file.read_bytes(), password=None)
    except (OSError, ValueError, TypeError) as error:
        raise BadParameter(f"key: {file} holds no private key in PEM without a password: {error}.") from error
    if not isinstance(key, Ed25519PrivateKey):
        raise BadParameter(f"key: {file} holds no Ed25519 key; `refdb release key` makes one.", parameter="key")
    return key


def _public_hex(key: Ed25519PrivateKey) -> str:
    return key.public_key().public_bytes_raw().hex()


def _file(text_root: Path, label: str) -> Path:
    return text_root / "sources" / "signatures" / f"{label}.toml"


def _read(text_root: Path, label: str) -> Iterable[SignatureText]:
    file = _file(text_root, label)
    if not file.is_file():
        return []
    from refdb.ledger.files import read_toml
    from refdb.ledger.findings import Findings

    findings = Findings(text_root)
    blocks = read_toml(file, findings).get("signature", [])
    findings.raise_if_any()
    for one in blocks:
        if one.get("format") != SIGNATURE_FORMAT:
            raise IntegrityError(
                f"sources/signatures/{label}.toml: format: is {one.get('format')!r}, but this refdb knows "
                f"{SIGNATURE_FORMAT} alone; sign the release again with `refdb release sign`, or use a newer refdb."
            )
    return [SignatureText(label, str(one.get("public_key")), str(one.get("signature"))) for one in blocks]
