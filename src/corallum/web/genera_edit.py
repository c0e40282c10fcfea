"""Editing the programme's copy of the reference: look first, then keep; and what differs."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Query
from fastapi.responses import Response

from corallum.actions.programme_reference import (
    EditValue,
    differences,
    edit_value,
    preview_value,
    programme_library,
)
from corallum.actions.references import find_genus
from corallum.errors import CorallumError, NotAllowedError
from corallum.records.programme import Role
from corallum.reference.changes import Change
from corallum.web.characters import character_of, scheme_shown
from corallum.web.visit import Visit, Visited

__all__ = ["router"]

router = APIRouter()

Asked = Annotated[str, Query(max_length=100)]
Short = Annotated[str, Form(max_length=100)]
Text = Annotated[str, Form(max_length=2000)]


@router.get("/genera/differences")
def differ(visit: Visited) -> Response:
    """Show what differs from the reference as it was shipped."""
    return visit.page("differences.html", changes=differences(visit.programme))


@router.get("/genera/{genus}/edit")
def ask(visit: Visited, genus: str, character: Asked = "", form: Asked = "*") -> Response:
    """Show the value of one character, to be edited."""
    library = programme_library(visit.programme)
    name = find_genus(library, genus)
    first = form if form != "*" else library.reference.forms_of(name)[0].id
    value = library.reference.entries.values.get((name, first, character))
    edit = EditValue(
        name, form, character, value.text if value else "", value.source if value else "memory"
    )
    return _show(visit, edit, None, "")


def _show(
    visit: Visit, edit: EditValue, changes: tuple[Change, ...] | None, problem: str
) -> Response:
    """Show the form, and what the edit would change."""
    library = programme_library(visit.programme)
    shown = scheme_shown(library)
    own = {id_: one for id_, one in shown.items() if id_ in library.reference.scheme.characters}
    return visit.page(
        "edit.html",
        422 if problem else 200,
        edit=edit,
        character=character_of(library, edit.character) if edit.character in own else None,
        characters=own,
        forms=library.reference.forms_of(edit.genus),
        sources=library.reference.entries.sources,
        frequency=tuple(library.reference.scheme.words),
        changes=changes,
        problem=problem,
    )


@router.post("/genera/{genus}/edit")
def edit(  # noqa: PLR0913, PLR0917  one for each field
    visit: Visited,
    genus: str,
    character: Short = "",
    form: Short = "*",
    text: Text = "",
    source: Short = "memory",
    keep: Short = "",
) -> Response:
    """Check an edit and show what it changes; keep it when asked to."""
    if not visit.may("lead"):
        raise NotAllowedError(visit.person.role, "edit the reference", Role.LEAD)
    name = find_genus(programme_library(visit.programme), genus)
    command = EditValue(name, form, character, text, source)
    try:
        if keep:
            visit.do(edit_value, command)
            return visit.go(f"/genera/{name}#{character}")
        changes = preview_value(visit.programme, command)
    except CorallumError as error:
        return _show(visit, command, None, str(error))
    return _show(visit, command, changes, "")
