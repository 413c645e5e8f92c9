"""Signing releases: with a key that fits, by nobody else, and not at all if nobody wants to."""

from __future__ import annotations

import datetime
import json
import sqlite3
from pathlib import Path

import pytest
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.asymmetric.rsa import generate_private_key

from refdb.build import build, cut_release, verify
from refdb.build.sign import fits, make_key, public_key_of, sign_release
from refdb.data import current
from refdb.problems import BadParameter, IntegrityError, UnknownName
from tests.conftest import CommandLine

DAY = datetime.date(2026, 1, 2)


@pytest.fixture
def keys(tmp_path: Path) -> tuple[Path, Path]:
    """A private and a public key."""
    private, public = tmp_path / "private.pem", tmp_path / "public.pem"
    make_key(private, public)
    return private, public


@pytest.fixture
def released(invented_text: Path) -> Path:
    """An invented text with one release."""
    cut_release(invented_text, "2026r1", "The first.", DAY)
    return invented_text


def test_ed25519_is_that_of_rfc_8032() -> None:
    # RFC 8032, section 7.1, test 3: the library signs what the standard prints.
    printed = "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7"
    key = Ed25519PrivateKey.from_private_bytes(bytes.fromhex(printed))
    assert key.sign(bytes.fromhex("af82")).hex() == (
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac"
        "18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a"
    )


def test_an_unsigned_release_is_allowed_and_said(released: Path, tmp_path: Path) -> None:
    build(released, tmp_path / "compiled")
    result = verify(tmp_path / "compiled")
    assert result.sound
    assert result.signed_by == {"2026r1": []}


def test_a_signed_release_is_verified_with_the_public_key(
    released: Path, keys: tuple[Path, Path], tmp_path: Path
) -> None:
    private, public = keys
    build(released, tmp_path / "compiled")
    made = sign_release(released, "2026r1", private)
    assert build(released, tmp_path / "compiled"), "a new signature is compiled"
    key = public_key_of(public)
    assert made.public_key == key
    result = verify(tmp_path / "compiled", public_key=key)
    assert result.sound
    assert result.signed_by == {"2026r1": [key]}


def test_a_release_that_the_key_did_not_sign_is_a_finding(
    released: Path, keys: tuple[Path, Path], tmp_path: Path
) -> None:
    sign_release(released, "2026r1", keys[0])
    build(released, tmp_path / "compiled")
    other = make_key(tmp_path / "other.pem", tmp_path / "other-public.pem")
    findings = verify(tmp_path / "compiled", public_key=other).findings
    assert findings == ["release 2026r1: is not signed with the public key given"]


@pytest.mark.parametrize("position", [0, 5, 63])
def test_a_signature_with_one_flipped_bit_fits_no_more(
    released: Path, keys: tuple[Path, Path], tmp_path: Path, position: int
) -> None:
    made = sign_release(released, "2026r1", keys[0])
    signature = bytearray.fromhex(made.signature)
    signature[position] ^= 1
    file = released / "sources" / "signatures" / "2026r1.toml"
    file.write_text(file.read_text().replace(made.signature, signature.hex()))
    with pytest.raises(IntegrityError, match="does not fit"):
        build(released, tmp_path / "compiled")


def test_a_compiled_signature_that_was_changed_is_found(
    released: Path, keys: tuple[Path, Path], tmp_path: Path
) -> None:
    sign_release(released, "2026r1", keys[0])
    build(released, tmp_path / "compiled")
    with sqlite3.connect(current(tmp_path / "compiled").store) as connection:
        connection.execute("UPDATE signature SET signature = replace(signature, substr(signature, 1, 2), '00')")
    findings = verify(tmp_path / "compiled").findings
    assert any("the signature of key" in finding for finding in findings)


def test_a_signature_is_of_one_release_alone(keys: tuple[Path, Path]) -> None:
    key = serialization.load_pem_private_key(keys[0].read_bytes(), None)
    assert isinstance(key, Ed25519PrivateKey)
    public = key.public_key().public_bytes_raw().hex()
    signature = key.sign(b"refdb release 2026r1 sha256:00\n").hex()
    assert fits("2026r1", "sha256:00", public, signature)
    assert not fits("2026r2", "sha256:00", public, signature)
    assert not fits("2026r1", "sha256:01", public, signature)
    assert not fits("2026r1", "sha256:00", public, "no signature")


def test_what_cannot_sign_is_refused(released: Path, keys: tuple[Path, Path], tmp_path: Path) -> None:
    sign_release(released, "2026r1", keys[0])
    with pytest.raises(BadParameter, match="has signed 2026r1 already"):
        sign_release(released, "2026r1", keys[0])
    with pytest.raises(UnknownName):
        sign_release(released, "2030r1", keys[0])
    with pytest.raises(BadParameter, match="no private key"):
        sign_release(released, "2026r1", keys[1])
    with pytest.raises(BadParameter, match="no public key"):
        public_key_of(keys[0])
    rsa = tmp_path / "rsa.pem"
    rsa.write_bytes(
        generate_private_key(65537, 2048).private_bytes(
            serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
        )
    )
    with pytest.raises(BadParameter, match="no Ed25519 key"):
        sign_release(released, "2026r1", rsa)
    with pytest.raises(BadParameter, match="cannot be made"):
        make_key(*keys)


def test_the_private_key_is_its_owners_alone(keys: tuple[Path, Path]) -> None:
    assert keys[0].stat().st_mode & 0o077 == 0


def test_the_commands_make_keys_sign_and_verify(released: Path, tmp_path: Path, command: CommandLine) -> None:
    private, public, compiled = tmp_path / "a.pem", tmp_path / "b.pem", tmp_path / "compiled"
    assert command("release", "key", "--private", str(private), "--public", str(public)).code == 0
    build(released, compiled)
    verifying = ["verify", "--folder", str(compiled)]
    assert "2026r1: unsigned" in command(*verifying).out
    assert command(*verifying, "--public-key", str(public)).code == 1
    assert command("release", "sign", "2026r1", "--key", str(private), "--text", str(released)).code == 0
    build(released, compiled)
    printed = command(*verifying, "--public-key", str(public), "--json")
    assert (printed.code, json.loads(printed.out)["signed_by"]) == (0, {"2026r1": [public_key_of(public)]})
