"""Answers that several routes give: the state of the job, a problem."""

import errno
import json
from typing import Any

from starlette.requests import ClientDisconnect, Request
from starlette.responses import JSONResponse, Response

from finishplan.basics.errors import InputError
from finishplan.page.desk import State
from finishplan.page.planning import of_ours, told
from finishplan.page.received import TooLarge
from finishplan.page.views import job_view

FULL = (errno.ENOSPC, errno.EDQUOT)


class Json(JSONResponse):
    """JSON in ASCII, so that a folder whose name is no text (PEP 383) can be told too."""

    def render(self, content: Any) -> bytes:
        return json.dumps(content, allow_nan=False, separators=(",", ":")).encode()


def of_state(state: State) -> dict[str, Any]:
    """The job as data, its revision, and whether there is a step to undo or redo."""
    return {
        "revision": state.revision,
        "job": job_view(state.text),
        "can_undo": state.can_undo,
        "can_redo": state.can_redo,
    }


def of_problem(error: InputError, status: int) -> Json:
    """An error as the page shows it: what, where, cure."""
    return Json({"problem": told(error)}, status_code=status)


async def refused(request: Request, error: Exception) -> Response:
    """The answer to what went wrong: what was given (422), too much of it (413), the disk (507 where it is full), or we
    (RFC 9110, 15; RFC 4918, 11.5)."""
    match error:
        case InputError():
            return of_problem(error, 422)
        case TooLarge():
            return of_problem(InputError(str(error), where="your picture", cure="save it smaller"), 413)
        case ClientDisconnect():
            return Response(status_code=400)
        case OSError():
            full = error.errno in FULL
            cure = "make room on the disk" if full else "see that the folder is there and can be written"
            where, what = str(error.filename or "the folder"), f"cannot read or write: {error.strerror or error}"
            return of_problem(InputError(what, where=where, cure=cure), 507 if full else 500)
    # Starlette raises it again after this answer, so the terminal shows where.
    return of_problem(of_ours(error), 500)
