"""What stands between the network and the page: size limits and the headers of every answer."""

from __future__ import annotations

from collections.abc import Mapping

from starlette.datastructures import MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

# A sheet with every fact filled in has about 60 kB; a job file of people's own making has less.
MOST_BYTES = 2_000_000
HEADERS = {
    "content-security-policy": "default-src 'self'; base-uri 'none'; form-action 'self'; "
    "frame-ancestors 'none'; object-src 'none'",
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
}


class TooLargeError(Exception):
    """More was sent than the page ever sends."""


class Guard:
    """Counts what comes in and puts the headers on what goes out.

    ``larger`` tells what addresses take that take more; one holds for all below it, the longest first.
    """

    def __init__(
        self, app: ASGIApp, most_bytes: int = MOST_BYTES, larger: Mapping[str, int] | None = None
    ) -> None:
        self.app = app
        self.most_bytes = most_bytes
        self.larger = sorted((larger or {}).items(), key=lambda one: -len(one[0]))

    def _most(self, path: str) -> int:
        for place, most in self.larger:
            if path == place or path.startswith(f"{place}/"):
                return most
        return self.most_bytes

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        seen, most = 0, self._most(scope["path"])

        async def counted() -> Message:
            nonlocal seen
            message = await receive()
            seen += len(message.get("body", b""))
            if seen > most:
                raise TooLargeError
            return message

        async def dressed(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
                headers.setdefault("cache-control", "no-store")
            await send(message)

        await self.app(scope, counted, dressed)
