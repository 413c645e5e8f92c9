"""`refdb strength` says why a strength cannot be told, as any wrong question is."""

from __future__ import annotations

from tests.conftest import CommandLine


def test_a_liquid_that_is_no_solution_is_refused(command: CommandLine) -> None:
    printed = command("strength", "water", "30 % vol", "--temperature", "20 degC")
    assert printed.code == 2
    assert "water is no solution of known parts" in printed.err


def test_a_bare_percentage_is_refused_with_the_choices(command: CommandLine) -> None:
    printed = command("strength", "water", "30 %")
    assert printed.code == 2
    assert "does not say of what; write one of % mass, % vol, % ABV" in printed.err
