"""Every state has a drawing that is legible, its own, and true to its definition."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from functools import cache
from itertools import combinations, product
from xml.etree import ElementTree as ET

import numpy as np
import pytest

import drawings_page
from corallum.draw.geometry import ellipse, inside, lattice_cells
from corallum.draw.ink import BOLD, FINE, LINE, SOLID, Disc, Marks, Stroke, extent, parts, svg
from corallum.draw.states import SIZE, draw_state, drawn, marks_of, states_to_draw, text_of
from corallum.draw.walls import cerioid_cells
from support import library

SCHEME = library().reference.scheme
ALL = tuple(states_to_draw(SCHEME))
NAMES = [f"{character}-{state or 'size'}" for character, state in ALL]
every = pytest.mark.parametrize(("character", "state"), ALL, ids=NAMES)
CENTRE = np.array([50.0, 30.0])


@cache
def marks(character: str, state: str) -> Marks:
    """What is drawn, made once."""
    return marks_of(character, state)


def coverage(drawing: Marks, cells: int = 64) -> np.ndarray:
    """Which pixels of a picture 64 pixels wide the ink of lines, dots and solids reaches."""
    inked = np.zeros((cells, cells), dtype=bool)
    grid = np.stack(np.meshgrid(*[(np.arange(cells) + 0.5) * 100 / cells] * 2), axis=-1)
    for mark in drawing:
        points = ellipse(mark.x, mark.y, mark.r, mark.r) if isinstance(mark, Disc) else mark.points
        if mark.pen == SOLID:
            inked |= inside(grid.reshape(-1, 2), points).reshape(cells, cells)
        if isinstance(mark, Disc) or mark.closed:
            points = np.vstack((points, points[:1]))
        along = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))))
        at = np.arange(0, along[-1], 0.5)
        line = np.column_stack([np.interp(at, along, points[:, k]) for k in (0, 1)])
        for dx, dy in product((-0.3 * mark.pen, 0.0, 0.3 * mark.pen), repeat=2):
            x, y = ((line + np.array([dx, dy])) * cells / 100).astype(int).clip(0, cells - 1).T
            inked[y, x] = True
    return inked


def strokes(character: str, state: str, part: str) -> list[Stroke]:
    """The strokes that stand for one part of a drawing."""
    found = parts(marks(character, state), part)
    return [mark for mark in found if isinstance(mark, Stroke)]


def lengths(character: str, state: str, part: str) -> list[float]:
    """The lengths of those strokes."""
    return [
        float(np.hypot(*np.diff(s.points, axis=0).T).sum()) for s in strokes(character, state, part)
    ]


def adjacent() -> Iterator[tuple[str, str, str]]:
    """All pairs of states of one character."""
    for character in dict.fromkeys(character for character, _ in ALL):
        states = [state for one, state in ALL if one == character]
        for a, b in combinations(states, 2):
            yield character, a, b


def test_every_state_has_a_drawing_and_no_drawing_is_idle() -> None:
    """What may be reported and what is drawn are the same list."""
    assert Counter(drawn()) == Counter(ALL)


@every
def test_drawing_is_sound_svg_in_one_colour(character: str, state: str) -> None:
    """A drawing is well-formed, 100 by 100, in the colour of the text, without letters."""
    root = ET.fromstring(draw_state(SCHEME, character, state).svg)  # noqa: S314  our own text

    elements = list(root.iter())
    assert root.get("viewBox") == "0 0 100 100"
    assert root.get("role") == "img"
    assert {e.tag.rpartition("}")[2] for e in elements} == {"svg", "path"}
    assert {e.get(k) for e in elements for k in ("fill", "stroke")} <= {
        "none",
        "currentColor",
        None,
    }
    assert not any(e.get("style") or e.get("class") or e.get("opacity") for e in elements)
    assert "".join(root.itertext()).strip() == ""


@every
def test_drawing_stays_in_its_frame_with_holding_lines(character: str, state: str) -> None:
    """No ink leaves the square, and the finest line is .7 pixel at 64 pixels."""
    drawing = marks(character, state)
    low, high = extent(drawing)

    assert low >= 0
    assert high <= 100
    assert all(m.pen == SOLID or m.pen * 64 / 100 >= 0.7 for m in drawing)
    assert all(m.r * 2 * 64 / 100 >= 1 for m in drawing if isinstance(m, Disc))


@every
def test_drawing_carries_its_words(character: str, state: str) -> None:
    """The text alternative is in the picture and holds the definition."""
    drawing = draw_state(SCHEME, character, state)
    root = ET.fromstring(drawing.svg)  # noqa: S314  our own text
    known = SCHEME.characters.get(character)
    definitions = {s.id: s.definition for s in known.states} if known else {}

    assert root.get("aria-label") == drawing.text
    assert drawing.text
    assert definitions.get(state, "") in drawing.text
    if state == SIZE:
        assert known is not None
        assert known.definition in drawing.text


def test_drawings_are_the_same_every_time() -> None:
    """Two calls give the same picture, letter by letter."""
    first = [svg(marks_of(*one), "") for one in ALL]
    second = [svg(marks_of(*one), "") for one in ALL]

    assert first == second


def test_states_of_one_character_differ_at_64_pixels() -> None:
    """Any two states of a character differ in 5 % of the pixels that either inks."""
    inked = {one: coverage(marks(*one)) for one in ALL}
    alike = {}
    for character, a, b in adjacent():
        one, other = inked[character, a], inked[character, b]
        alike[character, a, b] = np.count_nonzero(one ^ other) / np.count_nonzero(one | other)

    assert {pair: share for pair, share in alike.items() if share < 0.05} == {}


def test_an_unknown_state_is_refused() -> None:
    """A state that the scheme does not have has no words and no drawing."""
    with pytest.raises(KeyError):
        text_of(SCHEME, "columella", "braided")
    with pytest.raises(KeyError):
        marks_of("columella", "braided")


def test_the_nearest_points_of_a_square_lattice_are_squares() -> None:
    """Thiessen polygon inside a unit square lattice: a unit square (by definition)."""
    grid = np.array([(float(x), float(y)) for x in range(5) for y in range(5)])

    cell = lattice_cells(grid, 3.0)[12]

    assert sorted(map(tuple, np.round(cell, 9))) == [(1.5, 1.5), (1.5, 2.5), (2.5, 1.5), (2.5, 2.5)]


def test_cerioid_walls_are_shared() -> None:
    """Each edge between two corallites belongs to exactly two polygons."""
    centres, cells = cerioid_cells()
    edges: Counter[frozenset[tuple[float, ...]]] = Counter()
    middles = {}
    for cell in cells:
        for a, b in zip(cell, np.roll(cell, -1, axis=0), strict=True):
            key = frozenset((tuple(np.round(a, 6)), tuple(np.round(b, 6))))
            edges[key] += 1
            middles[key] = (a + b) / 2

    inner = [n for key, n in edges.items() if max(abs(middles[key] - 50)) < 40]
    assert len(centres) == len(cells)
    assert len(inner) > 15
    assert set(inner) == {2}


def test_cerioid_drawing_draws_a_shared_wall_once() -> None:
    """No two walls of the drawing lie on each other."""
    walls = strokes("corallite_arrangement", "cerioid", "wall")
    middles = [wall.points.mean(axis=0) for wall in walls]

    assert min(float(np.hypot(*(a - b))) for a, b in combinations(middles, 2)) > 0.05


def test_plocoid_rings_do_not_touch() -> None:
    """Plocoid walls are rings with surface between them."""
    rings = [
        m for m in parts(marks("corallite_arrangement", "plocoid"), "wall") if isinstance(m, Disc)
    ]

    assert len(rings) >= 5
    for a, b in combinations(rings, 2):
        assert np.hypot(a.x - b.x, a.y - b.y) > a.r + b.r + 4


def test_thamnasterioid_septa_run_from_centre_to_centre_without_walls() -> None:
    """There is no wall, and every whole septum starts near one centre and ends near another."""
    drawing = marks("corallite_arrangement", "thamnasterioid")
    centres = np.array([(m.x, m.y) for m in parts(drawing, "centre") if isinstance(m, Disc)])
    whole = [
        s.points for s in strokes("corallite_arrangement", "thamnasterioid", "septum")
        if s.points.min() > 5 and s.points.max() < 95 and len(s.points) == 21
    ]  # fmt: skip

    assert not parts(drawing, "wall")
    assert len(whole) >= 6
    for line in whole:
        near = [np.hypot(*(centres - end).T) for end in (line[0], line[-1])]
        assert max(d.min() for d in near) < 9
        assert near[0].argmin() != near[1].argmin()


def test_meandroid_valleys_share_walls_and_flabello_meandroid_ones_do_not() -> None:
    """A meandroid wall is an open line; a flabello-meandroid valley is closed and apart."""
    shared = strokes("corallite_arrangement", "meandroid", "wall")
    own = strokes("corallite_arrangement", "flabello_meandroid", "wall")

    assert not any(wall.closed for wall in shared)
    assert all(wall.closed for wall in own)
    for a, b in combinations(own, 2):
        apart = np.hypot(*(a.points[:, None] - b.points[None]).transpose(2, 0, 1))
        assert apart.min() > BOLD


def test_solitary_is_one_corallite_and_polystomatous_several_centres_in_one_wall() -> None:
    """One wall each; one centre against several."""
    one = marks("corallite_arrangement", "solitary")
    many = marks("corallite_arrangement", "polystomatous")

    assert (len(parts(one, "wall")), len(parts(one, "centre"))) == (1, 1)
    assert len(parts(many, "wall")) == 1
    assert len(parts(many, "centre")) > 3


def test_paliform_lobes_stand_between_septa_and_columella() -> None:
    """Each lobe lies inward of the septa's inner ends and outward of the columella."""
    drawing = marks("paliform_crown", "present")
    (columella,) = parts(drawing, "columella")
    lobes = strokes("paliform_crown", "present", "lobe")
    ends = [np.hypot(*(s.points - CENTRE).T).min()
            for s in strokes("paliform_crown", "present", "septum")]  # fmt: skip

    assert isinstance(columella, Disc)
    assert len(lobes) == len(ends) == 12
    for lobe in lobes:
        reach = np.hypot(*(lobe.points - CENTRE).T)
        assert reach.min() > columella.r
        assert reach.max() < min(ends) + 0.5
    assert not parts(marks("paliform_crown", "absent"), "lobe")


