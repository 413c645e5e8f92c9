"""The command that answers for emulsions and slurries."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from refdb.cli import printing
from refdb.cli.options import json_option, release_options
from refdb.opening import open_database
from refdb.suspensions.question import SuspensionQuestion
from refdb.values.options import read_options

if TYPE_CHECKING:
    from refdb.documents import QuantityDocument
    from refdb.suspensions.documents import SuspensionAtFraction, SuspensionAtSpeed


@click.command("suspension")
@click.argument("continuous", metavar="CONTINUOUS")
@click.argument("dispersed", metavar="[DISPERSED]", required=False)
@click.option("--fraction", metavar="QUANTITY", help="Of what is dispersed: '10 % vol' or '10 % mass'.")
@click.option("--fraction-uncertainty", metavar="QUANTITY", help="Standard, on the same basis: '0.5 % vol'.")
@click.option("--sound-speed", metavar="QUANTITY", help="As measured, in place of the fraction: '1466 m/s'.")
@click.option("--sound-speed-uncertainty", metavar="QUANTITY", help="Standard: '1 m/s'.")
@click.option("--temperature", metavar="QUANTITY", help="Of the mixture: '20 degC'.")
@click.option("--pressure", metavar="QUANTITY", help="Such as '3 bar(g)'; 1 atm when not given.")
@click.option("--salinity", metavar="QUANTITY", help="Of sea water: '35 g/kg'.")
@click.option("--strength", metavar="QUANTITY", help="Of the part that is a solution: '20 % mass'.")
@click.option("--solid-density", metavar="QUANTITY", help="Of a solid given by numbers: '2600 kg/m3'.")
@click.option("--solid-density-uncertainty", metavar="QUANTITY", help="Standard: '50 kg/m3'.")
@click.option("--solid-compressibility", metavar="QUANTITY", help="Adiabatic: '27 1/TPa'.")
@click.option("--solid-compressibility-uncertainty", metavar="QUANTITY", help="Standard: '3 1/TPa'.")
@click.option("--solid-longitudinal-speed", metavar="QUANTITY", help="In place of it, with the shear speed.")
@click.option("--solid-longitudinal-speed-uncertainty", metavar="QUANTITY", help="Standard: '50 m/s'.")
@click.option("--solid-shear-speed", metavar="QUANTITY", help="Such as '3760 m/s'.")
@click.option("--solid-shear-speed-uncertainty", metavar="QUANTITY", help="Standard: '50 m/s'.")
@click.option("--particle-size", metavar="QUANTITY", help="Diameter of particles or drops: '5 um'.")
@click.option("--frequency", metavar="QUANTITY", help="Of the sound: '1 MHz'.")
@click.option("--accept", metavar="estimates", help="Also use values that nobody published.")
@release_options
@json_option
def suspension_command(accept: str | None, release: str | None, as_of: str | None, as_json: bool, **asked: Any) -> None:
    """Sound in a liquid that carries fine particles or drops, by Wood's equation; or the fraction from the speed.

    DISPERSED is a liquid that does not mix with CONTINUOUS, or a material; leave it out for a solid given by numbers:
    refdb suspension water toluene --fraction '10 % vol' --temperature '20 degC'.
    """
    question = SuspensionQuestion(**asked)
    found = open_database(release, as_of).suspension(question, options=read_options(accept=accept))
    document = printing.finite(found)
    if as_json:
        return printing.print_json(document)
    title = f"{found.dispersed.name} in {found.continuous.name}, release {found.release}, {document['rung']}"
    forward, back = document["at_fraction"], document["at_speed"]
    lines = [*(_forward(forward) if forward is not None else ()), *(_back(back) if back is not None else ())]
    slowest = document["slowest"]
    if slowest is not None:
        lines.append(
            f"Sound is slowest at {_percent(slowest['volume_fraction'])} % vol: {_told(slowest['sound_speed'])}."
        )
    return printing.show(
        f"{title}: {found}",
        *lines,
        document["equation"],
        *document["validity"],
        *(f"Warning: {text}" for text in document["warnings"]),
        *(f"Assumed: {text}" for text in document["assumptions"]),
        *(f"Row {row['id']} ({row['rung']}) {row['digest']}" for row in document["rows"]),
        *dict.fromkeys(f"Source {source['key']}: {source['citation']}" for source in document["sources"]),
    )


def _forward(told: SuspensionAtFraction) -> list[Any]:
    table = printing.grid("input", "value", "standard uncertainty", "contributes")
    for entry in told["contributions"]:
        parts = (entry["value"], entry["standard_uncertainty"], entry["contribution"])
        table.add_row(entry["input"], *("" if part is None else _told(part) for part in parts))
    slope = told["slope"]
    return [
        f"{_percent(told['volume_fraction'])} % vol, {_percent(told['mass_fraction'])} % mass; density "
        f"{_told(told['density'])} ± {told['density_standard_uncertainty']['magnitude']:.2g}; slope "
        f"{slope['magnitude']:.4g} {slope['unit']}; particles that lag: {_told(told['slipping_speed'])}, that "
        f"exchange heat: {_told(told['warmed_speed'])}",
        table,
    ]


def _back(told: SuspensionAtSpeed) -> list[Any]:
    lines: list[Any] = []
    for root in told["roots"]:
        doubt = root["standard_uncertainty"]
        spread = "" if doubt is None else f" ± {_percent(doubt, 2)}"
        lines.append(
            f"{_percent(root['volume_fraction'])}{spread} % vol, {_percent(root['mass_fraction'])} % mass, density "
            f"{_told(root['density'])}"
        )
    ends = (f"{_percent(part['low'])} to {_percent(part['high'])} % vol" for part in told["stretches"])
    return [*lines, *(f"Agrees within 2 standard uncertainties: {end}" for end in ends), *told["advice"]]


def _told(quantity: QuantityDocument) -> str:
    return f"{quantity['magnitude']:.5g} {quantity['unit']}"


def _percent(quantity: QuantityDocument, digits: int = 4) -> str:
    return f"{100.0 * quantity['magnitude']:.{digits}g}"
