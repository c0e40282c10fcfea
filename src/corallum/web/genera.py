"""The reference as pages: the list, one account, two or three side by side, older names."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query
from fastapi.responses import Response

from corallum.actions.accounts import genus_account
from corallum.actions.colony_photos import photos_of_genus
from corallum.actions.programme_reference import programme_library
from corallum.actions.references import Library, find_genus, names_of
from corallum.reference.genera import REGIONS
from corallum.reference.reference import Reference, applicable
from corallum.reference.values import StateWords
from corallum.web.characters import drawing_url, scheme_shown
from corallum.web.examples import example_picture, example_scenes
from corallum.web.side_by_side import side_by_side
from corallum.web.visit import Visited

__all__ = ["router"]

router = APIRouter()

Short = Annotated[str, Query(max_length=100)]
_PHOTOS = 12
_MISSING = 30


@router.get("/genera")
def genera(visit: Visited, family: Short = "", region: Short = "", text: Short = "") -> Response:
    """List the genera."""
    reference = programme_library(visit.programme).reference
    wanted = text.strip().lower()
    found = [
        one for one in reference.entries.genera.values()
        if (not family or one.family == family) and (not region or region in one.regions)
        and wanted in one.name.lower()
    ]  # fmt: skip
    older = [one for one in reference.entries.names if wanted and wanted in one.older_name.lower()]
    by_family: dict[str, list[str]] = {}
    for one in sorted(found, key=lambda one: (one.family, one.name)):
        by_family.setdefault(one.family, []).append(one.name)
    return visit.page(
        "genera.html",
        by_family=by_family,
        older=older,
        families=sorted({one.family for one in reference.entries.genera.values()}),
        regions=REGIONS,
        asked={"family": family, "region": region, "text": text.strip()},
        count=len(found),
    )


@router.get("/genera/names")
def names(visit: Visited, name: Short = "") -> Response:
    """Say what an older name means today, and list them all."""
    library = programme_library(visit.programme)
    return visit.page(
        "names.html",
        name=name.strip(),
        resolved=names_of(library, name.strip()) if name.strip() else None,
        older=sorted(library.reference.entries.names, key=lambda one: one.older_name),
    )


@router.get("/genera/compare")
def compare(visit: Visited, a: Short = "", b: Short = "", c: Short = "") -> Response:
    """Put two or three genera side by side, the deciding characters first."""
    library = programme_library(visit.programme)
    chosen = list(dict.fromkeys(find_genus(library, one) for one in (a, b, c) if one.strip()))
    return visit.page(
        "compare.html",
        genera=tuple(library.compiled.genera),
        chosen=chosen,
        table=side_by_side(library, tuple(chosen)) if len(chosen) > 1 else None,
    )


@router.get("/genera/{genus}")
def account(visit: Visited, genus: str) -> Response:
    """Show one genus."""
    library = programme_library(visit.programme)
    found = genus_account(library, genus)
    shown = scheme_shown(library)
    name = found.genus.name
    rows = [
        (shown[row.character], row, value_drawings(library, name, row.character))
        for row in found.values if row.character in shown
    ]  # fmt: skip
    return visit.page(
        "genus.html",
        account=found,
        name=name,
        asked=genus,
        rows=rows,
        missing=missing_characters(library.reference, name)[:_MISSING],
        photos=photos_of_genus(visit.programme, name, _PHOTOS),
        scenes=example_scenes(library, name),
        sources=library.reference.entries.sources,
    )


@router.get("/genera/{genus}/example.jpg")
def example(visit: Visited, genus: str, form: Short = "", scene: Short = "close_up") -> Response:
    """Return a rendered example: a drawing, and no photograph."""
    library = programme_library(visit.programme)
    picture = example_picture(library, find_genus(library, genus), form, scene)
    return Response(
        picture, media_type="image/jpeg", headers={"Cache-Control": "private, max-age=3600"}
    )


def value_drawings(library: Library, genus: str, character: str) -> list[tuple[str, str]]:
    """Return drawings of the states that a genus shows at least often, most first."""
    reference = library.reference
    weights: dict[str, float] = {}
    for form in reference.forms_of(genus):
        value = reference.entries.values.get((genus, form.id, character))
        if value is None or not isinstance(value.value, StateWords):
            continue
        for state, word in value.value.words.items():
            share = form.weight * reference.scheme.words[word]
            weights[state] = weights.get(state, 0.0) + share
    shown = sorted(weights.items(), key=lambda pair: -pair[1])[:2]
    return [(drawing_url(character, state), state) for state, weight in shown if weight >= 0.25]


def missing_characters(reference: Reference, genus: str) -> list[tuple[str, str]]:
    """List characters that apply to a genus but are not filled, with the forms that lack them."""
    found: dict[str, list[str]] = {}
    for form in reference.forms_of(genus):
        for character in reference.scheme.characters.values():
            filled = (genus, form.id, character.id) in reference.entries.values
            if not filled and character.seen != "k" and applicable(reference, form, character):
                found.setdefault(character.id, []).append(form.id)
    return [(id_, ", ".join(forms)) for id_, forms in found.items()]
