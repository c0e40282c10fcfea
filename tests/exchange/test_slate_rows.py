"""Typed lines one by one, and slates that are mended by typing."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

import support
from corallum.errors import InputError
from corallum.exchange.slate_rows import mend_lines, read_rows
from corallum.exchange.slate_text import read_slate_text, slate_text
from corallum.records.survey import Line, Method
from corallum.reference.said import SaidResolver

RESOLVER = SaidResolver(support.library().reference, ("indo_pacific",))
PHOTO = "a" * 64
POINTS = tuple(
    Line(name, name, kind, frame=1, point=i + 1, x=0.1 * i, y=0.5, photo=PHOTO)
    for i, (name, kind) in enumerate(
        [("Porites", "genus"), ("sand", "other"), ("Acropora", "genus")]
    )
)
NAMES = st.sampled_from(["porites", "sand", "acropora/tab", "unreadable", "nosuch", "po"])


def test_a_bad_line_hides_no_other() -> None:
    """The tape goes on from the last line that was read; the bad one has its number."""
    rows = read_rows("120 porites\n\n150 nosuch\n180 sand # wide", Method.LINE, RESOLVER)

    assert [row.number for row in rows] == [1, 3, 4]
    assert [[(one.label, one.from_cm, one.to_cm) for one in row.lines] for row in rows] == [
        [("Porites", 0, 120)], [], [("sand", 120, 180)],
    ]  # fmt: skip
    assert rows[1].fault is not None
    assert rows[1].fault.place == "line 3"
    assert rows[2].lines[0].note == "wide"


@given(st.lists(st.tuples(st.integers(1, 999), NAMES), min_size=1, max_size=8))
def test_lines_read_one_by_one_are_those_of_the_slate(typed: list[tuple[int, str]]) -> None:
    """Where the whole slate can be read, its lines are the rows' lines; else a row has a fault."""
    text = "\n".join(f"{end} {name}" for end, name in typed)

    rows = read_rows(text, Method.LINE, RESOLVER)

    faults = [row.fault.place for row in rows if row.fault is not None]
    if faults:
        with pytest.raises(InputError) as caught:
            read_slate_text(text, Method.LINE, RESOLVER)
        assert [fault.place for fault in caught.value.faults] == faults
    else:
        whole = read_slate_text(text, Method.LINE, RESOLVER)
        assert tuple(line for row in rows for line in row.lines) == whole


def test_points_are_counted_over_the_lines() -> None:
    """Three points in a row are three records, and the next is the fourth."""
    rows = read_rows("sand x3\nporites", Method.POINTS, RESOLVER)

    assert [[one.point for one in row.lines] for row in rows] == [[1, 2, 3], [4]]


def test_nothing_alone_is_no_line() -> None:
    """A slate of nothing has no records; beside other lines the word is no name."""
    alone = read_rows("Nothing", Method.BELT, RESOLVER)
    beside = read_rows("porites 3\nnothing", Method.BELT, RESOLVER)

    assert (alone[0].lines, alone[0].fault) == ((), None)
    assert beside[1].fault is not None


def test_a_slate_that_is_left_alone_is_the_same() -> None:
    """Mending without a change keeps every field, typed or not."""
    lines = (
        Line("CM", "stony coral", "unidentified", "massive", 0.0, 12.3456, colony="A1"),
        Line("Favia", "Dipsastraea", "genus", from_cm=20.0, to_cm=18.0, note="backwards"),
        Line("Porites lobata", "Porites", "genus", from_cm=18.0, to_cm=40.0, photo=PHOTO),
    )

    assert mend_lines(lines, slate_text(lines, Method.LINE), Method.LINE, RESOLVER) == lines


def test_a_line_between_moves_the_start_of_the_next() -> None:
    """On a tape a line without a start of its own begins where the one before now ends."""
    lines = read_slate_text("100 porites\n200 sand", Method.LINE, RESOLVER)

    mended = mend_lines(lines, "100 porites\n130 acropora\n200 sand", Method.LINE, RESOLVER)

    assert [(one.label, one.from_cm, one.to_cm) for one in mended] == [
        ("Porites", 0, 100), ("Acropora", 100, 130), ("sand", 130, 200),
    ]  # fmt: skip


def test_a_photo_point_keeps_its_place_under_another_name() -> None:
    """The second of three points is named anew; photo, number and place stay."""
    mended = mend_lines(POINTS, "Porites\nrock\nAcropora", Method.PHOTO, RESOLVER)

    assert [one.label for one in mended] == ["Porites", "rock", "Acropora"]
    assert [(one.photo, one.point, one.x) for one in mended] == [
        (one.photo, one.point, one.x) for one in POINTS
    ]


@pytest.mark.parametrize("text", ["Porites\nsand", "Porites\nsand x2\nAcropora"])
def test_photo_points_are_neither_added_nor_taken_out(text: str) -> None:
    """A slate of three points on photos mended to two or four is refused."""
    with pytest.raises(InputError, match="3 points, as lie on the photos"):
        mend_lines(POINTS, text, Method.PHOTO, RESOLVER)


def test_faults_of_a_mended_slate_have_the_numbers_of_its_text() -> None:
    """A blank line counts, as an editor counts."""
    lines = read_slate_text("porites 3\nacropora 4", Method.BELT, RESOLVER)

    with pytest.raises(InputError) as caught:
        mend_lines(lines, "Porites 3\n\nnosuch 4", Method.BELT, RESOLVER)

    assert [fault.place for fault in caught.value.faults] == ["line 3"]
