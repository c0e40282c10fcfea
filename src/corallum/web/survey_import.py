"""Import slates from a table: say what its columns hold, look, then all of it or nothing."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import Response
from starlette.datastructures import UploadFile

from corallum.actions.survey_import import (
    ImportFound,
    ImportSlates,
    KeptColumns,
    import_slates,
    list_columns,
    preview_import,
)
from corallum.actions.survey_plans import SurveyView, get_survey
from corallum.errors import Fault, InputError, NotAllowedError
from corallum.exchange.survey_columns import DATES, UNITS
from corallum.records.programme import Role
from corallum.web.refusals import REFUSED, lines_of
from corallum.web.survey_import_form import (
    ImportForm,
    Table,
    Tables,
    columns_of,
    roles_of,
)
from corallum.web.visit import Visit, Visited

__all__ = ["Tables", "router"]

router = APIRouter()

_MOST_FIELDS = 100
_MOST_PART = 1_000_000
_MOST_SHOWN = 200


@dataclass(frozen=True, slots=True)
class _Sent:
    """What a form sent: its texts, and the file with its name."""

    typed: dict[str, str]
    file: str = ""
    data: bytes = b""


@dataclass(frozen=True, slots=True)
class _Bench:
    """The table that is being looked at, what was said of it, and what was found."""

    table: Table | None = None
    form: ImportForm = field(default_factory=ImportForm)
    faults: list[str] = field(default_factory=list)
    found: ImportFound | None = None


async def _sent(request: Request) -> _Sent:
    """Read a form whose fields depend on the method of the survey."""
    async with request.form(max_fields=_MOST_FIELDS, max_part_size=_MOST_PART) as form:
        typed = {key: value for key, value in form.items() if isinstance(value, str)}
        upload = form.get("file")
        if isinstance(upload, UploadFile) and upload.size:
            return _Sent(typed, upload.filename or "", await upload.read())
        return _Sent(typed)


def _check_lead(visit: Visit) -> None:
    """Let a lead import, nobody else."""
    if not visit.may("lead"):
        raise NotAllowedError(visit.person.role, "import slates", Role.LEAD)


@router.get("/surveys/{survey_id}/import")
def show(visit: Visited, survey_id: str) -> Response:
    """Show where a table is brought."""
    _check_lead(visit)
    return _show(visit, get_survey(visit.programme, survey_id), _Bench())


def _show(visit: Visit, view: SurveyView, bench: _Bench) -> Response:
    """Show the table, what is said of it, and what it holds or why it can't be read."""
    kept = [one for one in list_columns(visit.programme)
            if one.columns.method is view.plan.method]  # fmt: skip
    found = bench.found
    return visit.page(
        "survey_import.html", 422 if bench.faults else 200,
        view=view, bench=bench, table=bench.table, form=bench.form, faults=bench.faults,
        found=found, roles=roles_of(view.plan.method), units=UNITS, dates=DATES, kept=kept,
        words=_counted(found), slates=found.slates[:_MOST_SHOWN] if found else (),
        sites=[view.sites[one].name for stratum in view.plan.strata for one in stratum.sites],
    )  # fmt: skip


def _counted(found: ImportFound | None) -> list[tuple[str, str, int]]:
    """Return words, what each was taken for and how often; those taken for another name first."""
    if found is None:
        return []
    rows = [(word, label, n) for word, (label, n) in found.names.items()]
    rows.sort(key=lambda row: (row[0].casefold() == row[1].casefold(), -row[2], row[0]))
    return rows[:_MOST_SHOWN]


@router.post("/surveys/{survey_id}/import")
def bring(visit: Visited, survey_id: str, sent: Annotated[_Sent, Depends(_sent)]) -> Response:
    """Look at a table, or import it; nothing that was set is lost where it can't be."""
    _check_lead(visit)
    view = get_survey(visit.programme, survey_id)
    form = ImportForm.of(sent.typed)
    table: Table | None = None
    try:
        table = _table(visit, sent)
        form = _filled(visit, view, sent, form, table)
        columns = columns_of(form, view.plan.method, table.file)
        command = ImportSlates(survey_id, table.text, table.file, columns, form.keep_as)
        if sent.typed.get("do") == "import":
            visit.do(import_slates, command)
            return visit.go(f"/surveys/{survey_id}")
        found = preview_import(visit.programme, command, visit.now.date())
    except REFUSED as error:
        return _show(visit, view, _Bench(table, form, lines_of(error)))
    return _show(visit, view, _Bench(table, form, [], found))


def _table(visit: Visit, sent: _Sent) -> Table:
    """Return the table that was brought now, or the one that is looked at."""
    tables: Tables = visit.request.app.state.tables
    if sent.data:
        return tables.keep(sent.file, sent.data)
    pasted = sent.typed.get("text", "")
    if pasted.strip():
        return tables.keep("pasted table", pasted.encode("utf-8", errors="replace"))
    found = tables.get(sent.typed.get("token", ""))
    if found is None:
        told = "none any more" if sent.typed.get("token") else "none"
        remedy = "Choose the file, or paste it; what you set is kept."
        raise InputError([Fault("import", "", "a table", told, remedy)])
    return found


def _filled(
    visit: Visit, view: SurveyView, sent: _Sent, form: ImportForm, table: Table
) -> ImportForm:
    """Fill in kept columns where they were chosen, and guesses for a table that is new."""
    if sent.typed.get("do") == "kept" or (form.kept and not form.roles):
        kept = _kept(visit, form.kept)
        return form if kept is None else form.with_columns(kept.columns)
    if table.token != sent.typed.get("token"):
        return form.with_guesses(table, view.plan.method)
    return form


def _kept(visit: Visit, id_: str) -> KeptColumns | None:
    """Return columns that were kept."""
    return next((one for one in list_columns(visit.programme) if one.id == id_), None)
