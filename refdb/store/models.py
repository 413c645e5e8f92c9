"""The tables as typed declarative models."""

from __future__ import annotations

from typing import Literal

from sqlalchemy import (
    CheckConstraint,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
)
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

Side = Literal["reference", "house"]

NAMING = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}

DIGEST_LENGTH = 71
DIGEST_BYTES = 32
ID_LENGTH = 120


class Base(DeclarativeBase):
    """Base of all tables, with one MetaData. Every constraint is named, or batch migrations would lose it."""

    metadata = MetaData(naming_convention=NAMING)


class Release(Base):
    """One release: an immutable named set of row versions.

    `manifest` is canonical JSON that covers the whole release (`refdb.release.manifest`), `header` the text of its
    `release.toml`, whose digest the manifest has; the build always writes both.
    """

    __tablename__ = "release"
    __table_args__ = {"info": {"side": "reference"}}  # noqa: RUF012 - SQLAlchemy's own form

    ordinal: Mapped[int] = mapped_column(Integer, primary_key=True, autoincrement=False)
    label: Mapped[str] = mapped_column(String(12), unique=True)
    cut_on: Mapped[str] = mapped_column(String(10))
    digest: Mapped[str] = mapped_column(String(DIGEST_LENGTH))
    rows: Mapped[int] = mapped_column(Integer)
    note: Mapped[str] = mapped_column(Text)
    manifest: Mapped[str | None] = mapped_column(Text)
    header: Mapped[str | None] = mapped_column(Text)


class Word(Base):
    """A text that occurs in many rows (an id, a kind, a property, a role), kept once; rows hold its number.

    Words are numbered in alphabetical order, so that sorting by number sorts by text.
    """

    __tablename__ = "word"
    __table_args__ = {"info": {"side": "reference"}}  # noqa: RUF012 - SQLAlchemy's own form

    number: Mapped[int] = mapped_column(Integer, primary_key=True, autoincrement=False)
    text: Mapped[str] = mapped_column(String(ID_LENGTH), unique=True)


class Block(Base):
    """Records of one kind, compressed together; see `refdb.records.blocks`."""

    __tablename__ = "block"
    __table_args__ = {"info": {"side": "reference"}}  # noqa: RUF012 - SQLAlchemy's own form

    number: Mapped[int] = mapped_column(Integer, primary_key=True, autoincrement=False)
    packed: Mapped[bytes] = mapped_column(LargeBinary)


class RowVersion(Base):
    """One version of one record: valid in the releases from `since` up to, not including, `until`.

    The record's canonical JSON is the `length` bytes from `start` of the unpacked `block`; `digest` is its SHA-256.
    `row` is the record's id; `kind`, `subject`, `property` and `source` repeat parts of it for searching.
    `refdb verify` computes them all again and compares.
    """

    __tablename__ = "row_version"
    __table_args__ = (
        Index("ix_row_version_row_since", "row", "since"),
        Index("ix_row_version_kind_subject", "kind", "subject"),
        {"info": {"side": "reference"}},
    )

    number: Mapped[int] = mapped_column(Integer, primary_key=True, autoincrement=False)
    row: Mapped[int] = mapped_column(ForeignKey("word.number", ondelete="RESTRICT"))
    since: Mapped[int] = mapped_column(ForeignKey("release.ordinal", ondelete="RESTRICT"))
    until: Mapped[int | None] = mapped_column(ForeignKey("release.ordinal", ondelete="RESTRICT"))
    kind: Mapped[int] = mapped_column(ForeignKey("word.number", ondelete="RESTRICT"))
    subject: Mapped[int | None] = mapped_column(ForeignKey("word.number", ondelete="RESTRICT"))
    property: Mapped[int | None] = mapped_column(ForeignKey("word.number", ondelete="RESTRICT"))
    source: Mapped[int | None] = mapped_column(ForeignKey("word.number", ondelete="RESTRICT"))
    digest: Mapped[bytes] = mapped_column(LargeBinary(DIGEST_BYTES))
    block: Mapped[int] = mapped_column(ForeignKey("block.number", ondelete="RESTRICT"))
    start: Mapped[int] = mapped_column(Integer)
    length: Mapped[int] = mapped_column(Integer)


