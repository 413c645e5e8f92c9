"""Invented liquids with equations of their sound speed and density, and a solution with a strength that turns.

For tests of the way back from a sound speed: every number can be checked by hand.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable
from pathlib import Path

from refdb.data import current
from refdb.database import Database
from refdb.lookup import ReleaseStore
from refdb.release import build, cut_release
from refdb.values.reader import Reader
from tests.invented import SOURCE, write_invented_text

SPEEDS = {
    # m/s at 0 degC, m/s per K, and between which degrees
    "blue": (1277.0, -3.5, 0, 100),
    "green": (1297.0, -4.5, 0, 100),
    "red": (1280.0, -3.5, 0, 100),
    "near": (1295.0, -3.5, 0, 100),
    "hot": (1277.0, -3.5, 50, 100),
}
DENSITIES = {"blue": 1100.0, "green": 800.0, "red": 801.0}
CELSIUS, STRENGTH = ("0", "40"), ("0", "0.5")
"""Between which temperatures and mass fractions the spirit is known."""


def spirit_speed(celsius: float, strength: float) -> float:
    """m/s of the invented spirit: at 20 degC it turns at a mass fraction of 0.22."""
    warm = celsius - 20.0
    return 1482.0 + 2.5 * warm + (1400.0 - 20.0 * warm) * strength - 1400.0 / 0.44 * strength * strength


def spirit_density(celsius: float, strength: float) -> float:
    """kg/m3 of the invented spirit: at 20 degC it is as dense at a mass fraction of 0.1 as at 0.5."""
    return 800.0 + 300.0 * strength - 500.0 * strength * strength - 0.5 * (celsius - 20.0)


def liquids(root: Path) -> Database:
    """A release of invented liquids, built below `root`."""
    text = root / "text"
    write_invented_text(text)
    subjects = text / "shared" / "subjects" / "invented.toml"
    names = [*SPEEDS, "silent", "spirit"]
    blocks = [f'\n[{n}]\nname = "Invented {n}"\nsubject_kind = "liquid"\nfamily = "invented"\n' for n in names]
    subjects.write_text(subjects.read_text() + "".join(blocks) + SOLUTIONS)
    folder = text / "sources" / "documents" / "read" / "colours"
    folder.mkdir(parents=True)
    (folder / "source.toml").write_text(SOURCE.format(title="Colours", more=""))
    lines = [("sound_speed", "m/s", name, *line) for name, line in SPEEDS.items()]
    lines += [("density", "kg/m3", name, density, 0.0, 0, 100) for name, density in DENSITIES.items()]
    (folder / "equations.toml").write_text("".join(_equation(*line) for line in lines))
    (folder / "grids.toml").write_text("".join(_grid(*part) for part in GRIDS))
    for subject, what, _, law in GRIDS:
        (folder / f"{subject}-{what}.csv").write_text(_nodes(law))
    rules = text / "sources" / "rules" / "invented.toml"
    followed = [
        f'\n[[reference]]\nrow = "{name}.{what}"\nreading = "{name}.{what}.01"\nreason = "Invented."\n'
        for what, _, name, *_ in lines
    ]
    rules.write_text(rules.read_text() + "".join(followed) + "".join(_grid_rule(*part) for part in GRIDS))
    cut_release(text, "2026r1", "A trial.", datetime.date(2026, 1, 2))
    build(text, root / "compiled")
    return Database(Reader(ReleaseStore(current(root / "compiled").store)))


def _equation(what: str, unit: str, name: str, at_zero: float, slope: float, low: int, high: int) -> str:
    return f"""
[[equation]]
id = "{name}.{what}.01"
subject = "{name}"
property = "{what}"
unit = "{unit}"
locator = "equation of {name}"
equation_printed = "y = a + b t"
form = "polynomial/1"
state = {{ pressure = {{ number = "1", unit = "atm" }} }}
variable = {{ name = "temperature", unit = "degC" }}
interval = {{ low = "{low}", high = "{high}", unit = "degC" }}
coefficients = {{ c0 = "{at_zero}", c1 = "{slope}" }}
"""


SOLUTIONS = """
[spirit.solution]
formula = "C2H6O"
solute = "blue"
solvent = "green"

[brine]
name = "Invented brine"
subject_kind = "liquid"
family = "invented"
solution = { formula = "NaCl", solvent = "green" }

[liquor]
name = "Invented liquor"
subject_kind = "liquid"
family = "invented"
solution = { formula = "C2H6O", solute = "blue", solvent = "green", alcoholic = true }
"""

GRIDS = (
    ("spirit", "sound_speed", "m/s", spirit_speed),
    ("spirit", "density", "kg/m3", spirit_density),
    ("brine", "density", "kg/m3", spirit_density),
    ("liquor", "density", "kg/m3", spirit_density),
)


def _grid(subject: str, what: str, unit: str, _law: object) -> str:
    return f"""
[[grid]]
id = "{subject}.{what}.01"
subject = "{subject}"
property = "{what}"
unit = "{unit}"
basis = "computed"
locator = "an equation, evaluated at the nodes"
of = "value"
values_file = "{subject}-{what}.csv"
fit_error = {{ number = "0", unit = "%" }}
state = {{ temperature_scale = "ITS-90" }}
axes = [
  {{ name = "temperature", unit = "degC", scale = "ITS-90", low = "{CELSIUS[0]}", high = "{CELSIUS[1]}", nodes = 2 }},
  {{ name = "strength", unit = "kg/kg", low = "{STRENGTH[0]}", high = "{STRENGTH[1]}", nodes = 3 }},
]
"""


def _grid_rule(subject: str, what: str, unit: str, _law: object) -> str:
    return f"""
[[grid]]
row = "{subject}.{what}"
reading = "{subject}.{what}.01"
reason = "Invented."
uncertainty = {{ number = "1", unit = "{unit}", text = "invented" }}
"""


def _nodes(law: Callable[[float, float], float]) -> str:
    def places(low: str, high: str, nodes: int) -> list[float]:
        middle, half = (float(low) + float(high)) / 2.0, (float(high) - float(low)) / 2.0
        return [round(middle - half * math.cos(math.pi * k / (nodes - 1)), 12) for k in range(nodes)]

    lines = [
        f"{celsius:g},{strength:g},{law(celsius, strength):.12g}\n"
        for celsius in places(*CELSIUS, 2)
        for strength in places(*STRENGTH, 3)
    ]
    return "temperature,strength,value\n" + "".join(lines)
