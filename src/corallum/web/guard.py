"""What every request must pass before a page sees it, and what every answer carries.

Refuses requests for another host (a name that was pointed at this machine), requests
sent from another site's page, and bodies that are too large. Answers carry a policy
that lets a page load nothing from elsewhere.
"""

from __future__ import annotations

import ipaddress
import socket
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["Guard", "is_own_host"]

_SAFE = ("GET", "HEAD", "OPTIONS")
_MOST_BODY = 1_000_000
# A photo of 50 MB, and the form around it.
_MOST_UPLOAD = 51_000_000

_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "
    "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
_HEADERS = {
    "Content-Security-Policy": _POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
}


class _TooLargeError(Exception):
    """A body turned out longer than allowed."""


def is_own_host(host: str) -> bool:
    """Whether a Host header names this machine.

    A bare address can't be a name that somebody else pointed here; of names, only
    this machine's own are taken.
    """
    try:
        name = urlsplit(f"//{host}").hostname or ""
    except ValueError:
        return False
    try:
        ipaddress.ip_address(name)
    except ValueError:
        own = socket.gethostname().lower()
        return name.lower() in ("localhost", own, f"{own.split('.')[0]}.local")
    return True


def _refusal(headers: Headers, method: str) -> str | None:
    """Say why a request is refused, or nothing."""
    host = headers.get("host", "")
    if not is_own_host(host):
        return "This page was asked for by a name that is not this machine's. Use its address."
    site, origin = headers.get("sec-fetch-site"), headers.get("origin")
    if method in _SAFE:
        # A link from elsewhere may open a page; a page elsewhere may not use one.
        used = site == "cross-site" and headers.get("sec-fetch-mode") != "navigate"
        return "Another site asked for this. Open the page itself." if used else None
    if site is None and origin is None:
        return "This request does not say where it comes from. Send it from the page itself."
    other_site = site is not None and site not in ("same-origin", "none")
    if other_site or (origin is not None and _host_of(origin) != host):
        return "This form was sent from another site. Open the page and send it from there."
    return None


def _host_of(origin: str) -> str:
    """Return the host and port of an Origin header; nothing where it has none."""
    try:
        return urlsplit(origin).netloc
    except ValueError:
        return ""


class Guard:
    """Checks around the whole application.

    Parameters
    ----------
    app : ASGI application
        What is guarded.
    """

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Check a request, and hand it on with its body counted."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        sender = _Sender(send)
        upload = headers.get("content-type", "").startswith("multipart/form-data")
        most = _MOST_UPLOAD if upload else _MOST_BODY
        too_large = PlainTextResponse(f"At most {most // 1_000_000} MB can be sent at once.", 413)
        length = headers.get("content-length", "0")
        why = _refusal(headers, scope["method"])
        if why is not None:
            await PlainTextResponse(why, 403)(scope, receive, sender)
        elif length.isdecimal() and int(length[:20]) > most:
            await too_large(scope, receive, sender)
        else:
            try:
                await self.app(scope, _counted(receive, most), sender)
            except _TooLargeError:
                if not sender.answered:
                    await too_large(scope, receive, sender)


class _Sender:
    """Sends an answer with the headers that all carry, and remembers that it began."""

    def __init__(self, send: Send) -> None:
        self.send = send
        self.answered = False

    async def __call__(self, message: Message) -> None:
        """Send one piece."""
        if message["type"] == "http.response.start":
            self.answered = True
            MutableHeaders(scope=message).update(_HEADERS)
        await self.send(message)


def _counted(receive: Receive, most: int) -> Receive:
    """Return a receiver that stops where a body is too large."""
    left = most

    async def receive_counted() -> Message:
        nonlocal left
        message = await receive()
        left -= len(message.get("body", b""))
        if left < 0:
            raise _TooLargeError
        return message

    return receive_counted
