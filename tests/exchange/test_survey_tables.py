"""Slates out of tables whose columns are told: what comes back, method by method."""

from __future__ import annotations

import csv
import datetime as dt
import io
import time
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from corallum.errors import InputError
from corallum.exchange.survey_tables import (
    Columns,
    ImportedSlate,
    read_slates,
)
from corallum.records.survey import Effort, Line, Method
from slate_tables import (
    HEAD,
    LINE,
    PLAN,
    ROW,
    WORDS,
    faults,
    of,
    read,
    table,
    written_slates,
)


def test_a_row_becomes_a_line() -> None:
    """All that a row says stands in its slate, the word as it was written."""
    (slate,) = read(f"{HEAD}\n{ROW}")
    line = Line("Porites", "Porites", "genus", from_cm=0.0, to_cm=12.5)
    assert slate == ImportedSlate(
        "Inner", "", "T1", "Observer 1", dt.date(2025, 4, 3), 5.0, PLAN, (line,), (2,), ""
    )


@given(written_slates())
@settings(max_examples=60)
def test_what_was_written_is_read(case: tuple[Columns, str, list[ImportedSlate]]) -> None:
    """Whatever the columns are called, wherever they stand, the slates come back."""
    columns, text, slates = case
    found = read_slates(text, "s.csv", columns, WORDS.__getitem__, PLAN)
    assert list(found) == slates


def outcome(text: str) -> tuple[tuple[ImportedSlate, ...], list[str]]:
    """What a table is read as, or refused for."""
    try:
        return read(text), []
    except InputError as error:
        return (), [str(fault) for fault in error.faults]


CELLS = st.sampled_from(["", " ", "0", "-1", "nan", "1e400", "3.2 m", "3,2", "=1+1", "Porites",
                         "2025-02-30", "45306", "٣", "\x00", "'", "🪸", "9" * 400, "Favia", "1e9",
                         "../x", "<b>", "\u202e", "\xa0"]) | st.text(max_size=20)  # fmt: skip


@given(st.lists(st.lists(CELLS, min_size=8, max_size=8), max_size=6))
@settings(max_examples=80)
def test_hostile_cells_are_faults_or_slates(rows: list[list[str]]) -> None:
    """Whatever stands in the cells, a table is read or refused with faults of one line each."""
    out = io.StringIO(newline="")
    csv.writer(out).writerows([HEAD.split(","), *rows])
    slates, told = outcome(out.getvalue())
    assert bool(slates) != bool(told)
    assert all(line.isprintable() for line in told)
    assert all(len(slate.rows) == len(slate.lines) for slate in slates)


@given(st.text(max_size=200))
def test_any_text_is_refused_with_faults(text: str) -> None:
    """Text that is no table of slates is refused, never a traceback."""
    assert faults(text)


@given(written_slates(), st.randoms(use_true_random=False))
@settings(max_examples=30)
def test_the_order_of_transects_does_not_matter(
    case: tuple[Columns, str, list[ImportedSlate]],
    random: Any,  # noqa: ANN401
) -> None:
    """Rows shuffled between transects, in order within each, give the same slates."""
    columns, text, slates = case
    head, *rows = text.splitlines()
    left = [[rows[number - 2] for number in slate.rows] for slate in slates]
    mixed = [head]
    while left:
        one = random.choice(left)
        mixed.append(one.pop(0))
        left = [rest for rest in left if rest]
    found = read_slates("\n".join(mixed), "s.csv", columns, WORDS.__getitem__, PLAN)
    assert {replace(one, rows=()) for one in found} == {replace(one, rows=()) for one in slates}


def test_many_rows_are_read_quickly() -> None:
    """Fifty thousand rows, a quarter of a large file, are read in seconds."""
    rows = [f"S{n % 40},T{n // 40 % 25},2025-04-03,O,Porites lobata,0,{n},5" for n in range(50_000)]
    begun = time.perf_counter()
    slates = read("\n".join([HEAD, *rows]))
    assert sum(len(slate.lines) for slate in slates) == 50_000
    assert time.perf_counter() - begun < 10.0