class Name(Base):
    """A normalised name and the row it leads to, for exact look-up and for `find`."""

    __tablename__ = "name"
    __table_args__ = {"info": {"side": "reference"}, "sqlite_with_rowid": False}  # noqa: RUF012 - SQLAlchemy's own form

    normal: Mapped[str] = mapped_column(String(200), primary_key=True)
    number: Mapped[int] = mapped_column(Integer, primary_key=True, autoincrement=False)
    text: Mapped[str] = mapped_column(String(200))
    designation_kind: Mapped[int] = mapped_column(ForeignKey("word.number", ondelete="RESTRICT"))
    target_kind: Mapped[int] = mapped_column(ForeignKey("word.number", ondelete="RESTRICT"))
    target: Mapped[int] = mapped_column(ForeignKey("word.number", ondelete="RESTRICT"))
    since: Mapped[int] = mapped_column(ForeignKey("release.ordinal", ondelete="RESTRICT"))
    until: Mapped[int | None] = mapped_column(ForeignKey("release.ordinal", ondelete="RESTRICT"))


class Link(Base):
    """A version of a row rests on another row: an edge of provenance, which can be followed both ways."""

    __tablename__ = "link"
    __table_args__ = {"info": {"side": "reference"}, "sqlite_with_rowid": False}  # noqa: RUF012 - SQLAlchemy's own form

    rests_on: Mapped[int] = mapped_column(ForeignKey("word.number", ondelete="RESTRICT"), primary_key=True)
    version: Mapped[int] = mapped_column(ForeignKey("row_version.number", ondelete="RESTRICT"), primary_key=True)
    role: Mapped[int] = mapped_column(ForeignKey("word.number", ondelete="RESTRICT"), primary_key=True)


class Signature(Base):
    """A signature over a release's label and the digest of its manifest, with the public key that it fits."""

    __tablename__ = "signature"
    __table_args__ = {"info": {"side": "reference"}}  # noqa: RUF012 - SQLAlchemy's own form

    release: Mapped[int] = mapped_column(ForeignKey("release.ordinal", ondelete="RESTRICT"), primary_key=True)
    public_key: Mapped[str] = mapped_column(String(64), primary_key=True)
    signature: Mapped[str] = mapped_column(String(128))


class ReleaseCorrection(Base):
    """What was wrong with a release (`corrected`), according to a later one (`release`)."""

    __tablename__ = "release_correction"
    __table_args__ = {"info": {"side": "reference"}}  # noqa: RUF012 - SQLAlchemy's own form

    release: Mapped[int] = mapped_column(ForeignKey("release.ordinal", ondelete="RESTRICT"), primary_key=True)
    number: Mapped[int] = mapped_column(Integer, primary_key=True, autoincrement=False)
    corrected: Mapped[int] = mapped_column(ForeignKey("release.ordinal", ondelete="RESTRICT"))
    what: Mapped[str] = mapped_column(Text)


class EarlierCut(Base):
    """An earlier cut under the label of a release, before the release that has the label now.

    `rows_digest` covers those of its rows that are kept, as the digest of a release covers all of its rows.
    """

    __tablename__ = "earlier_cut"
    __table_args__ = {"info": {"side": "reference"}}  # noqa: RUF012 - SQLAlchemy's own form

    digest: Mapped[str] = mapped_column(String(DIGEST_LENGTH), primary_key=True)
    release: Mapped[int] = mapped_column(ForeignKey("release.ordinal", ondelete="RESTRICT"))
    cut_on: Mapped[str] = mapped_column(String(10))
    superseded_on: Mapped[str] = mapped_column(String(10))
    rows_digest: Mapped[str] = mapped_column(String(DIGEST_LENGTH))
    why: Mapped[str] = mapped_column(Text)


