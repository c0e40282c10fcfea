"""What went wrong, as a page or as a line on the page that is open."""

from __future__ import annotations

import logging

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.exceptions import HTTPException

from corallum.errors import (
    ConflictError,
    CorallumError,
    NotAllowedError,
    NotFoundError,
    StoreError,
)
from corallum.web.templates import render
from corallum.web.visit import NotPairedError, theme_of

__all__ = ["add_faults"]

_STATUS = {NotFoundError: 404, NotAllowedError: 403, ConflictError: 409, StoreError: 503}
_TITLES = {
    403: "Not for this role",
    404: "Not here",
    405: "Not like this",
    409: "Not now",
    413: "Too large",
    422: "Something is not right",
    500: "The program failed",
    503: "The records can't be reached",
}
_log = logging.getLogger("corallum.web")


def add_faults(app: FastAPI) -> None:
    """Turn every error into a page that says what to do."""
    app.add_exception_handler(CorallumError, _corallum)
    app.add_exception_handler(RequestValidationError, _fields)
    app.add_exception_handler(HTTPException, _http)
    app.add_exception_handler(NotPairedError, _pair)
    app.add_exception_handler(Exception, _unforeseen)


def _corallum(request: Request, error: Exception) -> Response:
    """Answer an error that a person can act on."""
    status = next((code for kind, code in _STATUS.items() if isinstance(error, kind)), 422)
    return _page(request, status, str(error).splitlines())


def _fields(request: Request, error: Exception) -> Response:
    """Answer a form with fields missing or of another kind."""
    lines = []
    for one in error.errors() if isinstance(error, RequestValidationError) else ():
        place = ".".join(str(part) for part in one.get("loc", ())[1:])
        lines.append(f"{place}: {one.get('msg', 'not understood')}."[:200])
    return _page(request, 422, lines)


def _http(request: Request, error: Exception) -> Response:
    """Answer an address that is none, or a request of the wrong kind."""
    status = error.status_code if isinstance(error, HTTPException) else 500
    text = {404: "There is no such page. Go back to the start."}.get(status)
    return _page(request, status, [text or "This can't be done here. Go back to the start."])


def _pair(request: Request, error: Exception) -> Response:
    """Send a device that is not paired to where it can be."""
    del error
    if request.headers.get("hx-request") == "true":
        return Response(headers={"HX-Redirect": "/pair"})
    return RedirectResponse("/pair", status_code=303)


def _unforeseen(request: Request, error: Exception) -> Response:
    """Answer a defect of the program; the log has the details, the page none."""
    _log.error("%s %s failed", request.method, request.url.path, exc_info=error)
    text = "This is a defect of the program, not of what you did. What was kept before is kept."
    return _page(request, 500, [text])


def _page(request: Request, status: int, lines: list[str]) -> Response:
    """Render a page, or the line for a page that is open."""
    title = _TITLES.get(status, "This did not work")
    partial = request.headers.get("hx-request") == "true"
    template = "fault_line.html" if partial else "fault.html"
    text = render(
        template,
        title=title,
        lines=[line for line in lines if line] or ["Go back and try again."],
        theme=theme_of(request),
        name=request.app.state.programme.settings.name,
    )
    headers = {"Cache-Control": "no-store"}
    if partial:
        headers |= {"HX-Retarget": "#notice", "HX-Reswap": "innerHTML"}
    return HTMLResponse(text.encode("utf-8", errors="replace"), status, headers=headers)