# What each method makes of its rows.


def test_readings_follow_each_other() -> None:
    """Each reading ends an intercept that begins at the one before; backwards stays so."""
    columns = of(Method.LINE, "reading_cm")
    (slate,) = read(
        table(columns, "Porites,12", "sand,30", "sand,20", "sand,20", "Favites,45.5"), columns
    )
    ends = [(one.from_cm, one.to_cm) for one in slate.lines]
    assert ends == [(0, 12), (12, 30), (30, 20), (20, 20), (20, 45.5)]


def test_lengths_add_up_along_the_tape() -> None:
    """Successive lengths begin where the last ended, without a rest of rounding."""
    columns = of(Method.LINE, "intercept_cm")
    (slate,) = read(table(columns, *["Porites,.1"] * 3, "sand,-.1"), columns)
    ends = [(one.from_cm, one.to_cm) for one in slate.lines]
    assert ends == [(0.0, 0.1), (0.1, 0.2), (0.2, 0.3), (0.3, 0.2)]


def test_points_are_numbered_in_order_where_they_are_not() -> None:
    """Points without a number are numbered along the transect, or within their photo."""
    points, photos = of(Method.POINTS), of(Method.PHOTO, "frame")
    (one,) = read(table(points, "sand", "Porites"), points)
    assert [line.point for line in one.lines] == [1, 2]
    (two,) = read(table(photos, "sand,3", "Porites,4", "sand,3"), photos)
    assert [(line.frame, line.point) for line in two.lines] == [(3, 1), (4, 1), (3, 2)]


@pytest.mark.parametrize(
    ("row", "wanted"),
    [
        pytest.param("sand,1.5,1,.5,.5", "frame: expected a whole number from 0, found '1.5'",
                     id="frame"),
        pytest.param("sand,1,a,.5,.5", "point: expected a whole number from 0, found 'a'",
                     id="point"),
        pytest.param("sand,1,1,1.01,.5", "x: expected a share from 0 to 1, found '1.01'. Divide "
                     "pixels by the width of the photo.", id="x"),
        pytest.param("sand,1,1,.5,640", "y: expected a share from 0 to 1, found '640'. Divide "
                     "pixels by the height of the photo.", id="y"),
        pytest.param("sand,1,1,-.5,.5", "x: expected a number that is not negative", id="left"),
        pytest.param("sand,1,1,.5,", "y: expected a share from 0 to 1, found nothing", id="half"),
    ],
)  # fmt: skip
def test_faults_of_points_on_photos(row: str, wanted: str) -> None:
    """Frames and points are whole numbers, and places shares of the photo."""
    columns = of(Method.PHOTO, "frame", "point", "x", "y")
    assert read(table(columns, "sand,1,1.0,0,1"), columns)[0].lines[0].point == 1
    (found,) = faults(table(columns, row), columns)
    assert found.startswith(f"s.csv, row 2, {wanted}")


def test_a_photo_is_told_by_its_digest_and_is_of_one_frame() -> None:
    """A photo is named by its SHA-256, and a frame has one."""
    columns = of(Method.PHOTO, "frame", "photo")
    (slate,) = read(table(columns, f"sand,1,{'AB' * 32}"), columns)
    assert slate.lines[0].photo == "ab" * 32
    rows = (f"sand,1,{'ab' * 32}", f"sand,1,{'cd' * 32}", "sand,2,a.jpg")
    assert faults(table(columns, *rows), columns) == [
        "s.csv, row 4, photo: expected the SHA-256 of a photo, 64 hexadecimal digits, found "
        "'a.jpg'. Add the photo to the programme and write the digits it is kept under.",
        "s.csv, row 3, photo: expected one photo of frame 1, abababababab as in row 2, found "
        "cdcdcdcdcdcd. Give each photo its own frame.",
    ]  # fmt: skip


