"""Make the page for a phone, for a programme or for nobody in particular."""

from __future__ import annotations

from typing import TYPE_CHECKING

import corallum
from corallum.actions.references import Library
from corallum.actions.unit_of_work import check_choice
from corallum.errors import ConflictError
from corallum.reference.genera import REGIONS
from corallum.report.phone_page import PhoneAbout, phone_page

if TYPE_CHECKING:
    from corallum.store.programme import Programme

__all__ = ["phone_sheet"]


def phone_sheet(programme: Programme | None = None, region: str | None = None) -> str:
    """Return the page for a phone as one text of HTML.

    Parameters
    ----------
    programme : Programme or None
        Whose reference, sites and people the page carries; None is the shipped reference.
    region : str or None
        Where it will be used; by default the programme's, where it has only one.

    Raises
    ------
    InputError
        Where there is no such region.
    ConflictError
        Where the reference is too large for a page.
    """
    if region is not None:
        check_choice(region, "region", REGIONS)
    library, about = _about(programme, region)
    try:
        return phone_page(library.reference, library.compiled, about)
    except ValueError as error:
        raise ConflictError(f"{error}. Shorten the descriptions of the reference.") from error


def _about(programme: Programme | None, region: str | None) -> tuple[Library, PhoneAbout]:
    """Return the reference, and what the page is made for."""
    if programme is None:
        return Library(), PhoneAbout("Corallum", corallum.__version__, region)
    from corallum.actions.people import list_people  # noqa: PLC0415  the database is slow to load
    from corallum.actions.places import list_sites  # noqa: PLC0415
    from corallum.actions.programme_reference import (  # noqa: PLC0415
        programme_library,
        reference_version,
    )

    regions = programme.settings.regions
    about = PhoneAbout(
        programme.settings.name,
        reference_version(programme),
        region or (regions[0] if len(regions) == 1 else None),
        tuple(site.name for site in list_sites(programme)),
        tuple(one.name for one in list_people(programme) if one.active),
    )
    return programme_library(programme), about
