"""A group whose commands are loaded when they are asked for: a question should not pay for every other command."""

from __future__ import annotations

from importlib import import_module

import click

COMMANDS: dict[str, str] = {
    "find": "ask.find_command",
    "value": "ask.value_command",
    "table": "table.table_command",
    "materials": "table.materials_command",
    "measure-speed": "table.measure_speed_command",
    "strength": "table.strength_command",
    "suspension": "suspension.suspension_command",
    "readings": "ask.readings_command",
    "pipe": "ask.pipe_command",
    "match-pipe": "ask.match_pipe_command",
    "match-liquid": "ask.match_liquid_command",
    "match-material": "material.match_material_command",
    "unlisted-material": "material.unlisted_material_command",
    "job": "job.job_command",
    "lining": "ask.lining_command",
    "roughness": "ask.roughness_command",
    "provenance": "ask.provenance_command",
    "cite": "ask.cite_command",
    "history": "ask.history_command",
    "row": "ask.row_command",
    "source": "source.source_group",
    "sources": "ask.sources_command",
    "rights": "rights.rights_command",
    "export": "rights.export_command",
    "properties": "ask.properties_command",
    "units": "ask.units_command",
    "releases": "ask.releases_command",
    "changes": "audit.changes_command",
    "audit": "audit.audit_command",
    "check-answers": "check.check_answers_command",
    "verify": "maintain.verify_command",
    "build": "maintain.build_command",
    "release": "maintain.release_group",
    "db": "maintain.db_group",
    "house": "house.house_group",
    "offer": "offer.offer_group",
    "serve": "serve.serve_command",
}
"""Every command: the module of this package and the name in it."""


class LazyGroup(click.Group):
    """Finds a command in `COMMANDS` and loads its module then."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - click gives it
        """The names of all commands, in alphabetical order."""
        return sorted(COMMANDS)

    def get_command(
        self,
        ctx: click.Context,  # noqa: ARG002 - click gives it
        cmd_name: str,
    ) -> click.Command | None:
        """The command with a name, or None."""
        if cmd_name not in COMMANDS:
            return None
        module, name = COMMANDS[cmd_name].split(".")
        command: click.Command = getattr(import_module(f"refdb.cli.{module}"), name)
        return command
