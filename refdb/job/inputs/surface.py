"""The roughness inside a job's pipe: given, or that of the surface which its material usually has at its age."""

from __future__ import annotations

from refdb.job.inputs.held import Inputs, JobInput, metres
from refdb.job.quantities import number
from refdb.lookup.find import subject_named
from refdb.pipes.roughness import RoughnessAnswer
from refdb.problems import Problem, UnknownName
from refdb.units.sizes import NO_SOURCE

ROUGHNESS_SPREAD = 0.5
"""Of a roughness, standard: what documents and pipes of one surface differ by (judgement)."""
UNKNOWN_ROUGHNESS = 5e-5
"""m: of a surface nobody published anything of (judgement)."""
USED_FROM = 5.0
"""Years in service from which on the surface of a used pipe is taken, where one is published (judgement)."""

USUAL = {
    "asbestos-cement": ("asbestos-cement-new", "asbestos-cement"),
    "brick": ("brick-well-pointed", "brick-old"),
    "carbon-steel": ("steel-new", "steel-used"),
    "cast-iron": ("cast-iron-new", "cast-iron-worn"),
    "cement-mortar": ("cement-mortar-lined", "cement-mortar-lined"),
    "concrete": ("concrete-ordinary", "concrete-used"),
    "ductile-iron": ("ductile-iron-new", "cast-iron-worn"),
    "pvc-rigid": ("plastic-new", "plastic-new"),
    "rubber": ("steel-rubber-lined", "steel-rubber-lined"),
    "stainless-410": ("chromium-steel-13-bare", "chromium-steel-13-bare"),
    "vitrified-clay": ("clayware-glazed-new", "clayware-sewer"),
    "wood": ("wood-stave", "wood-stave"),
    "wrought-iron": ("wrought-iron-new", "wrought-iron-rusty"),
}
"""The surfaces of a bare pipe of a material, new and used, where several are published: plain and without a lining or
coating, for whoever has one tells it (judgement)."""
USUAL_OF_FAMILY = {
    "aluminium": ("drawn-metal-new", "drawn-metal-new"),
    "austenitic-stainless": ("stainless-new", "stainless-new"),
    "carbon-steel": ("steel-new", "steel-used"),
    "copper-alloy": ("drawn-metal-new", "drawn-metal-new"),
    "ductile-iron": ("ductile-iron-new", "cast-iron-worn"),
    "duplex-stainless": ("stainless-new", "stainless-new"),
    "elastomer": ("steel-rubber-lined", "steel-rubber-lined"),
    "ferritic-stainless": ("stainless-new", "stainless-new"),
    "fluoropolymer": ("steel-plastic-coated", "steel-plastic-coated"),
    "glass": ("glass", "glass"),
    "grey-iron": ("cast-iron-new", "cast-iron-worn"),
    "low-alloy-steel": ("steel-new", "steel-used"),
    "martensitic-stainless": ("stainless-new", "stainless-new"),
    "nickel-alloy": ("stainless-new", "stainless-new"),
    "precipitation-hardening-stainless": ("stainless-new", "stainless-new"),
    "stainless-steel": ("stainless-new", "stainless-new"),
    "thermoplastic": ("plastic-new", "plastic-new"),
    "titanium": ("stainless-new", "stainless-new"),
}
"""The same for materials of which nothing is published: as smooth as their kin (judgement)."""


def read_roughness(inputs: Inputs) -> None:
    """Keep the roughness of what the liquid flows along: the lining where there is one, else the pipe.

    Raises:
        UnknownName: no roughness is published of the surface that was named.
        BadParameter: a given roughness is wrong.
    """
    pipe = inputs.job.pipe
    if pipe.roughness is not None:
        value = number(pipe.roughness, "length", "pipe.roughness")
        inputs.keep(JobInput("roughness", value, ROUGHNESS_SPREAD * value, "length", "given"))
        return
    if pipe.surface is not None:
        found = inputs.database.roughness(pipe.surface, release=inputs.release)
        _keep(inputs, found[0], None)
        return
    material = pipe.lining.material if pipe.lining is not None and pipe.lining.material else pipe.material
    surface, why = _usual(inputs, material)
    try:
        found = inputs.database.roughness(surface or material, release=inputs.release)
    except UnknownName:
        inputs.keep(JobInput("roughness", UNKNOWN_ROUGHNESS, UNKNOWN_ROUGHNESS, "length", "default", NO_SOURCE))
        inputs.assumptions.append(f"pipe.roughness: not published for {material}; 0.05 mm taken ({NO_SOURCE})")
        return
    _keep(inputs, found[0], why or "the first that is published of it")


def _keep(inputs: Inputs, row: RoughnessAnswer, why: str | None) -> None:
    value = metres(row.value)
    inputs.rows[row.id] = row.record.digest
    inputs.keep(JobInput("roughness", value, ROUGHNESS_SPREAD * value, "length", "row", f"row {row.id}"))
    if why is not None:
        inputs.assumptions.append(f"pipe.surface not given: {row.id}, {why}")


def _usual(inputs: Inputs, material: str) -> tuple[str | None, str]:
    """The surface that is taken for a material, and why; None where nothing is published of it or its kin."""
    age = inputs.job.pipe.age
    used = age is not None and age >= USED_FROM
    years = f"after {age:g} years in service" if used else "new, since no age of 5 years or more is told"
    try:
        subject = subject_named(inputs.database.store, material, inputs.release, "material")
    except Problem:
        return None, ""
    if subject.id in USUAL:
        return USUAL[subject.id][used], f"the usual one of {subject.id}, {years} (judgement)"
    # Grades of stainless steel have several surfaces and share the usual one of their family.
    family = str(subject.body.get("family"))
    if family in USUAL_OF_FAMILY:
        return USUAL_OF_FAMILY[family][used], f"as of its kin ({family}), {years} (judgement)"
    return None, ""
