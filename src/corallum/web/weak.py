"""Where the reference fails, by simulation."""

from __future__ import annotations

from typing import Annotated

import numpy as np
from fastapi import APIRouter, Form, Query
from fastapi.responses import Response

from corallum.actions.programme_reference import programme_library
from corallum.actions.references import check_region
from corallum.actions.waiting import waiting_work, weak_spots
from corallum.reference.genera import REGIONS
from corallum.web.characters import scheme_shown
from corallum.web.visit import Visited

__all__ = ["router"]

router = APIRouter()

_ROWS = 25
_SEED = 1


@router.get("/genera/weak")
def weak(visit: Visited, region: Annotated[str, Query(max_length=60)] = "") -> Response:
    """Ask for a region, and show what the records themselves say."""
    regions = visit.programme.settings.regions
    return visit.page(
        "weak.html", regions=REGIONS, region=region or (regions[0] if regions else ""),
        result=None, from_records=waiting_work(visit.programme, visit.now).weak,
        shown=scheme_shown(programme_library(visit.programme)), rows=_ROWS,
    )  # fmt: skip


@router.post("/genera/weak")
def assess(visit: Visited, region: Annotated[str, Form(max_length=60)] = "") -> Response:
    """Simulate, or show what was simulated before."""
    check_region(region or None)
    found = weak_spots(visit.programme, region or None, visit.now, np.random.default_rng(_SEED))
    return visit.page(
        "weak.html", regions=REGIONS, region=region, result=found,
        from_records=waiting_work(visit.programme, visit.now).weak,
        shown=scheme_shown(programme_library(visit.programme)), rows=_ROWS,
    )  # fmt: skip
