"""Connections that never say what they want: they would take the places of the page's own."""

import h11
import uvicorn
from uvicorn.protocols.http.h11_impl import H11Protocol

LONGEST_S = 10.0
"""How long a request's head may take to arrive (our rule; a browser sends it at once)."""


class Silent:
    """Those of a server, and since when each is waited for."""

    def __init__(self, server: uvicorn.Server) -> None:
        self._server = server
        self._since: dict[H11Protocol, float] = {}

    def close(self, now: float) -> None:
        """Close those that are silent for too long. now: a monotonic time, s."""
        there = [c for c in self._server.server_state.connections if isinstance(c, H11Protocol)]
        # h11 leaves IDLE only once a whole head is there, so half a head counts as silence too.
        idle = [c for c in there if c.conn.their_state is h11.IDLE]
        # Built anew, so that connections that are gone, or busy, are forgotten.
        self._since = {c: self._since.get(c, now) for c in idle}
        for connection, since in self._since.items():
            if now - since > LONGEST_S:
                connection.transport.close()
