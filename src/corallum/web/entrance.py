"""Who is at the page: pairing a device, choosing a person at this machine, light or dark."""

from __future__ import annotations

import secrets
import threading
import time
from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import RedirectResponse, Response

from corallum.actions.people import PairDevice, get_person, pair_device
from corallum.errors import ConflictError
from corallum.web.templates import render
from corallum.web.visit import (
    DEVICE_COOKIE,
    PERSON_COOKIE,
    THEMES,
    Visit,
    Visited,
    html_response,
    set_cookie,
    theme_of,
)

__all__ = ["Codes", "router"]

router = APIRouter()

Short = Annotated[str, Form(max_length=100)]
_DIGITS = 8
_LIVES = 600.0
_MOST_WRONG = 10


@dataclass(frozen=True, slots=True)
class _Code:
    """A code that was read out: for whom, by which lead, until when."""

    person: str
    device: str
    lead: str
    until: float


class Codes:
    """One-time codes, kept in memory only.

    After ten wrong tries all codes are void, so that nobody can try them all:
    eight digits in ten tries is a chance of one in ten million.
    """

    def __init__(self) -> None:
        self._codes: dict[str, _Code] = {}
        self._wrong = 0
        self._lock = threading.Lock()

    def make(self, person: str, device: str, lead: str) -> str:
        """Return a new code, good for ten minutes."""
        code = "".join(secrets.choice("0123456789") for _ in range(_DIGITS))
        with self._lock:
            if not self._codes:
                self._wrong = 0
            self._codes[code] = _Code(person, device, lead, time.monotonic() + _LIVES)
        return f"{code[:4]} {code[4:]}"

    def take(self, typed: str) -> _Code | None:
        """Return what a code stands for, and use it up."""
        digits = "".join(sign for sign in typed if sign.isdigit())
        now = time.monotonic()
        with self._lock:
            self._codes = {key: one for key, one in self._codes.items() if one.until > now}
            found = self._codes.pop(digits, None)
            if found is None:
                self._wrong += 1
                if self._wrong >= _MOST_WRONG:
                    self._codes.clear()
            return found


@router.get("/pair")
def ask_code(request: Request) -> Response:
    """Ask for the code that the lead reads out."""
    return _pair_page(request, "", 200)


def _pair_page(request: Request, problem: str, status: int) -> Response:
    """Show the page on which a code is typed."""
    text = render(
        "pair.html",
        problem=problem,
        theme=theme_of(request),
        name=request.app.state.programme.settings.name,
    )
    return html_response(request, text, status)


@router.post("/pair")
def take_code(request: Request, code: Short = "") -> Response:
    """Pair a device by its code."""
    codes: Codes = request.app.state.codes
    found = codes.take(code)
    if found is None:
        why = "This code is not in use: wrong, used already, or older than ten minutes."
        return _pair_page(request, f"{why} Ask the lead for a new one.", 403)
    programme = request.app.state.programme
    lead = Visit(request, programme, get_person(programme, found.lead), local=True)
    token = lead.do(pair_device, PairDevice(found.person, found.device))
    response = RedirectResponse("/", status_code=303)
    set_cookie(response, DEVICE_COOKIE, token)
    return response


@router.post("/person")
def choose_person(visit: Visited, person: Short = "") -> Response:
    """Choose who is at this machine."""
    if not visit.local:
        raise ConflictError("this device is paired with one person. Ask the lead to pair it anew.")
    response = RedirectResponse("/", status_code=303)
    set_cookie(response, PERSON_COOKIE, get_person(visit.programme, person).id)
    return response


@router.post("/theme")
def choose_theme(theme: Short = "", back: Short = "/") -> Response:
    """Choose light, dark, or as the machine has it."""
    # Only a path of this program: //elsewhere would be another site.
    own = back.startswith("/") and back.isprintable() and not back.startswith(("//", "/\\"))
    response = RedirectResponse(back if own else "/", status_code=303)
    set_cookie(response, "corallum_theme", theme if theme in THEMES else "")
    return response
