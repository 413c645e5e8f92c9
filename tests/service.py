"""The HTTP service, loaded when a test first asks it: collecting tests needs none of it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from tests.peers import Peer

if TYPE_CHECKING:
    from fastapi.testclient import TestClient as TestClient

    from refdb_api import respond as respond
    from refdb_api.app import create_app as create_app
else:
    respond = Peer("refdb_api.respond")
    _app = Peer("refdb_api.app")
    _testclient = Peer("fastapi.testclient")

    def create_app(*arguments: Any, **named: Any) -> Any:
        """The service over a database."""
        return _app.create_app(*arguments, **named)

    def TestClient(*arguments: Any, **named: Any) -> Any:  # noqa: N802 - the name of a class
        """Asks a service without a network."""
        return _testclient.TestClient(*arguments, **named)
