"""A map of survey sites that needs no outside picture.

It shows where sites lie to one another, how much was found at each and in which stratum it
lies. It holds no coast and no depth: it is not for navigation.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from corallum.draw.plots.axes import known
from corallum.draw.plots.earth import (
    Projection,
    degrees_text,
    project,
    round_degrees,
    round_length,
)
from corallum.draw.plots.labels import Box, Label, Placed, place_labels
from corallum.draw.plots.sheet import EDGE, NARROW, SHAPES, WIDE, Sheet, empty_plot, shape_path
from corallum.draw.plots.text import FONT, LINE, clean, number, shorten, wide, wrap

__all__ = ["Site", "plot_sites"]

_LEAST, _BARE = 2.5, 5.0  # radii: the least that is seen, and that of no value
_HIT = 13.0  # radius that a finger may touch
_LEFTS = (52.0, 68.0, 92.0)  # room for the texts of latitude, as they need it
_MOST_NAMED = 40  # sites; more are numbered
_MARGIN = 34.0  # between the frame and the sites


@dataclass(frozen=True, slots=True)
class Site:
    """A survey site.

    Parameters
    ----------
    name : str
        As it is written beside its mark or, where marks are crowded, in a list by number.
    latitude, longitude : float or None
        Degrees, north and east above 0; a site without either is named, not drawn.
    value : float or None
        0 or more; the mark's area. Without one the mark is small and empty.
    stratum : str
        The mark's shape.
    href : str or None
        Where the mark leads; a path of the page, http or https, else it is left out.
    """

    name: str
    latitude: float | None
    longitude: float | None
    value: float | None = None
    stratum: str = ""
    href: str | None = None


@dataclass(frozen=True, slots=True)
class _Mark:
    """A site as it is drawn."""

    site: Site
    x: float
    y: float
    radius: float
    shape: str
    bare: bool

    @property
    def box(self) -> Box:
        """Return the rectangle that its ink takes."""
        corners = [(self.x - self.radius, self.y), (self.x + self.radius, self.y)]
        corners += [(self.x, self.y - self.radius), (self.x, self.y + self.radius)]
        if self.shape != "circle":
            corners = shape_path(self.shape, (self.x, self.y), self.radius)
        xs, ys = zip(*corners, strict=True)
        return Box(min(xs) - 1, min(ys) - 1, max(xs) + 1, max(ys) + 1)


def plot_sites(
    sites: Sequence[Site], width: int = NARROW, *, unit: str = "", what: str = "Sites"
) -> str:
    """Plot sites on a map with a graticule, a scale bar and a mark of north.

    Parameters
    ----------
    sites : sequence of Site
        Those without a sound position are named below the map.
    width : int
        ``NARROW`` for a phone or ``WIDE``.
    unit : str
        Of the values.
    what : str
        Head of the plot.

    Returns
    -------
    str
        One ``<svg>``; with links it is a group, not an image, so that they can be reached.
    """
    drawn = [site for site in sites if _place(site) is not None]
    lost = [site.name for site in sites if _place(site) is None]
    missing = f"No position: {', '.join(lost)}." if lost else ""
    title = what
    if not drawn:
        return empty_plot(title, width, missing or "No sites yet.")
    sheet = Sheet(width)
    strata = list(dict.fromkeys(clean(site.stratum) for site in drawn))
    top = _draw_key(sheet, (title, unit), strata, drawn) + 6
    view = _view(drawn, width, top)
    frame = Box(
        view.x - view.half[0] - _MARGIN, view.y - view.half[1] - _MARGIN,
        view.x + view.half[0] + _MARGIN, view.y + view.half[1] + _MARGIN,
    )  # fmt: skip
    _draw_graticule(sheet, view, frame)
    marks = _marks(drawn, view, strata, slim=sheet.slim)
    listed = _draw_names(sheet, marks, frame)
    for mark in sorted(marks, key=lambda m: -m.radius):
        _draw_mark(sheet, mark, unit)
    bottom = _draw_foot(sheet, view, frame)
    bottom = _draw_list(sheet, listed, bottom)
    for line in wrap(missing, width - 2 * EDGE):
        bottom += LINE
        sheet.text((EDGE, bottom - 4), line, kind="soft")
    return sheet.close(bottom + 2, (title, *(_say(site, unit) for site in drawn), missing))


def _place(site: Site) -> tuple[float, float] | None:
    """Return a site's latitude and longitude, or None where they are no place on earth."""
    latitude, longitude = known(site.latitude), known(site.longitude)
    if latitude is None or longitude is None or abs(latitude) > 90 or abs(longitude) > 360:
        return None
    return latitude, longitude


