"""What a page sends, read; and how it is refused."""

from __future__ import annotations

import json
from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect, Request
from starlette.responses import PlainTextResponse, Response

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.kept_file import SinceChanged
from linkmotion.bench.refusals import said_of
from linkmotion.files.faults import FileError
from linkmotion.files.journal import Change

LARGEST = 2_000_000  # bytes of what is sent


def refused(work: EngineAtWork, error: FileError, asked: Any) -> dict[str, Any]:
    """What a page is told where nothing was changed of what it ``asked``: why, and what to do."""
    return {"ok": False, "said": said_of(work, error, asked), "field": error.key, "version": work.kept.version,
            "elsewhere": isinstance(error, SinceChanged)}  # fmt: skip


def entered(work: EngineAtWork, change: Change | None, **more: Any) -> dict[str, Any]:
    """What a page is told where something of the engine's file was entered; ``more`` as its script knows it."""
    done, undone = work.kept.journal.standing()
    return {"words": change.words if change else "nothing was changed", "version": work.kept.version,
            "undo": bool(done), "redo": bool(undone), **more}  # fmt: skip


async def sent(request: Request) -> Any:
    """What was sent, as JSON; whatever is none is refused."""
    if request.headers.get("content-type", "").split(";")[0].strip().lower() != "application/json":
        raise HTTPException(415, "only what the bench's own pages send is taken")
    read = bytearray()
    try:
        async for chunk in request.stream():
            read += chunk
            if len(read) > LARGEST:
                raise HTTPException(413, "this is more than a page sends")
    except ClientDisconnect:
        raise HTTPException(400, "nobody is there") from None
    try:
        understood = json.loads(read.decode("utf-8"))
        json.dumps(understood, ensure_ascii=False).encode()  # half a sign of two halves can stand in no file
        return understood
    except (ValueError, RecursionError):
        raise HTTPException(400, "this cannot be read; load the page anew") from None


def not_opened(_request: Request, error: Exception) -> Response:
    """What cannot be opened, on a page of its own."""
    assert isinstance(error, FileError)
    return PlainTextResponse(f"{error.file}: {error.problem}\n{error.remedy}", status_code=404)


def not_done(_request: Request, _error: Exception) -> Response:
    """That something could not be done: no words of Python's own, and no traceback."""
    return PlainTextResponse("this could not be done; load the page anew", status_code=500)
