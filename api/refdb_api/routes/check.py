"""Looking at saved answers again."""

from __future__ import annotations

from fastapi import Request, Response
from starlette.concurrency import run_in_threadpool

from refdb.evidence.check import check_answers as verdicts
from refdb_api.bodies import SavedAnswers
from refdb_api.describe import Routes
from refdb_api.documents import CheckedAnswers
from refdb_api.keys import with_house
from refdb_api.respond import document, read_body
from refdb_api.routes.common import database

routes = Routes("audit")


@routes.post("/answers/check", "check_answers", "Saved answers, looked at again", SavedAnswers, CheckedAnswers)
async def check_answers(request: Request) -> Response:
    """Of every answer in the body: still the current advice; superseded, by what, with what effect; or not ours.

    The body is any JSON object that holds answers: one of them, a values document, a job sheet, {"answers": [...]}.
    With a reader's key, house values among them are looked at too.
    """
    # House values are proved by their store, for the holder of a key.
    served = await with_house(request) if "authorization" in request.headers else database(request)
    saved = await read_body(request)
    items = await run_in_threadpool(verdicts, served.reader, saved)
    return document(request, {"items": items})