def test_true_pali_stand_apart_from_septa_and_lobes_do_not() -> None:
    """A gap parts a palus from its septum; a lobe touches it."""
    middle = np.array([50.0, 50.0])

    def inner(state: str) -> float:
        """Inner ends of the septa."""
        return min(np.hypot(*(s.points - middle).T).min() for s in strokes("pali", state, "septum"))

    pali = max(
        np.hypot(*(s.points - middle).T).max() for s in strokes("pali", "true_pali", "palus")
    )
    lobes = [m for m in parts(marks("pali", "lobes"), "lobe") if isinstance(m, Disc)]
    assert pali < inner("true_pali") - LINE
    assert all(np.hypot(m.x - 50, m.y - 50) + m.r > inner("lobes") for m in lobes)


@pytest.mark.parametrize(
    ("state", "septa"), [("one", 6), ("two", 12), ("three", 24), ("four_or_more", 48)]
)
def test_cycles_of_septa_are_counted_as_in_the_definition(state: str, septa: int) -> None:
    """Six septa in the first cycle, and in each further one as many as all before (Wells 1956)."""
    assert len(strokes("septal_cycles", state, "septum")) == septa


@pytest.mark.parametrize(
    ("state", "tentacles"), [("eight_pinnate", 8), ("twelve", 12), ("twenty_four", 24)]
)
def test_tentacles_are_counted_as_in_the_definition(state: str, tentacles: int) -> None:
    """A drawing of twelve tentacles has twelve; only the eight are feathered."""
    assert len(strokes("tentacle_count", state, "tentacle")) == tentacles
    assert bool(parts(marks("tentacle_count", state), "pinnule")) == (tentacles == 8)
    assert len(strokes("tentacle_count", "many", "tentacle")) > 24


