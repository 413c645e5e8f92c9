"""`refdb suspension` prints the speed with its rows, or the fractions, or why neither can be told."""

from __future__ import annotations

import json

from tests.conftest import CommandLine

TOLUENE = ("suspension", "water", "toluene", "--temperature", "20 degC")


def test_the_speed_of_an_emulsion(command: CommandLine) -> None:
    printed = command(*TOLUENE, "--fraction", "10 % vol")
    assert printed.code == 0
    assert "Toluene in Water" in printed.out
    assert "derived: 1460" in printed.out
    assert "model.heat" in printed.out
    assert "Row toluene.sound_speed (published)" in printed.out


def test_the_fraction_of_a_slurry(command: CommandLine) -> None:
    printed = command(
        "suspension",
        "water",
        *("--solid-density", "2650 kg/m3", "--solid-compressibility", "27 1/TPa", "--temperature", "20 degC"),
        *("--sound-speed", "1450 m/s", "--sound-speed-uncertainty", "1 m/s"),
        *("--particle-size", "1 um", "--frequency", "100 kHz"),
    )
    assert printed.code == 0
    assert "Agrees within 2 standard uncertainties" in printed.out
    assert "Two fractions have this speed" in printed.out


def test_as_json(command: CommandLine) -> None:
    printed = command(*TOLUENE, "--fraction", "10 % vol", "--json")
    assert json.loads(printed.out)["at_fraction"]["volume_fraction"]["magnitude"] == 0.1


def test_a_bare_percentage_and_a_mixing_pair_are_refused(command: CommandLine) -> None:
    printed = command(*TOLUENE, "--fraction", "10 %")
    assert printed.code == 2
    assert "write % vol or % mass" in printed.err
    printed = command("suspension", "water", "ethanol", "--fraction", "10 % vol", "--temperature", "20 degC")
    assert printed.code == 2
    assert "ethanol-water with a strength" in printed.err
