"""The walls and linings that a technician meets, for the fill table: what is here of each, and on which rung."""

from __future__ import annotations

WANTED: dict[str, tuple[str, ...]] = {
    "steels": (
        "carbon-steel", "chromium-molybdenum-p11", "chromium-molybdenum-p22", "chromium-molybdenum-p91",
        "low-alloy-4340", "stainless-304", "stainless-304l", "stainless-316", "stainless-316l", "stainless-321",
        "stainless-347", "stainless-310", "stainless-410", "stainless-430", "stainless-904l", "stainless-6mo",
        "stainless-316ti", "stainless-317l", "duplex-2205", "duplex-2304", "duplex-2101", "duplex-2507", "duplex-4501",
        "alloy-20",
    ),
    "irons": (
        "grey-iron-class-20", "grey-iron-class-25", "grey-iron-class-30", "grey-iron-class-35", "grey-iron-class-40",
        "ductile-iron", "malleable-iron", "white-iron", "grey-iron", "austenitic-iron", "high-silicon-iron",
    ),
    "nickel alloys": (
        "nickel-200", "nickel-201", "alloy-400", "alloy-k-500", "alloy-600", "alloy-601", "alloy-625", "alloy-718",
        "alloy-x-750", "alloy-800", "alloy-825", "alloy-b-2", "alloy-c-4", "alloy-c-22", "alloy-c-276", "alloy-59",
        "alloy-28", "alloy-690", "alloy-x",
    ),
    "titanium, zirconium and refractory metals": (
        "titanium-grade-1", "titanium-grade-2", "titanium-grade-5", "titanium-grade-7", "titanium-grade-12",
        "zirconium-702", "zirconium-705", "zirconium-tin-alloy-2", "zirconium-tin-alloy-4", "tantalum", "niobium",
        "tungsten", "molybdenum",
    ),
    "copper alloys, aluminium, lead": (
        "copper", "brass-70-30", "admiralty-brass", "naval-brass", "aluminium-bronze", "phosphor-bronze",
        "copper-nickel-90-10", "copper-nickel-70-30", "aluminium-1100", "aluminium-3003", "aluminium-5083",
        "aluminium-6061", "aluminium-6063", "aluminium-6060", "aluminium-6082", "lead",
        "brass-dezincification-resistant", "aluminium-brass", "silicon-bronze", "copper-phosphorus-deoxidised",
    ),
    "plastics": (
        "pvc-rigid", "pvc-oriented", "pvc-chlorinated", "ldpe", "mdpe", "hdpe", "pe-x", "pe-rt", "polypropylene",
        "polybutene", "abs", "pvdf", "ptfe", "pfa", "fep", "etfe", "ectfe", "peek", "polyamide", "pmma", "polysulfone",
        "grp", "gre-filament-wound",
    ),
    "rubbers": (
        "natural-rubber", "chloroprene-rubber", "butyl-rubber", "nitrile-rubber", "epdm", "silicone-rubber", "ebonite",
        "polyurethane",
    ),
    "linings and minerals": (
        "epoxy", "vinyl-ester", "bitumen", "coal-tar", "cement-mortar", "concrete", "asbestos-cement", "vitrified-clay",
        "glass", "enamel", "graphite", "cast-basalt",
    ),
}  # fmt: skip
"""Groups of subject ids."""

PROPERTIES = ("longitudinal_speed", "shear_speed", "density", "thermal_expansion", "absorption")