def test_a_colony_lies_left_or_right_of_the_tape() -> None:
    """A distance from the tape may be written with a sign, which is kept."""
    belt = of(Method.BELT, "off_line_cm")
    (slate,) = read(table(belt, "Porites,-30", "Porites,+20"), belt)
    assert [line.off_line_cm for line in slate.lines] == [-30.0, 20.0]


def test_marks_that_nobody_sees_change_nothing() -> None:
    """A mark of byte order, and blanks that do not break, are read as if they were plain."""
    columns = replace(LINE, roles={**LINE.roles, "event": "event"})
    row = ROW.replace("Porites", "Porites\xa0lobata").replace("Inner", "Inner\xa0reef")
    (slate,) = read(f"\ufeff{HEAD},event\n{row},E\xa01\n", columns)
    assert (slate.site, slate.lines[0].said, slate.note) == (
        "Inner reef", "Porites lobata", "event E 1",
    )  # fmt: skip


def test_counts_and_covers() -> None:
    """A count is 1 where no column tells it; 0 colonies, or 0 percent, are no line."""
    belt = of(Method.BELT, "count")
    quadrat = of(Method.QUADRAT_COVER, "frame", "cover_percent")
    (one,) = read(table(belt, "Porites,3", "Favites,0"), belt)
    assert [(line.label, line.count) for line in one.lines] == [("Porites", 3)]
    (two,) = read(table(quadrat, "Porites,1,12.5", "Favites,1,0"), quadrat)
    assert [(line.label, line.count, line.cover_percent) for line in two.lines] == [
        ("Porites", 1, 12.5)
    ]
    plain = of(Method.BELT)
    assert read(table(plain, "Porites"), plain)[0].lines[0].count == 1
    for columns, row, wanted in (
        (belt, "Porites,2.5", "count: expected a whole number from 0, found '2.5'"),
        (belt, "Porites,-2", "count: expected a whole number from 0, found '-2'"),
        (belt, "Porites,", "count: expected a number, found nothing"),
        (quadrat, "Porites,1,101", "cover_percent: expected a number in percent up to 100, found"),
        (quadrat, "Porites,1,12%", "cover_percent: expected a number in percent, found '12%'"),
        (quadrat, "Porites,1,", "cover_percent: expected a number, found nothing"),
        (quadrat, "Porites,,5", "frame: expected a number, found nothing"),
    ):
        assert faults(table(columns, row), columns)[0].startswith(f"s.csv, row 2, {wanted}")


def test_a_transect_without_anything_is_a_slate_without_lines() -> None:
    """A place that was searched and held nothing counts; beside lines such a row is a slip."""
    belt = of(Method.BELT, "count", "note")
    (slate,) = read(table(belt, ",,too silty"), belt)
    assert (slate.lines, slate.rows, slate.note) == ((), (), "too silty")
    assert faults(table(belt, ",,", "Porites,1,"), belt) == [
        "s.csv, row 2, name: expected a name of what was met, found nothing. Name it, or leave "
        "the row out.",
    ]


def test_effort_of_the_file_goes_before_the_plans() -> None:
    """A tape, width or number of frames in the file is used, and is one for a transect."""
    belt = of(Method.BELT, "tape_cm", "width_cm", length_unit="m")
    belt = replace(belt, roles={**belt.roles, "tape_cm": "tape", "width_cm": "wide"})
    (slate,) = read(table(belt, "Porites,25,1", "Porites,,"), belt)
    assert slate.effort == Effort(length_cm=2500.0, width_cm=100.0)
    assert faults(table(belt, "Porites,25,1", "Porites,20,1"), belt) == [
        "s.csv, row 3, tape: expected 2500 on all rows of a transect, as in row 2, found 2000. "
        "Write one value for the transect.",
    ]
    assert "row 3, depth: expected 5 on all rows" in faults(f"{HEAD}\n{ROW}\n{ROW[:-1]}6")[0]


# Events.

PHOTOS = Columns(Method.PHOTO, {
    "event": "eventID", "parent_event": "parentEventID", "site": "locality", "date": "eventDate",
    "observer": "recordedBy", "name": "verbatimIdentification",
})  # fmt: skip
EVENTS = "eventID,parentEventID,locality,eventDate,recordedBy,verbatimIdentification"


