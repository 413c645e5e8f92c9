"""Signing releases: with a key that fits, by nobody else, and not at all if nobody wants to."""

from __future__ import annotations

import datetime
import json
import shutil
import sqlite3
from pathlib import Path
from typing import Any

import pytest
import rfc8785
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.asymmetric.rsa import generate_private_key

from refdb.data import POINTER, current, file_digest
from refdb.problems import BadParameter, IntegrityError, UnknownName
from refdb.records import digest
from refdb.release import build, cut_release, verify
from refdb.release.sign import fits, make_key, public_key_of, sign_release
from tests.conftest import CommandLine
from tests.invented import FIRST_READINGS, READINGS_HEADER, SECOND_READINGS, write_document, write_invented_text

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


@pytest.fixture(scope="module")
def signed_once(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """Three compiled releases, each signed, and the file of the public key."""
    folder = tmp_path_factory.mktemp("signed")
    text, private, public = folder / "text", folder / "private.pem", folder / "public.pem"
    make_key(private, public)
    write_invented_text(text)
    cut_release(text, "2026r1", "The first.", DAY)
    write_document(text, "second-article", READINGS_HEADER + SECOND_READINGS)
    cut_release(text, "2026r2", "The second.", DAY)
    write_document(text, "first-article", READINGS_HEADER + FIRST_READINGS.replace("5000", "5010"))
    cut_release(text, "2026r3", "The third.", DAY)
    for label in ("2026r1", "2026r2", "2026r3"):
        sign_release(text, label, private)
    build(text, folder / "compiled")
    return folder / "compiled", public


@pytest.fixture
def signed(signed_once: tuple[Path, Path], tmp_path: Path) -> tuple[Path, str]:
    """Three compiled releases, each signed, to be tampered with, and the public key."""
    shutil.copytree(signed_once[0], tmp_path / "signed")
    return tmp_path / "signed", public_key_of(signed_once[1])


def test_signed_releases_are_sound_and_leave_nothing_to_remark(signed: tuple[Path, str]) -> None:
    compiled, key = signed
    result = verify(compiled, public_key=key)
    assert (result.findings, result.remarks) == ([], [])


def _change_store(compiled: Path, *statements: str) -> None:
    """Change a compiled store by SQL, and its digest in SHA256SUMS with it."""
    with sqlite3.connect(current(compiled).store) as connection:
        for statement in statements:
            connection.execute(statement)
    _sum_again(compiled)


def _sum_again(compiled: Path) -> None:
    names = current(compiled).digests
    (compiled / POINTER).write_text("".join(f"{file_digest(compiled / name)}  {name}\n" for name in names))


WORD = "(SELECT number FROM word WHERE text = '{}')".format


@pytest.mark.parametrize(
    ("statement", "finding"),
    [
        (
            "UPDATE name SET text = 'toy iron' WHERE text = 'toy metal'",
            "name 'toy iron' of invented-metal: stands in the index, and no row gives it",
        ),
        (
            "UPDATE name SET normal = 'toyiron' WHERE text = 'toy metal'",
            "release 2026r1: its 12 names do not fit its manifest",
        ),
        ("DELETE FROM name WHERE text = 'toy metal'", "name 'toy metal' of invented-metal: is missing from the index"),
        (
            f"UPDATE link SET rests_on = {WORD('invented-plastic')} "
            f"WHERE rests_on = {WORD('invented-metal.density.01')}",
            "row invented-metal.density: its link to invented-metal.density.01 (input) is missing",
        ),
        (
            f"INSERT INTO link SELECT {WORD('invented-plastic')}, number, {WORD('input')} FROM row_version "
            f"WHERE row = {WORD('invented-metal.density')}",
            "row invented-metal.density: its record has no link to invented-plastic (input)",
        ),
        (
            "UPDATE \"release\" SET cut_on = '2026-01-03' WHERE ordinal = 2",
            "release 2026r2: its date does not fit its manifest",
        ),
        (
            "UPDATE \"release\" SET note = 'The best.' WHERE ordinal = 1",
            "release 2026r1: its note does not fit its manifest",
        ),
        (
            "UPDATE \"release\" SET label = '2026r4' WHERE ordinal = 3",
            "release 2026r4: its label does not fit its manifest",
        ),
        (
            'DELETE FROM "release" WHERE ordinal = 1',
            "release number 1: is missing, and there are rows or names that name it",
        ),
        (
            'DELETE FROM "release" WHERE ordinal = 1',
            "release 2026r2: follows 2026r1 by its manifest, which is missing here or out of order",
        ),
        (
            'DELETE FROM "release" WHERE ordinal = 2',
            "release 2026r3: follows 2026r2 by its manifest, which is missing here or out of order",
        ),
        (
            'DELETE FROM "release" WHERE ordinal = 3',
            "release number 3: is missing, and there are rows or names that name it",
        ),
        (
            "UPDATE \"release\" SET header = replace(header, 'refdb = ', 'mpmath = ') WHERE ordinal = 2",
            "release 2026r2: its header does not fit its manifest",
        ),
        (
            'UPDATE "release" SET header = NULL WHERE ordinal = 3',
            "release 2026r3: its header does not fit its manifest",
        ),
        ('UPDATE "release" SET manifest = NULL WHERE ordinal = 2', "release 2026r2: has no manifest that can be read"),
        ("UPDATE \"release\" SET manifest = '{' WHERE ordinal = 2", "release 2026r2: has no manifest that can be read"),
    ],
)
def test_what_a_signature_covers_cannot_change_unseen(signed: tuple[Path, str], statement: str, finding: str) -> None:
    compiled, key = signed
    _change_store(compiled, statement)
    assert finding in verify(compiled, public_key=key).findings


def test_a_changed_unit_of_the_vocabulary_is_a_finding_with_the_public_key(
    signed: tuple[Path, str], signed_once: tuple[Path, Path], command: CommandLine
) -> None:
    compiled, key = signed
    vocabulary = current(compiled).vocabulary
    document = json.loads(vocabulary.read_bytes())
    foot = next(unit for unit in document["units"] if unit["symbol"] == "ft/s")
    foot["scale"] *= 1.1
    vocabulary.write_text(json.dumps(document, ensure_ascii=False), encoding="utf-8")
    _sum_again(compiled)
    told = "vocabulary: is not the one that 2026r3 was cut with"
    assert verify(compiled, public_key=key).findings == [told]
    result = verify(compiled)
    assert (result.findings, result.remarks) == ([], [told]), "a checkout between two releases verifies"
    printed = command("verify", "--folder", str(compiled))
    assert (printed.code, f"Remark: {told}\n" in printed.out) == (0, True)
    assert command("verify", "--folder", str(compiled), "--public-key", str(signed_once[1])).code == 1


def test_who_rewrites_manifests_and_digests_as_well_has_no_signature_that_fits(signed: tuple[Path, str]) -> None:
    compiled, key = signed
    _change_store(compiled, "UPDATE \"release\" SET note = 'The best.' WHERE ordinal = 2")
    with sqlite3.connect(current(compiled).store) as connection:
        manifests = [
            json.loads(text) for (text,) in connection.execute("SELECT manifest FROM release ORDER BY ordinal")
        ]
        manifests[1]["note"] = "The best."
        manifests[2]["previous"]["digest"] = digest(manifests[1])
        for ordinal, manifest in enumerate(manifests, start=1):
            text = rfc8785.dumps(manifest).decode()
            connection.execute("UPDATE release SET manifest = ? WHERE ordinal = ?", (text, ordinal))
    current(compiled).path("manifest").write_bytes(rfc8785.dumps(manifests[2]))
    _sum_again(compiled)
    findings = verify(compiled, public_key=key).findings
    assert findings == [
        line
        for label in ("2026r2", "2026r3")
        for line in (
            f"release {label}: the signature of key {key} does not fit",
            f"release {label}: is not signed with the public key given",
        )
    ]


def test_a_release_cut_with_another_vocabulary_does_not_fit_its_signature(signed: tuple[Path, str]) -> None:
    """Naming the changed vocabulary in the manifest does not help either."""
    compiled, key = signed
    with sqlite3.connect(current(compiled).store) as connection:
        (text,) = connection.execute("SELECT manifest FROM release WHERE ordinal = 3").fetchone()
        changed: dict[str, Any] = json.loads(text) | {"vocabulary": "sha256:" + "0" * 64}
        connection.execute("UPDATE release SET manifest = ? WHERE ordinal = 3", (rfc8785.dumps(changed).decode(),))
    _sum_again(compiled)
    assert f"release 2026r3: the signature of key {key} does not fit" in verify(compiled, public_key=key).findings


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
        connection.execute(
            "UPDATE signature SET signature = "
            "CASE substr(signature, 1, 2) WHEN '00' THEN '01' ELSE '00' END || substr(signature, 3)"
        )
    findings = verify(tmp_path / "compiled").findings
    assert any("the signature of key" in finding for finding in findings)


def test_a_signature_of_a_format_that_is_not_known_is_refused_in_words(
    released: Path, keys: tuple[Path, Path], tmp_path: Path
) -> None:
    sign_release(released, "2026r1", keys[0])
    file = released / "sources" / "signatures" / "2026r1.toml"
    file.write_text(file.read_text().replace("refdb-signature/1", "refdb-signature/9"))
    with pytest.raises(IntegrityError, match=r"2026r1\.toml: format: is 'refdb-signature/9', but this refdb knows"):
        build(released, tmp_path / "compiled")


def test_a_signature_is_of_one_release_alone(keys: tuple[Path, Path]) -> None:
    key = serialization.load_pem_private_key(keys[0].read_bytes(), None)
    assert isinstance(key, Ed25519PrivateKey)
    public = key.public_key().public_bytes_raw().hex()
    signature = key.sign(b"refdb-signature/1 2026r1 sha256:00\n").hex()
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
