"""Labels keep apart, off the marks, and near to what they name."""

from __future__ import annotations

from itertools import combinations, pairwise

from hypothesis import given
from hypothesis import strategies as st

from corallum.draw.plots.labels import Box, Label, place_labels, spread

HEIGHTS = st.lists(st.tuples(st.floats(0, 300), st.floats(10, 30)), min_size=1, max_size=9)


@given(rows=HEIGHTS)
def test_spread_labels_keep_apart_and_in_order(rows: list[tuple[float, float]]) -> None:
    """Labels don't overlap, keep the order of what they name, and stay within where they can."""
    wanted, sizes = zip(*rows, strict=True)

    middles = spread(wanted, sizes, 0, 300)

    order = sorted(range(len(rows)), key=lambda i: wanted[i])
    for a, b in pairwise(order):
        assert middles[b] - middles[a] >= (sizes[a] + sizes[b]) / 2 - 1e-6
    assert middles[order[0]] - sizes[order[0]] / 2 >= -1e-6
    last = max(300, sum(sizes))
    assert middles[order[-1]] + sizes[order[-1]] / 2 <= last + 1e-6


def test_labels_with_room_stay_where_they_are_wanted() -> None:
    """Labels that would not overlap are not moved."""
    assert spread([100, 20, 60], [18, 18, 18], 0, 200) == [100, 20, 60]


PLACES = st.lists(
    st.tuples(st.floats(20, 380), st.floats(20, 280), st.floats(3, 15), st.floats(5, 120)),
    min_size=1,
    max_size=14,
)


@given(places=PLACES)
def test_placed_labels_cover_no_mark_and_no_other(
    places: list[tuple[float, float, float, float]],
) -> None:
    """Labels lie in the frame, off all marks and off one another; no line runs through one."""
    labels = [Label(Box(x - r, y - r, x + r, y + r), (w, 15)) for x, y, r, w in places]
    frame = Box(0, 0, 400, 300)

    placed = [p for p in place_labels(labels, frame) if p]

    assert all(p.box.within(frame) for p in placed)
    assert not any(p.box.meets(label.mark) for p in placed for label in labels)
    assert not any(a.box.meets(b.box) for a, b in combinations(placed, 2))
    leads = [(p, p.lead) for p in placed if p.lead]
    assert not any(q.box.crossed(*lead) for p, lead in leads for q in placed if q is not p)


def test_a_lone_label_stands_beside_its_mark() -> None:
    """With all the room there is, a label stands right of its mark, without a line."""
    (placed,) = place_labels([Label(Box(90, 90, 110, 110), (50, 14))], Box(0, 0, 400, 300))

    assert placed
    assert placed.lead is None
    assert 110 <= placed.box.left <= 120
    assert (placed.box.top + placed.box.bottom) / 2 == 100


def test_a_line_crosses_the_box_that_it_passes_through() -> None:
    """A line crosses a box where it runs through its inside, not where it ends before it."""
    box = Box(10, 10, 20, 20)

    assert box.crossed((0, 15), (30, 15))
    assert box.crossed((12, 0), (12, 30))
    assert box.crossed((0, 0), (30, 30))
    assert not box.crossed((0, 15), (9, 15))
    assert not box.crossed((0, 25), (30, 25))
    assert not box.crossed((0, 12), (12, 0))
