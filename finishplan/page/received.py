"""What a page sends, taken in with bounds: an edit as JSON, a picture into a temporary file."""

import asyncio
import json
import os
import tempfile
from collections.abc import AsyncIterator
from pathlib import Path
from typing import Any

from starlette.requests import Request

from finishplan.basics.errors import InputError
from finishplan.page.guard import LARGEST_EDIT

LARGEST_PICTURE = 200_000_000
"""Bytes of a picture that is sent (our rule: a 100-megapixel PNG has at most 300 million, mostly a tenth)."""
PATIENCE_S = 30.0
"""How long a sender may be silent."""
DEEPEST = 4
"""Lists within lists in an edit; a cut's points are the deepest of the job, three (our rule)."""


class TooLarge(Exception):
    """More was sent than is taken."""


def revision_of(request: Request) -> int:
    """The revision that an edit was made on, from its If-Match (RFC 9110, 13.1.1). Raises InputError."""
    said = request.headers.get("if-match", "").strip('" ')
    if not said.isdigit() or len(said) > 12:
        raise InputError("no revision", where="If-Match", cure="load the page again")
    return int(said)


async def edits_of(request: Request) -> dict[str, Any]:
    """The posted edits: keys of the job, each with a text, a number, a yes or no, lists of these, or nothing. Raises
    InputError, TooLarge."""
    edits = (await json_of(request)).get("edits")
    if not isinstance(edits, dict) or not edits:
        raise InputError("no edits", where="edits", cure="send a key and a value")
    for key, value in edits.items():
        if not key.strip(". ") or not (value is None or _plain(value)):
            raise InputError("is no key and value of a job", where=f"edits: '{key[:60]}'", cure="load the page again")
    return edits


def _plain(value: Any, deep: int = DEEPEST) -> bool:
    if isinstance(value, list):
        return deep > 0 and all(_plain(one, deep - 1) for one in value)
    return isinstance(value, str | int | float)


async def json_of(request: Request) -> dict[str, Any]:
    """A posted JSON object of numbers and texts that can be written as UTF-8. Raises InputError, TooLarge."""
    body = b""
    async for chunk in _chunks(request, LARGEST_EDIT):
        body += chunk
    try:
        found = json.loads(body or b"{}")
        # Tried here: half a surrogate pair or NaN passes the parser, and would break the file or the answer later.
        json.dumps(found, ensure_ascii=False, allow_nan=False).encode()
    except (ValueError, RecursionError) as error:
        raise InputError("is not JSON", where="request", cure="load the page again") from error
    if not isinstance(found, dict):
        raise InputError("is not an object", where="request", cure="load the page again")
    return found


async def _chunks(request: Request, most: int) -> AsyncIterator[bytes]:
    """The body, piece by piece, at most `most` bytes, each piece within PATIENCE_S."""
    # Refused before any of it is taken in; the length may be missing or a lie, so it is counted below too.
    if request.headers.get("content-length", "0").isdigit() and int(request.headers.get("content-length", "0")) > most:
        raise TooLarge(f"more than {most / 1e6:.0f} MB were sent")
    stream, total = request.stream().__aiter__(), 0
    while True:
        try:
            chunk = await asyncio.wait_for(stream.__anext__(), PATIENCE_S)
        except StopAsyncIteration:
            return
        except TimeoutError as error:
            raise InputError("what was sent did not arrive whole", where="request", cure="send it again") from error
        total += len(chunk)
        if total > most:
            raise TooLarge(f"more than {most / 1e6:.0f} MB were sent")
        yield chunk


async def picture_of(request: Request, folder: Path) -> Path:
    """What was sent, in a temporary file of the folder. Its name is ours. Raises InputError, TooLarge."""
    folder.mkdir(parents=True, exist_ok=True)
    # In the bench's folder, so that it can be moved to its place in one step.
    handle, name = tempfile.mkstemp(prefix=".sent-", dir=folder)
    path = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            async for chunk in _chunks(request, LARGEST_PICTURE):
                file.write(chunk)
        if not path.stat().st_size:
            raise InputError("the picture is empty", where="request", cure="choose another")
    # Also where the sender goes away or the server ends.
    except BaseException:
        path.unlink(missing_ok=True)
        raise
    return path
