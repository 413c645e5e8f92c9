"""Which pipe systems a pipe of a known material may belong to."""

from __future__ import annotations

from refdb.lookup import ReleaseInfo, ReleaseStore
from refdb.lookup.find import subject_named
from refdb.problems import AmbiguousName, UnknownName
from refdb.records.names import normal_name
from refdb.units.table import printable
from refdb.vocabulary import systems

SAME, OTHER_GRADE, SHARED_SIZES, SAME_CLASS, MISTAKEN = 1.0, 0.3, 0.1, 0.02, 0.0005
"""How much a system counts, by how near the material it is usual for is to the one that was told.

Judgement, no source: pipes of one grade are made to the sizes of another; a technician mistakes one metal for another
now and then, and metal for plastic hardly ever.
"""

_KIN_OF_ID = {
    "wrought-iron": "steel",
    "ductile-iron": "iron",
    "copper-nickel-90-10": "copper",
    "pvc-rigid": "pvc",
    "pvc-chlorinated": "pvc",
    "polyethylene": "pe",
    "hdpe": "pe",
    "mdpe": "pe",
    "ldpe": "pe",
    "pe-x": "pe",
    "polypropylene": "polypropylene",
    "abs": "abs",
    "pvdf": "pvdf",
    "concrete": "concrete",
}
_KIN_OF_FAMILY = {
    "carbon-steel": "steel",
    "low-alloy-steel": "steel",
    "pure-iron": "steel",
    "stainless-steel": "stainless",
    "austenitic-stainless": "stainless",
    "ferritic-stainless": "stainless",
    "martensitic-stainless": "stainless",
    "duplex-stainless": "stainless",
    "precipitation-hardening-stainless": "stainless",
    "nickel-alloy": "stainless",
    "cast-iron": "iron",
    "grey-iron": "iron",
    "ductile-iron": "iron",
    "copper-alloy": "copper",
    "cementitious": "concrete",
}
# Within these a pipe of one grade is made to the very sizes of another.
_INTERCHANGEABLE = frozenset({"stainless", "pe"})
_PLASTICS = frozenset(
    {
        "pvc",
        "pe",
        "polypropylene",
        "abs",
        "pvdf",
        "thermoplastic",
        "fluoropolymer",
        "thermoset",
        "elastomer",
        "composite",
    }
)
_MINERALS = frozenset({"concrete", "ceramic", "glass", "masonry", "stone", "carbon", "bituminous"})
_MAGNETIC = frozenset({"steel", "iron"})
# Sizes that pipes of metals without a system of their own are made to, and pipes of stainless steel beside their own.
_SHARED_SYSTEM = "b36.10"
_OWN_SIZES = frozenset({"iron", "copper", "aluminium"})


def material_named(
    store: ReleaseStore, word: str, release: ReleaseInfo, kinship: Kinship
) -> tuple[str, tuple[str, ...]]:
    """The id of the material with this name, and what was taken for granted.

    A material is a subject, or what a pipe system is usually made of. Of several grades with one name that are all made
    to the same sizes, one that a pipe system is usually made of is taken.

    Raises:
        UnknownName: there is none.
        AmbiguousName: several materials are called so.
    """
    try:
        return subject_named(store, word, release, "material").id, ()
    except AmbiguousName as several:
        grades = [str(name) for name in several.extensions.get("candidates", [])]
        if len({kinship.kin(grade) for grade in grades}) != 1:
            raise
        usual = {definition["material"] for definition in systems().values()}
        taken = next((grade for grade in grades if grade in usual), grades[0])
        return taken, (f"material: '{word}' fits {', '.join(grades)}; taken as {taken}",)
    except UnknownName:
        return _of_a_system(word), ()


def _of_a_system(word: str) -> str:
    """The material of a pipe system with this name."""
    known = sorted({str(definition["material"]) for definition in systems().values()})
    wanted = normal_name(word)
    for material in known:
        if normal_name(material) == wanted:
            return material
    shown = printable(word)
    raise UnknownName(
        f"material: no material is called '{shown}'; pipes here are of {', '.join(known)}. Leave it "
        "out where it is not known.",
        parameter="material",
        given=shown,
        candidates=known,
    )


class Kinship:
    """How near materials are to each other in a release."""

    def __init__(self, store: ReleaseStore, release: ReleaseInfo) -> None:
        self._store, self._release = store, release

    def kin(self, material: str) -> str:
        """The group of materials that this one belongs to, such as `steel` or `pvc`."""
        if material in _KIN_OF_ID:
            return _KIN_OF_ID[material]
        record = self._store.record(material, self._release)
        family = str(record.body["family"]) if record is not None and "family" in record.body else material
        return _KIN_OF_FAMILY.get(family, family)

    def material_class(self, material: str) -> str:
        """`metal`, `plastic` or `mineral`."""
        kin = self.kin(material)
        return "plastic" if kin in _PLASTICS else "mineral" if kin in _MINERALS else "metal"

    def magnetic(self, material: str) -> bool:
        """Whether a magnet holds on it."""
        return self.kin(material) in _MAGNETIC

    def weight(self, told: str, system_id: str) -> float:
        """How much a system counts for a pipe of the material that was told."""
        usual = str(systems()[system_id]["material"])
        if told == usual:
            return SAME
        kin = self.kin(told)
        if kin == self.kin(usual):
            return SAME if kin in _INTERCHANGEABLE else OTHER_GRADE
        if self.material_class(told) != self.material_class(usual):
            return MISTAKEN
        return SHARED_SIZES if system_id == _SHARED_SYSTEM and kin not in _OWN_SIZES else SAME_CLASS