class EarlierCutRow(Base):
    """A version of a row in an earlier cut that the release with its label does not hold. It has no body."""

    __tablename__ = "earlier_cut_row"
    __table_args__ = {"info": {"side": "reference"}}  # noqa: RUF012 - SQLAlchemy's own form

    cut: Mapped[str] = mapped_column(ForeignKey("earlier_cut.digest", ondelete="RESTRICT"), primary_key=True)
    row: Mapped[str] = mapped_column(String(ID_LENGTH), primary_key=True)
    digest: Mapped[str] = mapped_column(String(DIGEST_LENGTH))


class HouseValue(Base):
    """A value that an organisation measured or prefers. It names reference rows as text, never by foreign key."""

    __tablename__ = "house_value"
    __table_args__ = (
        Index("ix_house_value_subject_property", "subject", "property"),
        {"info": {"side": "house"}},
    )

    id: Mapped[str] = mapped_column(String(36), primary_key=True)
    subject: Mapped[str] = mapped_column(String(ID_LENGTH))
    property: Mapped[str] = mapped_column(String(ID_LENGTH))
    created_at: Mapped[str] = mapped_column(String(32))
    version: Mapped[int] = mapped_column(Integer, server_default="0")


class HouseValueVersion(Base):
    """One version of a house value; versions are added, never changed or deleted.

    `digest` covers the version and the digest of the one before, so that a rewritten history is found. Versions from
    before digests were kept have none. `reason` says why a value was changed or withdrawn.
    """

    __tablename__ = "house_value_version"
    __table_args__ = (
        UniqueConstraint("house_value", "version"),
        CheckConstraint("version > 0", name="version_positive"),
        CheckConstraint("status IN ('draft', 'reviewed', 'withdrawn')", name="status_known"),
        {"info": {"side": "house"}},
    )

    number: Mapped[int] = mapped_column(Integer, primary_key=True)
    house_value: Mapped[str] = mapped_column(ForeignKey("house_value.id", ondelete="RESTRICT"))
    version: Mapped[int] = mapped_column(Integer)
    status: Mapped[str] = mapped_column(String(16))
    entered_by: Mapped[str] = mapped_column(String(120))
    entered_at: Mapped[str] = mapped_column(String(32))
    body: Mapped[str] = mapped_column(Text)
    digest: Mapped[str | None] = mapped_column(String(DIGEST_LENGTH))
    reason: Mapped[str | None] = mapped_column(Text)


class HouseKey(Base):
    """A key to the house values for one person and one role. Its secret is shown once and never stored."""

    __tablename__ = "house_key"
    __table_args__ = (
        CheckConstraint("role IN ('reader', 'editor', 'reviewer', 'administrator')", name="role_known"),
        {"info": {"side": "house"}},
    )

    id: Mapped[str] = mapped_column(String(36), primary_key=True)
    person: Mapped[str] = mapped_column(String(120))
    role: Mapped[str] = mapped_column(String(16))
    secret_digest: Mapped[str] = mapped_column(String(DIGEST_LENGTH), unique=True)
    created_at: Mapped[str] = mapped_column(String(32))
    created_by: Mapped[str] = mapped_column(String(120))
    expires_at: Mapped[str | None] = mapped_column(String(32))
    revoked_at: Mapped[str | None] = mapped_column(String(32))


class HouseWrite(Base):
    """One write to the house store: who wrote what, and with which key. Lines are added, never changed."""

    __tablename__ = "house_write"
    __table_args__ = (Index("ix_house_write_target", "target"), {"info": {"side": "house"}})

    number: Mapped[int] = mapped_column(Integer, primary_key=True)
    at: Mapped[str] = mapped_column(String(32))
    person: Mapped[str] = mapped_column(String(120))
    key: Mapped[str | None] = mapped_column(String(36))
    action: Mapped[str] = mapped_column(String(32))
    target: Mapped[str] = mapped_column(String(36))
    version: Mapped[int | None] = mapped_column(Integer)


def tables_of(side: Side) -> list[Table]:
    """The tables of one store, parents before children."""
    return [table for table in Base.metadata.sorted_tables if table.info["side"] == side]
