"""Schemas by which an editor helps to fill in a document: JSON Schema for the TOML files, table schemas for the CSVs.

They are made of the models of the records, less what the text leaves to the folder or to `[defaults]`. A table schema
follows the Frictionless specification `table-schema`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from refdb.ledger.carriers import NOTICE_FIELDS
from refdb.ledger.columns import TABLES, Columns
from refdb.records.models import Carrier, Check, Correction, Equation, Grid, Record, Source, Surface, Table

DIALECT = "https://json-schema.org/draft/2020-12/schema"
TABLE_DIALECT = "https://specs.frictionlessdata.io/schemas/table-schema.json"

_OF_THE_FOLDER = ("format", "kind", "source")
_DEFAULTS = ("basis", "seen")
_IN_FILES = {"points": "points_file", "values": "values_file", "terms": "terms_file"}
"""What a block may leave to a CSV file beside it, and the field that names the file."""


def toml_schemas() -> dict[str, dict[str, Any]]:
    """A JSON Schema for each TOML file of a document's folder, by the name of the file without `.toml`."""
    blocks: dict[str, type[Record]] = {"equation": Equation, "table": Table, "grid": Grid, "surface": Surface}
    return {
        "source": _source(),
        **{f"{name}s": _listed(name, _block(kind)) for name, kind in blocks.items()},
        "corrections": _listed("correction", _with(_schema(Correction), "reading")),
        "checks": _listed("check", _with(_schema(Check), "content")),
    }


def table_schemas() -> dict[str, dict[str, Any]]:
    """A table schema for each CSV file of a document's folder, by the name of the file without `.csv`."""
    return {name: _columns(table) for name, table in TABLES.items()}


def _columns(table: Columns) -> dict[str, Any]:
    fields = [{"name": name, "type": "string", "description": text} for name, text in table.text.items()]
    return {"$schema": TABLE_DIALECT, "title": f"Each line is {table.of}.", "fields": fields, "primaryKey": "id"}


def _source() -> dict[str, Any]:
    source = _without(_schema(Source), ("format", "kind", "id", "carriers", "checks"), ())
    carrier = _without(_schema(Carrier), (), ("key", "type", "name", "licence", "rights"))
    carrier["properties"] |= {"of": {"type": "string", "description": "The key of one in sources/carriers.toml."}}
    carrier["properties"] |= {name: {"type": "string"} for name in sorted(NOTICE_FIELDS)}
    defaults = _schema(Equation)["properties"]
    return _object(
        {
            "source": _flat(source),
            "carrier": {"type": "array", "items": _flat(carrier)},
            "defaults": _object({name: defaults[name] for name in _DEFAULTS}, ()),
        },
        ("source",),
        {**source.get("$defs", {}), **carrier.get("$defs", {})},
    )


def _block(kind: type[Record]) -> dict[str, Any]:
    schema = _schema(kind)
    files = {name: file for name, file in _IN_FILES.items() if name in schema["properties"]}
    schema = _without(schema, _OF_THE_FOLDER, (*_DEFAULTS, *files))
    for name, file in files.items():
        schema["properties"][file] = {"type": "string", "description": f"A CSV file beside this one that holds {name}."}
    return schema


def _listed(name: str, schema: Mapping[str, Any]) -> dict[str, Any]:
    return _object({name: {"type": "array", "items": _flat(schema)}}, (name,), schema.get("$defs", {}))


def _object(properties: Mapping[str, Any], required: tuple[str, ...], defs: Mapping[str, Any] = {}) -> dict[str, Any]:
    made = {"type": "object", "properties": dict(properties), "required": list(required), "additionalProperties": False}
    return {"$schema": DIALECT, **made, "$defs": dict(defs)} if defs else made


def _schema(kind: type[Record]) -> dict[str, Any]:
    return kind.model_json_schema()


def _flat(schema: Mapping[str, Any]) -> dict[str, Any]:
    """A schema without its definitions, which go to the top of the file."""
    return {name: part for name, part in schema.items() if name != "$defs"}


def _without(schema: dict[str, Any], dropped: tuple[str, ...], optional: tuple[str, ...]) -> dict[str, Any]:
    properties = {name: part for name, part in schema["properties"].items() if name not in dropped}
    required = [name for name in schema.get("required", []) if name not in dropped and name not in optional]
    return {**schema, "properties": properties, "required": required}


def _with(schema: dict[str, Any], name: str) -> dict[str, Any]:
    properties = {**schema["properties"], name: {"type": "string"}}
    return {**schema, "properties": properties, "required": [*schema["required"], name]}
