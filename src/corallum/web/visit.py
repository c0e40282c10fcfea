"""One request: who asks, from where, and how a page is rendered for them."""

from __future__ import annotations

import gzip
import ipaddress
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Any, TypeVar

import numpy as np
from fastapi import Depends, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from corallum.actions.people import get_person, list_people, person_of_token
from corallum.actions.programme_reference import programme_library
from corallum.actions.references import Library
from corallum.errors import NotFoundError
from corallum.records.programme import Person, Role
from corallum.store.programme import Programme
from corallum.web.templates import render

__all__ = [
    "DEVICE_COOKIE",
    "PERSON_COOKIE",
    "THEMES",
    "NotPairedError",
    "Visit",
    "Visited",
    "is_local",
    "set_cookie",
]

DEVICE_COOKIE = "corallum_device"
PERSON_COOKIE = "corallum_person"
THEME_COOKIE = "corallum_theme"
THEMES = ("light", "dark")
_YEAR = 365 * 24 * 3600
_ZIP_FROM = 1500

Command = TypeVar("Command")
Result = TypeVar("Result")
Action = Callable[[Programme, Command, datetime, np.random.Generator, str], Result]


class NotPairedError(Exception):
    """A device on the network that nobody paired yet."""


@dataclass(frozen=True, slots=True)
class Visit:
    """One request to one programme by one person.

    Parameters
    ----------
    request : Request
        What was asked.
    programme : Programme
        Of which programme.
    person : Person
        Who acts.
    local : bool
        Whether it came from this machine, where the person is chosen, not paired.
    """

    request: Request
    programme: Programme
    person: Person
    local: bool

    @property
    def partial(self) -> bool:
        """Whether only the part that changes is wanted."""
        return self.request.headers.get("hx-request") == "true"

    @property
    def library(self) -> Library:
        """The programme's reference, as it is at this request."""
        found = getattr(self.request.state, "library", None)
        if not isinstance(found, Library):
            found = programme_library(self.programme)
            self.request.state.library = found
        return found

    @property
    def now(self) -> datetime:
        """The moment, in the machine's time zone."""
        found: datetime = self.request.app.state.clock()
        return found

    def may(self, role: str) -> bool:
        """Whether the person's role covers another."""
        return self.person.role.covers(Role(role))

    def do(self, action: Action[Command, Result], command: Command) -> Result:
        """Do one thing as this person, now."""
        return action(self.programme, command, self.now, np.random.default_rng(), self.person.id)

    def page(self, template: str, status: int = 200, **context: Any) -> Response:  # noqa: ANN401
        """Render a whole page, or a part of one, with what every page shows."""
        shown = {
            "visit": self,
            "programme": self.programme,
            "theme": theme_of(self.request),
            "path": self.request.url.path,
            **context,
        }
        return html_response(self.request, render(template, **shown), status)

    def go(self, path: str) -> Response:
        """Send the reader to another page."""
        if self.partial:
            return Response(headers={"HX-Redirect": path})
        return RedirectResponse(path, status_code=303)


def html_response(request: Request, text: str, status: int = 200) -> Response:
    """Return a page, packed where that is worth it."""
    body = text.encode("utf-8", errors="replace")
    headers = {"Cache-Control": "no-store", "Vary": "HX-Request, Cookie, Accept-Encoding"}
    if len(body) >= _ZIP_FROM and "gzip" in request.headers.get("accept-encoding", ""):
        body = gzip.compress(body, 2)
        headers["Content-Encoding"] = "gzip"
    return HTMLResponse(body, status, headers=headers)


def theme_of(request: Request) -> str:
    """Return the theme that was chosen; empty leaves it to the machine."""
    theme = request.cookies.get(THEME_COOKIE, "")
    return theme if theme in THEMES else ""


def set_cookie(response: Response, name: str, value: str) -> None:
    """Keep something in the reader's browser, out of reach of scripts and of other sites."""
    response.set_cookie(name, value, max_age=_YEAR, httponly=True, samesite="lax", path="/")


def is_local(request: Request) -> bool:
    """Whether a request comes from this machine; all do unless the network was opened."""
    if not request.app.state.network:
        return True
    try:
        return ipaddress.ip_address(request.client.host if request.client else "").is_loopback
    except ValueError:
        return False


def visit_of(request: Request) -> Visit:
    """Find out who asks.

    Raises
    ------
    NotPairedError
        Where it comes from the network by a device that is not paired.
    """
    programme: Programme = request.app.state.programme
    token = request.cookies.get(DEVICE_COOKIE, "")
    if is_local(request):
        return Visit(request, programme, _chosen_person(request, programme), local=True)
    person = person_of_token(programme, token) if token else None
    if person is None:
        raise NotPairedError
    return Visit(request, programme, person, local=False)


def _chosen_person(request: Request, programme: Programme) -> Person:
    """Return who was chosen at this machine, else the first lead."""
    chosen = request.cookies.get(PERSON_COOKIE, "")
    try:
        person = get_person(programme, chosen) if chosen else None
    except NotFoundError:
        person = None
    if person is not None and person.active:
        return person
    return next(one for one in list_people(programme) if one.active and one.role is Role.LEAD)


Visited = Annotated[Visit, Depends(visit_of)]
