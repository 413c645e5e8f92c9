"""The command that answers for emulsions and slurries."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from refdb.cli import printing
from refdb.cli.asking import asks
from refdb.cli.options import json_option
from refdb.opening import open_database
from refdb.suspensions.question import SuspensionSpeedQuestion
from refdb.values.options import options_of

if TYPE_CHECKING:
    from refdb.documents import QuantityDocument
    from refdb.suspensions.documents import SuspensionAtFraction, SuspensionAtSpeed


@click.command("suspension")
@asks(SuspensionSpeedQuestion)
@json_option
def suspension_command(asked: SuspensionSpeedQuestion, as_json: bool) -> None:
    """Sound in a liquid that carries fine particles or drops, by Wood's equation; or the fraction from the speed.

    DISPERSED is a liquid that does not mix with CONTINUOUS, or a material; leave it out for a solid given by numbers:
    refdb suspension water toluene --fraction '10 % vol' --temperature '20 degC'.
    """
    database = open_database(asked.release, asked.as_of)
    found = database.suspension(asked, options=options_of(asked))
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
        uncertainty = root["standard_uncertainty"]
        spread = "" if uncertainty is None else f" ± {_percent(uncertainty, 2)}"
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
