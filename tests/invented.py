"""A small, invented ledger: documents, subjects and numbers that exist nowhere else.

Tests of the machinery (building, cutting, verifying, correcting) use it, so that they neither depend on nor touch the
real evidence. The vocabulary is the real one.
"""

from __future__ import annotations

import json
import shutil
from collections.abc import Sequence
from pathlib import Path

from refdb.records import release_digest

PROJECT = Path(__file__).parent.parent

SOURCE = """
[source]
type = "article"
title = "{title}"
authors = ["Invented, A."]
year = "1999"
seen_at = "invented for tests"
seen_on = "2026-11-25"
transcribed_by = "tests"
rights = "CC0-1.0"
{more}
[defaults]
basis = "measured"
seen = "original"
"""

SUBJECTS = """
[invented-metal]
name = "Invented metal"
subject_kind = "material"
family = "other-metal"

[invented-plastic]
name = "Invented plastic"
subject_kind = "material"
family = "thermoplastic"

[invented-liquid]
name = "Invented liquid"
subject_kind = "liquid"
family = "invented"
"""

RULES = """
[families.metals]
members = ["other-metal"]
elastic = true
longitudinal_speed = "0.015"
shear_speed = "0.02"
density = "0.01"
youngs_modulus = "0.03"
shear_modulus = "0.03"
bulk_modulus = "0.05"
poisson_ratio = "0.015"
room_temperature = { low = "0", high = "40", unit = "degC" }
speed_slope = "0.00015"
model = "0.02"

[families.plastics]
members = ["thermoplastic"]
elastic = false
longitudinal_speed = "0.04"
shear_speed = "0.06"
density = "0.02"
youngs_modulus = "0.25"
shear_modulus = "0.25"
bulk_modulus = "0.15"
poisson_ratio = "0.03"
room_temperature = { low = "15", high = "25", unit = "degC" }
speed_slope = "0.003"
model = "0.10"

[room]
low = "15"
high = "30"
unit = "degC"

[[reference]]
row = "invented-liquid.sound_speed"
reading = "invented-liquid.sound_speed.01"
reason = "It is the only one."
"""

SECOND_RULE = """
[families.metals.repeatability]
longitudinal_speed = "0.008"
shear_speed = "0.008"
density = "0.005"
youngs_modulus = "0.02"
shear_modulus = "0.02"
bulk_modulus = "0.03"
poisson_ratio = "0.01"

[families.plastics.repeatability]
longitudinal_speed = "0.03"
shear_speed = "0.03"
density = "0.01"
youngs_modulus = "0.1"
shear_modulus = "0.1"
bulk_modulus = "0.1"
poisson_ratio = "0.02"

[consensus]
rule = "consensus/2"

[[consensus.poisson_ratio]]
members = ["other-metal"]
low = "0.20"
high = "0.40"
reason = "Invented."

[estimate]
members = 4
largest = "0.10"
reason = "Invented."
"""
"""What rule consensus/2 and the rules after it need beside `RULES`."""

READINGS_HEADER = "id,subject,property,value,low,high,unit,temperature,locator,flag,flag_text\n"

FIRST_READINGS = (
    "invented-metal.longitudinal_speed.01,invented-metal,longitudinal_speed,5000,,,m/s,20 degC,table 1,,\n"
    "invented-metal.density.01,invented-metal,density,7.5,,,g/cm3,,table 1,,\n"
)
SECOND_READINGS = "invented-metal.longitudinal_speed.02,invented-metal,longitudinal_speed,5100,,,m/s,20 degC,page 7,,\n"

EQUATION = """
[[equation]]
id = "invented-liquid.sound_speed.01"
subject = "invented-liquid"
property = "sound_speed"
unit = "m/s"
locator = "equation 3"
equation_printed = "c = a + b t"
form = "polynomial/1"

[equation.state]
pressure = { number = "1", unit = "atm" }

[equation.variable]
name = "temperature"
unit = "degC"

[equation.interval]
low = "5"
high = "60"
unit = "degC"

[equation.coefficients]
c0 = "1300"
c1 = "-3.5"
"""


