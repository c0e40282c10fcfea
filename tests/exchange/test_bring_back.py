"""The columns of a table of slates that an import takes again."""

from __future__ import annotations

from dataclasses import replace

import pytest

from corallum.exchange.survey_columns import column_faults, guess_columns
from corallum.exchange.survey_tables import Columns
from corallum.exchange.tables_out.bring_back import BackSlate, back_table, file_name
from corallum.records.survey import Effort, Line, Method, Slate
from invented import NOW

SLATE = Slate(
    1, "t1", Method.LINE, "p1", NOW.date(), 6.0, Effort(length_cm=1000),
    (Line("Porites", "Porites", "genus", "", 0.0, 12.5), Line("sand", "sand", "other")),
    None, "typed", "", "p1", NOW,
)  # fmt: skip


def header(method: Method, *lines: Line) -> tuple[str, ...]:
    """Return the header of one slate's table."""
    slate = replace(SLATE, method=method, lines=lines or SLATE.lines, effort=Effort(frames=1))
    return back_table([BackSlate("Site 1", "T1", "Observer 1", slate)], method)[0]


@pytest.mark.parametrize("method", list(Method))
def test_the_import_knows_every_column_by_itself(method: Method) -> None:
    """Each header is guessed as the role that it is, and all that the method needs is there."""
    line = Line("Porites", "Porites", "genus", "massive", 0.0, 5.0, 1, 1, 0.5, 0.5, 12.0, -3.0, 2,
                40.0, "A1", "0" * 64, "odd")  # fmt: skip
    names = header(method, line)
    roles = guess_columns(names, method)

    assert set(roles.values()) == set(names)
    assert column_faults(Columns(method, roles), "table", complete=True) == []


def test_a_column_that_an_import_wants_whole_is_whole_or_left_out() -> None:
    """Points without their place on the photo have no columns for it."""
    placed = Line("sand", "sand", "other", frame=1, point=1, x=0.5, y=0.25)
    bare = replace(placed, point=2, x=None, y=None)

    assert {"x", "y", "point"} <= set(header(Method.PHOTO, placed))
    assert {"x", "y", "point"} & set(header(Method.PHOTO, placed, bare)) == {"point"}


def test_a_tape_without_a_reading_keeps_its_columns() -> None:
    """So the import tells which row lacks it."""
    assert {"from_cm", "to_cm"} <= set(header(Method.LINE))


@pytest.mark.parametrize(
    ("survey", "expected"),
    [
        ("Spring 2026", "bring-back/3-spring-2026.csv"),
        ("Ré/été: «nord»", "bring-back/3-re-ete-nord.csv"),
        ("\u73ca\u745a", "bring-back/3.csv"),
        ("../../etc", "bring-back/3-etc.csv"),
    ],
)
def test_a_file_is_named_in_plain_letters(survey: str, expected: str) -> None:
    """Whatever a survey is called, its file stays in its folder."""
    assert file_name(3, survey) == expected
