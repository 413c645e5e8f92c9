"""Files of jobs: read, put together with those of their sensors, and written."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path
from typing import Any

from refdb.database import Database
from refdb.problems import BadParameter


def beside_house(database: Database, house_url: str | None) -> Database:
    """The database with an organisation's own values beside it."""
    # SQLAlchemy is loaded by questions about house values alone.
    from refdb.house import House

    return database.beside(House(house_url))


def save(path: Path, content: bytes, field: str) -> None:
    """Write a file.

    Raises:
        BadParameter: it cannot be written.
    """
    try:
        path.write_bytes(content)
    except OSError as error:
        raise BadParameter(
            f"{field}: {path} cannot be written ({error.strerror}); name another file.", parameter=field
        ) from None


def read_file(file: Path, field: str = "FILE") -> dict[str, Any]:
    """The document in a file.

    Raises:
        BadParameter: it is neither TOML nor a JSON object.
    """
    try:
        text = file.read_text(encoding="utf-8")
        content = json.loads(text) if file.suffix == ".json" else tomllib.loads(text)
    except (ValueError, RecursionError, OSError) as error:
        # Loads the models of records, which a job has no need of.
        from refdb.ledger.files import why_unreadable

        raise BadParameter(
            f"{field}: {file.name} cannot be read ({why_unreadable(error)}); write TOML or JSON.", parameter="file"
        ) from None
    if not isinstance(content, dict):
        raise BadParameter(f"{field}: {file.name} must hold an object with the members of a job.", parameter="file")
    return content


def with_sensors(content: dict[str, Any], folder: Path) -> dict[str, Any]:
    """The job with the members of its sensors' file, where it names one; the job's own members go first.

    Raises:
        BadParameter: the file is not there, or cannot be read.
    """
    sensors = content.get("sensors")
    if not isinstance(sensors, dict) or not isinstance(sensors.get("file"), str):
        return content
    named = folder / sensors["file"]
    if not named.is_file():
        raise BadParameter(
            f"sensors.file: there is no file {named}; name it as seen from the job's file.", parameter="sensors.file"
        )
    told = read_file(named, "sensors.file")
    own = told["sensors"] if isinstance(told.get("sensors"), dict) else told
    return {**content, "sensors": {**own, **{name: item for name, item in sensors.items() if name != "file"}}}
