"""The command that serves."""

from __future__ import annotations

import click


@click.command("serve")
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen on.")
@click.option("--port", type=click.IntRange(1, 65535), default=8000, show_default=True, help="Port to listen on.")
@click.option("--workers", type=click.IntRange(1, 64), default=1, show_default=True, help="Processes that answer.")
def serve_command(host: str, port: int, workers: int) -> None:
    """Serve the HTTP API and its documentation (at /docs), with no internet.

    The compiled files are hashed first; nothing is served from files that do not fit.
    """
    from concurrent.futures import ThreadPoolExecutor

    from refdb.data import pinned_whole

    # Hashing needs no interpreter, so that it goes on while the server is loaded.
    with ThreadPoolExecutor(1) as beside:
        hashing = beside.submit(pinned_whole)
        import uvicorn

        hashing.result()
    click.echo(f"refdb answers on http://{host}:{port}/v1 ; documentation on http://{host}:{port}/docs", err=True)
    uvicorn.run("refdb_api.app:app", host=host, port=port, workers=workers, log_level="warning", access_log=False)
