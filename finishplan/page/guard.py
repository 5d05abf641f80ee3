"""Who may talk to the page: this machine's own browser, with the token of this start, from the page itself.

A page on the internet could otherwise reach a server on the loopback address through the browser: by a name that
points there (DNS rebinding: the Host is checked), or by a form or a script of its own (the Origin is checked, and the
cookie is SameSite=Strict; RFC 6265bis 8.8, Fetch standard's Origin header).
"""

import hmac
import secrets
from dataclasses import dataclass, field

from starlette.datastructures import Headers
from starlette.requests import Request
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

HOSTS = ("127.0.0.1", "localhost")
LARGEST_EDIT = 1_000_000
"""Bytes of a posted edit; a job file has at most twice that (our rule)."""
HEADERS = {
    "content-security-policy": (
        "default-src 'self'; img-src 'self' blob: data:; object-src 'none'; base-uri 'none'; form-action 'self'; "
        "frame-ancestors 'none'"
    ),
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "cache-control": "no-store",
}


def cookie_of(host: str) -> str:
    """The cookie's name at a Host. Ports share cookies (RFC 6265bis, 8.5): each bench has one of its own."""
    return f"finishplan-{host.rpartition(':')[2]}"


@dataclass
class Keys:
    """The token of the opened address, good once, and the cookie that it becomes."""

    token: str = field(default_factory=lambda: secrets.token_urlsafe(32))
    cookie: str = field(default_factory=lambda: secrets.token_urlsafe(32))

    def enter(self, request: Request) -> Response:
        """The answer to the opened address: the cookie for the right token, and the page."""
        told = request.query_params.get("token", "")
        # compare_digest takes as long for any wrong text, so that none can be felt out letter by letter.
        known = bool(self.token) and hmac.compare_digest(told.encode(), self.token.encode())
        if not known:
            # The address pressed again in the browser that was let in by it: no harm, it only opens the page.
            if self.known(request):
                return RedirectResponse("/", status_code=303)
            return PlainTextResponse("This address was used before: start finishplan bench again.", status_code=403)
        self.token = ""
        answer = RedirectResponse("/", status_code=303)
        answer.set_cookie(cookie_of(request.headers["host"]), self.cookie, httponly=True, samesite="strict", path="/")
        return answer

    def known(self, request: Request) -> bool:
        """Whether it comes with the cookie that was given."""
        cookie = request.cookies.get(cookie_of(request.headers.get("host", "")), "")
        return hmac.compare_digest(cookie.encode(), self.cookie.encode())


class Guard:
    """ASGI middleware: refuses foreign hosts, foreign origins and whoever lacks the cookie; adds the safe headers."""

    def __init__(self, app: ASGIApp, keys: Keys) -> None:
        self.app, self.keys = app, keys

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
        if scope["type"] != "http":
            return
        refused = self._refused(scope)

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                known = {name for name, _ in message["headers"]}
                extra = [(k.encode(), v.encode()) for k, v in HEADERS.items() if k.encode() not in known]
                message = {**message, "headers": [*message["headers"], *extra]}
            await send(message)

        if refused is not None:
            await refused(scope, receive, with_headers)
            return
        await self.app(scope, receive, with_headers)

    def _refused(self, scope: Scope) -> Response | None:
        headers = Headers(scope=scope)
        host = headers.get("host", "")
        if host.rsplit(":", 1)[0] not in HOSTS:
            return PlainTextResponse("Not this host.", status_code=421)
        origin = headers.get("origin")
        if origin is not None and origin != f"http://{host}":
            return PlainTextResponse("Not from this page.", status_code=403)
        writes = scope["method"] not in ("GET", "HEAD")
        # Browsers send it with every POST; whoever leaves it out is no page of ours.
        if writes and origin is None:
            return PlainTextResponse("Not from this page.", status_code=403)
        # Older browsers leave it out; 'none' is an address typed or opened by the terminal.
        if headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
            return PlainTextResponse("Not from this page.", status_code=403)
        # The one door for who has no cookie yet.
        if scope["path"] == "/enter" and not writes:
            return None
        if not self.keys.known(Request(scope)):
            return PlainTextResponse("Open the page from the address that finishplan printed.", status_code=401)
        return None
