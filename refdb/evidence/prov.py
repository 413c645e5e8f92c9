"""Provenance in the words of W3C PROV, as PROV-JSON.

Rows, readings, documents and the release are entities; recommending a value and transcribing a document are activities;
who transcribed, who checked and refdb itself are agents: as the version that first made a row as it stands, as that
which cut the release, and as that which writes the document.
"""

from __future__ import annotations

import importlib.metadata
import json
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, cast
from urllib.parse import quote

from refdb.evidence.provenance import provenance
from refdb.lookup import ReleaseInfo, ReleaseStore

if TYPE_CHECKING:
    from refdb.evidence.documents import ProvDocument


PREFIXES = {"refdb": "urn:refdb:", "dcterms": "http://purl.org/dc/terms/"}
RELATIONS = (
    "wasGeneratedBy", "used", "wasAssociatedWith", "wasAttributedTo", "wasDerivedFrom", "hadMember",
)  # fmt: skip


def prov_document(store: ReleaseStore, row: str, release: ReleaseInfo) -> ProvDocument:
    """The chain from a row to its sources as a PROV-JSON document.

    Raises:
        UnknownName: the release has no such row.
    """
    chain = provenance(store, row, release)["chain"]
    writer = _Writer(store, release)
    collection = writer.collection()
    writer.written()
    writer.relate("hadMember", {"prov:collection": collection, "prov:entity": writer.step(chain)})
    return writer.document()


