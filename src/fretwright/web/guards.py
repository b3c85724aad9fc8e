"""What stands before every page.

Whose name was asked for, where a write comes from, how much of it, and what a browser may do with the
answer. Written to ASGI itself, so that nothing gets past it.
"""

import json
import logging
import time
from typing import Any, Final

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from fretwright.base.errors import RefusedError
from fretwright.web.settings import Settings

_LOG: Final = logging.getLogger("fretwright.access")

_POLICY: Final = (
    "default-src 'none'",
    "script-src 'self'",
    "style-src 'self'",
    "font-src 'self'",
    "img-src 'self' blob:",
    "media-src 'self' blob:",
    "connect-src 'self'",
    "worker-src 'self'",
    "manifest-src 'self'",
    "form-action 'self'",
    "base-uri 'none'",
    "frame-ancestors 'none'",
)
CONTENT_SECURITY_POLICY: Final = "; ".join(_POLICY)
HEADERS: Final = {
    "Content-Security-Policy": CONTENT_SECURITY_POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "microphone=(self), camera=(), geolocation=(), payment=(), usb=()",
}
"""On every answer."""
_HSTS: Final = "max-age=31536000"
_SAFE: Final = frozenset({"GET", "HEAD", "OPTIONS"})
STOP: Final = "/letters/stop/"
"""Below it addresses are their own key, and mailboxes write there from no page of ours (RFC 8058)."""
MOST_BODY_BYTES: Final = 64_000_000
"""Of any request; routes that take less say so themselves."""


class Guards:
    """The outermost layer of the application."""

    def __init__(self, app: ASGIApp, settings: Settings) -> None:
        """Stand before ``app``."""
        self._app: Final = app
        self._settings: Final = settings

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        began, status = time.perf_counter(), 500

        async def sending(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
                self._dress(MutableHeaders(scope=message))
            await send(message)

        try:
            refused = refusal(scope, self._settings)
            if refused is None:
                await self._app(scope, _bounded(receive), sending)
            else:
                await _turn_down(sending, refused)
        finally:
            _log(scope, status, time.perf_counter() - began)

    def _dress(self, headers: MutableHeaders) -> None:
        for name, value in HEADERS.items():
            headers.setdefault(name, value)
        if self._settings.is_https:
            headers.setdefault("Strict-Transport-Security", _HSTS)


def refusal(scope: Scope, settings: Settings) -> RefusedError | None:
    """Why a request is turned down before any page sees it; ``None`` if it is not."""
    headers = Headers(scope=scope)
    if headers.get("host", "") not in settings.hosts:
        return RefusedError(421, "host", "This school does not go by that name.")
    is_keyed = scope["path"].startswith(STOP)
    if scope["method"] not in _SAFE and not is_keyed and not _is_from_here(headers, settings):
        return RefusedError(403, "origin", "That was sent from another site.", "Open the school's own page.")
    length = headers.get("content-length", "0")
    if not length.isdigit() or int(length) > MOST_BODY_BYTES:
        return RefusedError(413, "too-large", "That is too large.")
    return None


def _is_from_here(headers: Headers, settings: Settings) -> bool:
    """Whether a page of the school sent it: every browser names the origin of a write."""
    return headers.get("origin", "") in settings.origins


def _bounded(receive: Receive) -> Receive:
    """Stop listening where a body without a stated length grows too large."""
    left = MOST_BODY_BYTES

    async def bounded() -> Message:
        nonlocal left
        message = await receive()
        left -= len(message.get("body", b""))
        if left < 0:
            raise RefusedError(413, "too-large", "That is too large.")
        return message

    return bounded


async def _turn_down(send: Send, refused: RefusedError) -> None:
    body = json.dumps(
        {
            "error": {
                "status": refused.status,
                "code": refused.code,
                "message": refused.message,
                "mend": refused.mend,
            }
        }
    ).encode()
    headers: list[Any] = [
        (b"content-type", b"application/json"),
        (b"content-length", str(len(body)).encode()),
    ]
    await send({"type": "http.response.start", "status": refused.status, "headers": headers})
    await send({"type": "http.response.body", "body": body})


def _log(scope: Scope, status: int, took_s: float) -> None:
    """One line without a name, an address or a number of anybody's: the route as it is written."""
    route = getattr(scope.get("route"), "path", "-")
    _LOG.info("%s %s %d %.1f ms", scope["method"], route, status, 1000 * took_s)