def test_septa_that_count_reach_a_third_of_the_way_in() -> None:
    """The bold septa, and no other, reach within two thirds of the radius (the definition)."""
    drawing = marks("septa_count", SIZE)
    (wall,) = parts(drawing, "wall")
    assert isinstance(wall, Disc)
    for septum in strokes("septa_count", SIZE, "septum"):
        reaches = np.hypot(*(septum.points - 50).T).min() <= wall.r * 2 / 3
        assert reaches == (septum.pen == BOLD)


def test_septa_alternate_only_where_said() -> None:
    """Equal septa have one length and pen, alternating two, unequal more."""
    kinds = {
        state: {
            (s.pen, round(length))
            for s, length in zip(
                strokes("septa_order", state, "septum"), lengths("septa_order", state, "septum"),
                strict=True,
            )
        }
        for state in ("equal", "alternating", "unequal")
    }  # fmt: skip

    assert (len(kinds["equal"]), len(kinds["alternating"])) == (1, 2)
    assert len(kinds["unequal"]) > 2


def test_ribs_of_a_costate_surface_cross_the_wall_into_the_calice() -> None:
    """Each rib starts inside one calice and ends inside the other: it continues the septa."""
    walls = (np.array([2.0, 28.0]), np.array([98.0, 28.0]))
    ribs = strokes("coenosteum_texture", "costate", "costa")

    assert len(ribs) >= 5
    for rib in ribs:
        for wall in walls:
            away = np.hypot(*(rib.points - wall).T)
            assert away.min() < 22 < away.max()