class _Writer:
    """Collects the parts of one document; what is met twice is written once."""

    def __init__(self, store: ReleaseStore, release: ReleaseInfo) -> None:
        self._store = store
        self._release = release
        self._things: dict[str, dict[str, Any]] = {"entity": {}, "activity": {}, "agent": {}}
        self._relations: dict[str, dict[str, Any]] = {}

    def document(self) -> ProvDocument:
        """The PROV-JSON document."""
        told = {"prefix": PREFIXES, **{k: v for k, v in self._things.items() if v}, **self._relations}
        # PROV-JSON has a member for every kind of thing and of relation that occurs; entities always do.
        return cast("ProvDocument", told)

    def collection(self) -> str:
        """Write the release, and with what it was cut as far as it says; the name of its entity is given back."""
        release = self._release
        name, activity = f"refdb:release/{release.label}", f"refdb:cutting/{release.label}"
        self.entity(name, {"prov:type": _name("prov:Collection"), "refdb:digest": release.digest})
        self._things["activity"][activity] = {
            "prov:type": _name("refdb:Cutting"),
            "prov:endTime": f"{release.cut_on}T00:00:00Z",
            **{f"refdb:{key}": text for key, text in self._store.made_with(release).items()},
        }
        self.relate("wasGeneratedBy", {"prov:entity": name, "prov:activity": activity})
        self.relate("wasAssociatedWith", {"prov:activity": activity, "prov:agent": self._cutter(release)})
        return name

    def written(self) -> None:
        """Write that the document itself is written by the program that runs now."""
        document, activity = "refdb:document", "refdb:writing"
        self.entity(document, {"prov:type": _name("refdb:ProvenanceDocument")})
        self._things["activity"][activity] = {"prov:type": _name("refdb:Writing")}
        self.relate("wasGeneratedBy", {"prov:entity": document, "prov:activity": activity})
        agent = self._software(importlib.metadata.version("refdb"))
        self.relate("wasAssociatedWith", {"prov:activity": activity, "prov:agent": agent})

    def _cutter(self, release: ReleaseInfo) -> str:
        """The program that cut a release."""
        version = self._store.made_with(release).get("refdb")
        return self._software(version) if version is not None else self._unknown_software(release)

    def _software(self, version: str) -> str:
        name = f"refdb:software/{_local(version)}"
        told = {"prov:type": _name("prov:SoftwareAgent"), "dcterms:title": f"refdb {version}", "refdb:version": version}
        self._things["agent"].setdefault(name, told)
        return name

    def _unknown_software(self, release: ReleaseInfo) -> str:
        name = f"refdb:software/of-{release.label}"
        told = {
            "prov:type": _name("prov:SoftwareAgent"),
            "dcterms:title": f"refdb, in a version that release {release.label} does not name",
        }
        self._things["agent"].setdefault(name, told)
        return name

    def entity(self, name: str, attributes: Mapping[str, Any]) -> str:
        """Write an entity; its name is given back."""
        self._things["entity"].setdefault(name, dict(attributes))
        return name

    def relate(self, kind: str, members: Mapping[str, Any]) -> None:
        """Write a relation, unless it stands there already."""
        written = self._relations.setdefault(kind, {})
        if dict(members) not in written.values():
            written[f"_:{kind}{len(written) + 1}"] = dict(members)

    def step(self, step: Mapping[str, Any]) -> str:
        """Write one step of the chain and everything below it; the name of its entity is given back."""
        row = step["row"]
        name = f"refdb:row/{_local(row['id'])}/{row['digest'].removeprefix('sha256:')}"
        if name in self._things["entity"]:
            return name
        told = {"refdb:kind": step.get("kind", "record"), "refdb:id": row["id"], "refdb:digest": row["digest"]}
        if "rule" in step:
            self.entity(name, told | _recommended(step))
            self._recommending(name, step)
        elif "printed" in step:
            self.entity(name, told | _reading(step))
            self._transcribing(name, step)
        else:
            self.entity(name, told)
        return name

    def _recommending(self, name: str, step: Mapping[str, Any]) -> None:
        activity = name.replace("refdb:row/", "refdb:recommending/", 1)
        rule = step["rule"]
        self._things["activity"][activity] = {
            "prov:type": _name("refdb:Recommending"),
            "refdb:rule": rule["name"],
            "refdb:method": rule["method"],
            "refdb:published": rule["published"],
            **{f"refdb:{key}": text for key, text in step["working"].items()},
        }
        self.relate("wasAssociatedWith", {"prov:activity": activity, "prov:agent": self._maker(step["row"]["id"])})
        self.relate("wasGeneratedBy", {"prov:entity": name, "prov:activity": activity})
        for entry in step["inputs"]:
            used = self.step(entry)
            self._used(activity, used, entry, ("weight", "value", "standard_uncertainty", "note"), "input")
            self.relate("wasDerivedFrom", {"prov:generatedEntity": name, "prov:usedEntity": used})
        for entry in step["left_out"]:
            self._used(activity, self.step(entry), entry, ("reason", "value"), "left out")

    def _maker(self, row: str) -> str:
        """The program that cut the release since which a row stands as it is."""
        record = self._store.record(row, self._release)
        since = self._release.ordinal if record is None else record.since
        return self._cutter(next(release for release in self._store.releases if release.ordinal == since))

    def _used(self, activity: str, entity: str, entry: Mapping[str, Any], told: tuple[str, ...], role: str) -> None:
        attributes = {f"refdb:{key}": entry[key] for key in told if key in entry}
        self.relate("used", {"prov:activity": activity, "prov:entity": entity, "prov:role": role, **attributes})

    def _transcribing(self, name: str, step: Mapping[str, Any]) -> None:
        source = step["source"]
        document = f"refdb:source/{_local(source['key'])}"
        told = {f"refdb:{key}": source[key] for key in ("type", "seen_at", "seen_on", "rights") if key in source}
        self.entity(
            document,
            {
                "prov:type": _name("refdb:Source"),
                "dcterms:bibliographicCitation": source.get("citation", source["key"]),
                **told,
            },
        )
        activity = f"refdb:transcribing/{_local(source['key'])}"
        seen_on = source.get("seen_on")
        self._things["activity"].setdefault(
            activity,
            {
                "prov:type": _name("refdb:Transcribing"),
                **({"prov:endTime": f"{seen_on}T00:00:00Z"} if seen_on else {}),
            },
        )
        self.relate("used", {"prov:activity": activity, "prov:entity": document})
        self.relate("wasGeneratedBy", {"prov:entity": name, "prov:activity": activity})
        self.relate(
            "wasDerivedFrom",
            {
                "prov:generatedEntity": name,
                "prov:usedEntity": document,
                "prov:type": _name("prov:PrimarySource"),
                "refdb:locator": step["locator"],
            },
        )
        for role, key in (("transcribed", "transcribed_by"), ("checked", "checked_by")):
            if source.get(key):
                person = f"refdb:person/{_local(source[key])}"
                self._things["agent"][person] = {"prov:type": _name("prov:Agent"), "dcterms:title": source[key]}
                self.relate("wasAssociatedWith", {"prov:activity": activity, "prov:agent": person, "prov:role": role})


def _recommended(step: Mapping[str, Any]) -> dict[str, Any]:
    told = {key: step["result"][key] for key in ("unit", "basis", "seen", "rung") if key in step["result"]}
    return {"prov:type": _name("refdb:Recommended"), **{f"refdb:{key}": text for key, text in told.items()}}


def _reading(step: Mapping[str, Any]) -> dict[str, Any]:
    printed = {key: held for key, held in step["printed"].items() if key not in {"points", "values", "terms"}}
    told: dict[str, Any] = {
        "prov:type": _name("refdb:Reading"),
        "refdb:printed": json.dumps(printed, ensure_ascii=False, sort_keys=True),
        "refdb:locator": step["locator"],
        "refdb:basis": step["basis"],
        "refdb:seen": step["seen"],
    }
    flags = [f"{flag['code']}: {flag['text']}" for flag in step["flags"]]
    return told | ({"refdb:flag": flags} if flags else {})


def _name(qualified: str) -> dict[str, str]:
    return {"$": qualified, "type": "prov:QUALIFIED_NAME"}


def _local(text: str) -> str:
    """A text as the local part of a qualified name."""
    return quote(text, safe="")