def events(*rows: str) -> str:
    """A table of events at one site, day and observer, each row "event parent name"."""
    cells = [(row.split("/")) for row in rows]
    return "\n".join([EVENTS, *(f"{a},{b},Inner,2025-04-03,O,{c}" for a, b, c in cells)])


def test_frames_belong_to_the_transect_of_their_parent() -> None:
    """Frames with one parent are one transect, numbered in order, the parent's name its own."""
    (slate,) = read(events("f1/t/sand", "f2/t/Porites", "t//", "f1/t/sand"), PHOTOS)
    assert (slate.transect, slate.note, slate.rows) == ("t", "event t", (2, 3, 5))
    assert [(line.frame, line.point) for line in slate.lines] == [(1, 1), (2, 1), (1, 2)]


@pytest.mark.parametrize(
    ("rows", "wanted"),
    [
        pytest.param(["f1/t/sand", "f2/t/sand"], "row 2, parentEventID: expected an event of this "
                     "file, found 't'", id="orphan"),
        pytest.param(["a/b/sand", "b/a/sand"], "row 2, parentEventID: expected parents that lead "
                     "to a transect, found a circle: 'a' belongs to 'b' belongs to 'a'",
                     id="circle"),
        pytest.param(["a/a/sand"], "row 2, parentEventID: expected parents that lead to a "
                     "transect, found a circle: 'a' belongs to 'a'", id="its own parent"),
        pytest.param(["t//", "u//", "f/t/sand", "f/u/sand"], "row 5, parentEventID: expected the "
                     "parent 't' of the event 'f', as in row 4, found 'u'", id="two parents"),
        pytest.param(["t//sand"], "row 2, parentEventID: expected the event of a frame, found a "
                     "transect's", id="no frame"),
    ],
)  # fmt: skip
def test_events_that_lead_nowhere_are_faults(rows: list[str], wanted: str) -> None:
    """A parent that is no event of the file, a circle, or a second parent is told once."""
    (found,) = faults(events(*rows), PHOTOS)
    assert found.startswith(f"s.csv, {wanted}")


def test_an_event_is_one_transect() -> None:
    """The same id with another site, day or observer is an event that is there twice."""
    columns = replace(LINE, roles={**LINE.roles, "event": "event"})
    text = f"{HEAD},event\n{ROW},E1\n{ROW.replace('Inner', 'Outer')},E1\n{ROW},E2"
    assert faults(text, columns) == [
        "s.csv, row 3, event: expected site Inner for the event 'E1', as in row 2, found site "
        "Outer. Give each transect an event of its own.",
    ]
    assert len(read(text.replace("Outer,T1", "Inner,T1"), columns)) == 2


def test_a_visit_has_one_day_for_each_transect() -> None:
    """With a column of visits, a transect read on two days of one visit is told."""
    columns = replace(LINE, roles={**LINE.roles, "visit": "visit"})
    text = f"{HEAD},visit\n{ROW},V1\n{ROW.replace('04-03', '04-04')},V1"
    assert faults(text, columns)[0].startswith(
        "s.csv, row 3, date: expected date 2025-04-03 for the transect 'T1', as in row 2"
    )
    assert (
        len(
            read(
                text.replace(
                    "04,Observer 1,Porites,0,12.5,5,V1", "04,Observer 1,Porites,0,12.5,5,V2"
                ),
                columns,
            )
        )
        == 2
    )


def test_a_long_chain_of_events_is_followed() -> None:
    """A chain of twenty thousand parents is followed to its end in seconds."""
    rows = [f"e{n}/{f'e{n - 1}' if n else ''}/{'sand' if n else ''}" for n in range(20_000)]
    begun = time.perf_counter()
    (slate,) = read(events(*reversed(rows)), PHOTOS)
    assert len(slate.lines) == 19_999
    assert time.perf_counter() - begun < 20.0
