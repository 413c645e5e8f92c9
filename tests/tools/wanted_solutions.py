"""The solutions that a plant meets, by kind, for the table that tells what is here of them."""

from __future__ import annotations

PROPERTIES = ("sound_speed", "density", "dynamic_viscosity", "specific_heat", "freezing_point")

WANTED: dict[str, tuple[str, ...]] = {
    "glycols and alcohols": (
        "ethylene-glycol-water",
        "propylene-glycol-water",
        "1-3-propanediol-water",
        "glycerol-water",
        "methanol-water",
        "ethanol-water",
        "2-propanol-water",
    ),
    "acids": (
        "sulphuric-acid-water",
        "hydrochloric-acid-water",
        "nitric-acid-water",
        "phosphoric-acid-water",
        "acetic-acid-water",
        "hydrofluoric-acid-water",
    ),
    "bases": ("sodium-hydroxide-water", "potassium-hydroxide-water", "ammonia-water"),
    "salts": (
        "sodium-chloride-water",
        "calcium-chloride-water",
        "potassium-chloride-water",
        "magnesium-chloride-water",
        "potassium-formate-water",
        "potassium-acetate-water",
        "potassium-carbonate-water",
        "lithium-bromide-water",
    ),
    "others": ("hydrogen-peroxide-water", "sodium-hypochlorite-water", "urea-water", "sucrose-water"),
}