def test_ridges_of_a_ridged_surface_do_not() -> None:
    """No ridge enters a calice."""
    for ridge in strokes("coenosteum_texture", "ridged", "ridge"):
        for x in (2.0, 98.0):
            assert np.hypot(*(ridge.points - (x, 28.0)).T).min() > 22


def test_papillae_are_narrower_than_a_calice_and_tubercles_are_not() -> None:
    """Widths against the calice of the drawing, as the definitions say (calice radius 22)."""
    papillae = [m.r for m in parts(marks("coenosteum_texture", "papillate"), "papilla")
                if isinstance(m, Disc)]  # fmt: skip
    tubercles = strokes("coenosteum_texture", "tuberculate", "tubercle")

    assert max(papillae) < 22
    assert np.ptp(tubercles[0].points[:, 0]) >= 2 * 22


def test_relief_rises_from_immersed_to_tubular() -> None:
    """The top of the corallite rises from state to state, and a tube is taller than wide."""
    states = ("immersed", "flush", "domed", "conical", "tubular")
    tops = [float(strokes("corallite_relief", s, "surface")[0].points[:, 1].min()) for s in states]
    tube = strokes("corallite_relief", "tubular", "surface")[0].points
    raised = tube[tube[:, 1] < 60]

    assert tops[0] == tops[1] == 66
    assert tops[1] > tops[2] > tops[3] > tops[4]
    assert 66 - tops[4] > np.ptp(raised[:, 0])


def test_calice_diameter_is_shown_from_crest_to_crest() -> None:
    """The arrow of the calice spans the two crests; that of the corallite the outside."""
    surface = strokes("calice_diameter_mm", SIZE, "surface")[0].points
    ticks = strokes("calice_diameter_mm", SIZE, "tick")
    crests = sorted(surface[surface[:, 1] == surface[:, 1].min(), 0])
    outer = [float(t.points[0, 0]) for t in strokes("corallite_diameter_mm", SIZE, "tick")]

    assert sorted(float(t.points[0, 0]) for t in ticks) == pytest.approx([crests[0], crests[-1]])
    assert min(outer) < crests[0]
    assert max(outer) > crests[-1]


def test_the_page_shows_every_drawing() -> None:
    """The page is as the generator writes it today and holds each picture; it is small."""
    page = drawings_page.PAGE.read_text(encoding="utf-8")

    assert page == drawings_page.drawings_page(SCHEME), "run: python tools/drawings_page.py"
    assert len(re.findall("<svg", page)) == len(ALL)
    assert len(page.encode()) < 400_000


def test_a_mark_beyond_the_frame_is_found() -> None:
    """The check of the frame sees a stray line."""
    stray = (Stroke(np.array([[10.0, 10.0], [99.5, 10.0]]), FINE),)

    assert extent(stray)[1] > 100
