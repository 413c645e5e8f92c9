"""The liquids that a plant meets, for the fill table: what is here of each, on which rung, and how well it is known.

By exact name or designation, as a user would ask: ids of oils and foods are not fixed here.
"""

from __future__ import annotations

WANTED: dict[str, tuple[str, ...]] = {
    "water": ("water", "seawater", "heavy-water"),
    "alcohols and glycols": (
        "methanol", "ethanol", "1-propanol", "2-propanol", "1-butanol", "2-butanol", "isobutanol", "tert-butanol",
        "ethylene-glycol", "propylene-glycol", "diethylene-glycol", "triethylene-glycol", "1-3-propanediol", "glycerol",
    ),
    "ketones, acids, esters": (
        "acetone", "2-butanone", "methyl-isobutyl-ketone", "acetic-acid", "formic-acid", "ethyl-acetate",
        "n-butyl-acetate",
    ),
    "aromatics and alkanes": (
        "benzene", "toluene", "o-xylene", "m-xylene", "p-xylene", "ethylbenzene", "styrene", "cyclohexane",
        "n-pentane", "n-hexane", "n-heptane", "n-octane", "iso-octane", "n-nonane", "n-decane", "n-undecane",
        "n-dodecane", "n-tridecane", "n-tetradecane", "n-pentadecane", "n-hexadecane",
    ),
    "chlorinated solvents and carbon disulphide": (
        "dichloromethane", "chloroform", "carbon-tetrachloride", "1-2-dichloroethane", "trichloroethylene",
        "tetrachloroethylene", "1-1-1-trichloroethane", "chlorobenzene", "carbon-disulphide",
    ),
    "solvents with nitrogen, sulphur and oxygen": (
        "aniline", "nitrobenzene", "dimethylformamide", "dimethyl-sulphoxide", "n-methyl-2-pyrrolidone",
        "acetonitrile", "tetrahydrofuran",
    ),
    "liquefied gases": (
        "ammonia", "carbon-dioxide", "LPG", "propane", "n-butane", "isobutane", "LNG", "methane", "ethane", "ethylene",
        "propylene", "nitrogen", "oxygen", "argon",
    ),
    "refrigerants": (
        "r-11", "r-12", "r-13", "r-13i1", "r-14", "r-21", "r-22", "r-23", "r-32", "r-40", "r-41", "r-113", "r-114",
        "r-115", "r-116", "r-123", "r-124", "r-125", "r-134a", "r-141b", "r-142b", "r-143a", "r-152a", "r-161",
        "r-218", "r-227ea", "r-236ea", "r-236fa", "r-245ca", "r-245fa", "r-365mfc", "r-c318", "r-404a", "r-407c",
        "r-410a", "r-507a", "r-1123", "r-1130e", "r-1132e", "r-1224ydz", "r-1233zde", "r-1234yf", "r-1234zee",
        "r-1234zez", "r-1243zf", "r-1336mzze", "r-1336mzzz", "r-e143a", "R-290", "R-600a", "R-717", "R-744",
    ),
    "fuels and crude oil": (
        "gasoline", "kerosene", "jet fuel", "diesel", "light fuel oil", "heavy fuel oil", "crude oil", "biodiesel",
    ),
    "oils": (
        "lubricating oil", "ISO VG 32", "ISO VG 46", "ISO VG 68", "ISO VG 100", "ISO VG 220", "hydraulic oil",
        "transformer oil", "white oil", "silicone-oil-100", "silicone-oil-1000",
        "castor oil", "olive oil", "rapeseed oil", "soybean oil",
        "sunflower oil", "palm oil",
    ),
    "foods": ("milk", "beer", "wine", "orange-juice", "apple-juice"),
    "metals": ("mercury",),
}  # fmt: skip
"""Groups of names."""

PROPERTIES = (
    "sound_speed",
    "density",
    "dynamic_viscosity",
    "kinematic_viscosity",
    "specific_heat",
    "thermal_expansion",
    "absorption_over_frequency_squared",
    "saturation_pressure",
    "freezing_point",
)