def write_invented_text(root: Path) -> None:
    """Write the invented `sources/` and `shared/` below `root`."""
    shutil.copytree(PROJECT / "shared" / "vocabulary", root / "shared" / "vocabulary")
    with (root / "shared" / "vocabulary" / "families.toml").open("a") as stream:
        stream.write('\n[invented]\napplies_to = "liquid"\n')
    (root / "shared" / "subjects").mkdir()
    (root / "shared" / "subjects" / "invented.toml").write_text(SUBJECTS)
    (root / "shared" / "subjects" / "designations.csv").write_text(
        "subject,kind,text,source,locator\n"
        "invented-metal,UNS,X00001,,\ninvented-metal,name,toy metal,,\ninvented-plastic,name,toy,,\n"
        "invented-metal,name,toy,,\n"
    )
    (root / "sources" / "rules").mkdir(parents=True)
    (root / "sources" / "rules" / "invented.toml").write_text(RULES)
    write_document(root, "first-article", READINGS_HEADER + FIRST_READINGS)
    equation = root / "sources" / "documents" / "read" / "first-article" / "equations.toml"
    equation.write_text(EQUATION)


def follow_second_rule(root: Path) -> None:
    """Let an invented text follow consensus/2, with families worth twenty degrees of freedom."""
    rules = root / "sources" / "rules" / "invented.toml"
    text = rules.read_text().replace("elastic = ", "freedom = 20\nelastic = ")
    rules.write_text(text + SECOND_RULE)


def write_document(root: Path, key: str, readings: str, more: str = "", group: str = "read") -> Path:
    """Write one invented document with its readings into a group of documents; its folder is given back."""
    folder = root / "sources" / "documents" / group / key
    folder.mkdir(parents=True, exist_ok=True)
    text = SOURCE.format(title=f"The {key.replace('-', ' ')}", more=more)
    seen = {"read": "original", "programs": "library", "memory": "memory"}[group]
    (folder / "source.toml").write_text(text.replace('"original"', f'"{seen}"'))
    (folder / "readings.csv").write_text(readings)
    return folder


def write_earlier_cut(root: Path, label: str, rows: Sequence[tuple[str, str]]) -> None:
    """Write an invented earlier cut under a label, which held the versions of rows given by id and digest."""
    folder = root / "sources" / "earlier-cuts"
    folder.mkdir(exist_ok=True)
    header = {
        "label": label,
        "digest": "sha256:" + "c" * 64,
        "commit": "c" * 40,
        "cut_on": "2026-01-01",
        "superseded_on": "2026-01-02",
        "rows_digest": release_digest(rows),
        "why": "invented: its numbers were placeholders",
    }
    (folder / f"{label}-cccccccc.toml").write_text("".join(f"{k} = {json.dumps(v)}\n" for k, v in header.items()))
    (folder / f"{label}-cccccccc.csv").write_text("id,digest\n" + "".join(f"{row},{one}\n" for row, one in rows))


WEIGHED_RULE = """
[[evidence]]
name = "measurement"
gives_way_to = []
of = [{ basis = "measured" }]
reason = "Invented."

[[evidence]]
name = "teaching table"
beside = 2
gives_way_to = ["measurement"]
of = [{ type = "textbook" }]
reason = "Invented."

[[evidence]]
name = "program's default"
unfounded = true
gives_way_to = ["measurement", "teaching table"]
of = [{ type = "library" }]
reason = "Invented."

[[class_width]]
name = "teaching table"
properties = ["longitudinal_speed", "shear_speed"]
excess = "2"
cases = 9

[[error_correlation]]
between = ["longitudinal_speed", "shear_speed"]
coefficient = "0.5"
low = "0.3"
high = "0.7"
cases = 40

[attenuation]
spread = "0.4"
reason = "Invented."
""" + "".join(
    f"\n[widths.{group}]\n"
    + "".join(
        f'{name} = {{ spread = "{spread}", freedom = 20, cases = 50 }}\n'
        for name in (
            "longitudinal_speed", "shear_speed", "density", "youngs_modulus", "shear_modulus", "bulk_modulus",
            "poisson_ratio",
        )
    )
    for group, spread in (("metals", "0.01"), ("plastics", "0.04"))
)  # fmt: skip
"""What rule consensus/3 needs beside `SECOND_RULE`: classes of evidence, and widths of 1 and 4 %."""


def follow_weighed_rule(root: Path) -> None:
    """Let an invented text follow consensus/3; its plastics carry sound faster at higher frequencies."""
    rules = root / "sources" / "rules" / "invented.toml"
    text = rules.read_text().replace("elastic = false\n", "elastic = false\ndispersive = true\n")
    rules.write_text(text + SECOND_RULE.replace("consensus/2", "consensus/3") + WEIGHED_RULE)