def _value(site: Site) -> float | None:
    """Return a site's value, or None where it is missing or below 0."""
    value = known(site.value)
    return value if value is not None and value >= 0 else None


def _say(site: Site, unit: str) -> str:
    """Say a site: its name, stratum, value and position."""
    place = _place(site)
    where = ""
    if place:
        where = f" at {degrees_text(place[0], 'NS')} {degrees_text(place[1], 'EW')}"
    value = _value(site)
    said = "no value" if value is None else f"{number(value)} {unit}".strip()
    stratum = f" ({site.stratum})" if site.stratum else ""
    return f"{site.name}{stratum}: {said}{where}"


def _view(sites: Sequence[Site], width: int, top: float) -> Projection:
    """Return the projection that fits the sites below a height, and the texts to its left."""
    places = [place for place in map(_place, sites) if place]
    for left in _LEFTS:
        half_x = (width - 1 - EDGE - left) / 2 - _MARGIN
        # First as if there were room without end, to learn how tall the places are.
        free = project(places, (0.0, 0.0), (half_x, 1e9))
        tall = max(abs(free.at(*place)[1]) for place in places)
        least, most = (0.75, 1.2) if width < (NARROW + WIDE) / 2 else (0.5, 0.8)
        half_y = min(max(tall, least * half_x), most * half_x)
        middle = (left + half_x + _MARGIN, top + half_y + _MARGIN)
        view = project(places, middle, (half_x, half_y))
        if all(wide(text) <= left - 6 for _, text in _parallels(view)):
            break
    return view


def _parallels(view: Projection) -> list[tuple[float, str]]:
    """Return the heights and texts of the round latitudes on a map."""
    tall = (view.half[1] + _MARGIN) / view.scale
    ends = max(-90.0, view.latitude - tall), min(90.0, view.latitude + tall)
    return [
        (view.y - (latitude - view.latitude) * view.scale, degrees_text(latitude, "NS"))
        for latitude in round_degrees(*ends, 5)
    ]


def _shape(strata: Sequence[str], stratum: str) -> str:
    """Return a stratum's shape; from the sixth on all share the last."""
    return SHAPES[min(strata.index(clean(stratum)), len(SHAPES) - 1)]


def _marks(
    sites: Sequence[Site], view: Projection, strata: Sequence[str], *, slim: bool
) -> list[_Mark]:
    """Place and size the marks; areas are in the ratio of the values."""
    largest = max((v for v in map(_value, sites) if v is not None), default=0.0)
    # Marks shrink where there are many, so that numbers have room between them.
    free = math.sqrt(4 * view.half[0] * view.half[1] / len(sites))
    most = max(5.0, min(11.0 if slim else 15.0, 0.17 * free))
    marks = []
    for site in sites:
        value, place = _value(site), _place(site)
        radius = _BARE
        if value is not None and largest > 0:
            radius = max(_LEAST, most * math.sqrt(value / largest))
        x, y = view.at(*place) if place else (view.x, view.y)
        marks.append(_Mark(site, x, y, radius, _shape(strata, site.stratum), not value))
    return marks


def _draw_key(
    sheet: Sheet, words: tuple[str, str], strata: Sequence[str], sites: Sequence[Site]
) -> float:
    """Write the title and what shapes and areas mean; return where they end."""
    title, unit = words
    top = sheet.heading(title)
    items = []
    if any(strata):
        items = [(f"/place {_shape(strata, s)}", s or "no stratum") for s in strata]
    values = [v for v in map(_value, sites) if v is not None]
    if values and max(values) > 0:
        least, most = number(min(values)), number(max(values))
        said = most if least == most else f"{least} to {most}"
        text = f"area of a mark: {said} {unit}"
        top = sheet.heading(text, top)
    return sheet.key(items, top) if items else top


