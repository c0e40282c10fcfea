"""The application: one programme, its pages, and the guard around them."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from importlib.resources import files

from fastapi import FastAPI
from starlette.staticfiles import StaticFiles
from starlette.types import ASGIApp, Scope

from corallum.store.programme import Programme
from corallum.web import (
    colony,
    colony_file,
    dive_sheets,
    entrance,
    field_paper,
    genera,
    genera_edit,
    hand_on,
    media,
    observer_tests,
    observers,
    people,
    photo,
    photo_points,
    practice,
    practice_handout,
    practice_item,
    readings,
    record_readings,
    records,
    redetermine,
    reports,
    results,
    results_change,
    results_details,
    results_diversity,
    slates,
    start,
    survey_effort,
    survey_flags,
    survey_import,
    surveys,
    weak,
)
from corallum.web.answers import Answers
from corallum.web.faults import add_faults
from corallum.web.guard import Guard
from corallum.web.long_work import LongWork
from corallum.web.results_kept import KeptResults

__all__ = ["create_app"]

_ROUTERS = (
    start, colony, colony_file, photo, reports, field_paper, weak, genera_edit, genera, records,
    readings, hand_on, people,
    redetermine, practice_handout, practice_item, practice, observer_tests, observers, media,
    results_change, results_details, results_diversity, survey_effort, results, surveys, slates,
    survey_import, survey_flags, record_readings, photo_points, dive_sheets, entrance,
)  # fmt: skip


class _Kept(StaticFiles):
    """Static files, whose addresses change with their content."""

    async def get_response(self, path: str, scope: Scope):  # type: ignore[no-untyped-def]  # noqa: ANN202
        """Return a file that a browser may keep."""
        response = await super().get_response(path, scope)
        response.headers["Cache-Control"] = "public, max-age=31536000, immutable"
        return response


class _Guarded(FastAPI):
    """An application inside its guard, which also covers what fails unforeseen."""

    def build_middleware_stack(self) -> ASGIApp:
        """Put the guard around everything."""
        return Guard(super().build_middleware_stack())


def create_app(
    programme: Programme,
    *,
    network: bool = False,
    workers: int = 0,
    clock: Callable[[], datetime] = lambda: datetime.now().astimezone(),
) -> FastAPI:
    """Make the application for one programme.

    Parameters
    ----------
    programme : Programme
        Open; it stays open while the application runs.
    network : bool
        Whether requests may come from other machines, which then have to be paired.
    workers : int
        Processes that work out answers beside this one; 0 works them out here.
    clock : callable
        Says what time it is, with its zone.

    Returns
    -------
    FastAPI
        With an OpenAPI description of every route, which is not served.
    """
    app = _Guarded(title="Corallum", docs_url=None, redoc_url=None, openapi_url=None)
    app.state.programme = programme
    app.state.network = network
    app.state.clock = clock
    app.state.answers = Answers(programme, workers)
    app.state.codes = entrance.Codes()
    app.state.tables = survey_import.Tables()
    app.state.results = KeptResults()
    app.state.long_work = LongWork(apart=workers > 0)
    for module in _ROUTERS:
        app.include_router(module.router)
    static = files("corallum.web").joinpath("static")
    app.mount("/static", _Kept(directory=str(static)), name="static")
    add_faults(app)
    return app