def _draw_graticule(sheet: Sheet, view: Projection, frame: Box) -> None:
    """Draw the frame, the round degrees in it and their texts outside it."""
    for y, text in _parallels(view):
        sheet.line((frame.left, y), (frame.right, y), "grid")
        sheet.text((frame.left - 5, min(frame.bottom - 2, y + 4.5)), text, "end", "soft")
    broad = (frame.right - frame.left) / 2 / view.across
    # As many meridians as their texts, of about eight characters, leave apart.
    most = max(1, int((frame.right - frame.left) / 105))
    taken = frame.left - 40
    for longitude in round_degrees(view.longitude - broad, view.longitude + broad, most):
        x = view.x + (longitude - view.longitude) * view.across
        text = degrees_text(longitude, "EW")
        half = wide(text) / 2
        sheet.line((x, frame.top), (x, frame.bottom), "grid")
        middle = min(max(x, half + 1), sheet.width - 1 - half)
        if middle - half >= taken + 6:
            sheet.text((middle, frame.bottom + LINE - 2), text, "middle", "soft")
            taken = middle + half
    size = (frame.right - frame.left, frame.bottom - frame.top)
    sheet.box(frame.left, frame.top, size, "frame")


def _draw_names(sheet: Sheet, marks: Sequence[_Mark], frame: Box) -> list[str]:
    """Write names where all have room, else numbers; return what is to be listed below."""
    frame = Box(frame.left + 3, frame.top + 3, frame.right - 3, frame.bottom - 3)
    names = [shorten(mark.site.name, 140 if sheet.slim else 190) for mark in marks]
    placed = _places(marks, names, frame) if len(marks) <= _MOST_NAMED else [None]
    far = sum(1 for place in placed if place is None or place.lead)
    listed = []
    if None in placed or far > max(1, len(marks) // 4):
        listed = [f"{k} {clean(mark.site.name)}" for k, mark in enumerate(marks, 1)]
        names = [str(k) for k in range(1, len(marks) + 1)]
        placed = _places(marks, names, frame, 1.5)
    for name, place in zip(names, placed, strict=True):
        if place and place.lead:
            sheet.line(*place.lead, "lead")
        if place:
            sheet.text((place.box.left, place.box.bottom - 4), name)
    return listed


def _places(
    marks: Sequence[_Mark], names: Sequence[str], frame: Box, gap: float = 3.5
) -> list[Placed | None]:
    """Find room for a name, or a number, to each mark."""
    pairs = zip(marks, names, strict=True)
    labels = [Label(mark.box, (wide(name), FONT + 2)) for mark, name in pairs]
    return place_labels(labels, frame, gap)


def _draw_list(sheet: Sheet, listed: Sequence[str], top: float) -> float:
    """List names by number in columns, read downwards; return where they end."""
    columns = 2 if sheet.slim else 4
    rows = -(-len(listed) // columns)
    room = (sheet.width - 2 * EDGE) / columns
    for k, text in enumerate(listed):
        at = (EDGE + k // rows * room, top + LINE * (1 + k % rows) - 4)
        sheet.text(at, shorten(text, room - 10))
    return top + LINE * rows


def _draw_mark(sheet: Sheet, mark: _Mark, unit: str) -> None:
    """Draw a site's mark, with its link and what a pointer over it says."""
    href = _safe(mark.site.href)
    sheet.group(href, _say(mark.site, unit))
    if href:
        sheet.shape((mark.x, mark.y), max(_HIT, mark.radius), "hit")
    sheet.shape((mark.x, mark.y), mark.radius, f"{'bare' if mark.bare else 'place'} {mark.shape}")
    sheet.end_group(href)


def _safe(href: str | None) -> str | None:
    """Return a link that leads to a page, or None."""
    if not href:
        return None
    link = "".join(clean(href).split())
    scheme, colon, _ = link.partition(":")
    leads = not colon or "/" in scheme or "?" in scheme or "#" in scheme
    return link if leads or scheme.lower() in ("http", "https") else None


def _draw_foot(sheet: Sheet, view: Projection, frame: Box) -> float:
    """Draw the scale bar and the mark of north below the map; return where they end."""
    top = frame.bottom + LINE + 6
    per_m = view.length(1.0)
    length = round_length(0.4 * (frame.right - frame.left) / per_m)
    long = view.length(length)
    left, y = frame.left, top + 10
    for k in range(2):
        kind = "solid" if k == 0 else "frame"
        sheet.box(left + k * long / 2, y - 3, (long / 2, 6), kind)
    text = f"{number(length / 1000)} km" if length >= 1000 else f"{number(length)} m"
    sheet.text((left + long + 8, y + 4.5), text)
    x = frame.right - 10
    arrow = [(x, top - 2), (x + 6, top + 18), (x, top + 14), (x - 6, top + 18)]
    sheet.path(arrow, "solid", closed=True)
    sheet.text((x - 12, top + 14.5), "N", "end")
    return top + 24
