"""A slate as rows: what was searched, what was not met, and names taken apart."""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import timedelta
from typing import cast

import pytest
from hypothesis import given
from hypothesis import strategies as st

from corallum.exchange.archive.open import Archive
from corallum.exchange.archive.pack import Member
from corallum.exchange.archive.terms import EXTENDED_MEASUREMENT, OCCURRENCE
from corallum.exchange.archive.text_table import TAB, TableWriter, read_rows
from corallum.exchange.survey_archive.lines import Context, SlateRows, Taxon, rows_of_slate
from corallum.exchange.survey_archive.places import Placed, sample_size
from corallum.exchange.survey_archive.read_lines import LineReader
from corallum.exchange.survey_archive.shape import MEMBERS, OCCURRENCES
from corallum.records.survey import Effort, Line, Method, Slate
from invented import NOW


def test_an_area_has_the_size_that_was_searched() -> None:
    """Sizes by hand: 20 m by 1 m is 20 m2, 3 quadrats of half a square metre are 1.5 m2."""
    assert sample_size(Method.LINE, Effort(2000)) == ("20", "metre")
    assert sample_size(Method.BELT, Effort(2000, width_cm=100)) == ("20", "square metre")
    assert sample_size(Method.QUADRAT, Effort(frames=3, frame_area_m2=0.5)) == (
        "1.5", "square metre",
    )  # fmt: skip
    assert sample_size(Method.QUADRAT_COVER, Effort(frames=3)) == ("3", "quadrats")
    assert sample_size(Method.PHOTO, Effort(frames=3, points=10)) == ("30", "points")
    assert sample_size(Method.BELT, Effort(2000)) == ("", "")


DAY = NOW.date()
TAXA = {
    "Porites": Taxon("genus", "Poritidae"), "Goniopora": Taxon("genus", "Poritidae"),
    "Favites": Taxon("genus", "Merulinidae"),
}  # fmt: skip
CONTEXT = Context(
    {"p": "Observer 1"}, {"t": Placed()},
    TAXA | {"Poritidae": Taxon("family", "Poritidae"), "stony coral": Taxon("order")}, "here",
    {"p": (DAY - timedelta(days=1), frozenset(TAXA))},
)  # fmt: skip
BELT = Slate(
    5, "t", Method.BELT, "p", DAY, 5.0, Effort(1000, width_cm=100),
    (Line("Porites", "Porites", "genus"),), None, "typed", "", "p", NOW,
)  # fmt: skip
CORAL = Line("coral", "stony coral", "unidentified")
FAMILY = Line("Poritidae", "Poritidae", "unidentified")


def absent(slate: Slate, context: Context = CONTEXT) -> list[str]:
    """Genera that a slate's rows say were not there."""
    status, name = OCCURRENCES.index("occurrenceStatus"), OCCURRENCES.index("scientificName")
    found = rows_of_slate(slate, context).occurrences
    return [row[name] for row in found if row[status] == "absent"]


def test_absence_is_of_genera_that_were_searched_for() -> None:
    """A qualified observer who searched a belt: what they may name and did not meet."""
    assert absent(BELT) == ["Favites", "Goniopora"]


@pytest.mark.parametrize(
    ("slate", "context", "wanted"),
    [
        pytest.param(BELT, replace(CONTEXT, searched={}), [], id="nobody qualified"),
        pytest.param(replace(BELT, method=Method.LINE), CONTEXT, [], id="a tape"),
        pytest.param(replace(BELT, date=DAY - timedelta(days=9)), CONTEXT, [], id="before"),
        pytest.param(replace(BELT, lines=(CORAL,)), CONTEXT, [], id="coral without a name"),
        pytest.param(replace(BELT, lines=(FAMILY,)), CONTEXT, ["Favites"], id="a family"),
        pytest.param(
            replace(BELT, lines=(Line("tape", "unreadable", "unreadable"),)), CONTEXT, [],
            id="unreadable",
        ),
    ],
)  # fmt: skip
def test_no_absence_that_cant_be_known(slate: Slate, context: Context, wanted: list[str]) -> None:
    """Where something could hide a genus, or nobody looked for it, its absence is not said."""
    assert absent(slate, context) == wanted


@pytest.mark.parametrize(
    ("said", "doubt", "sign"),
    [
        ("Porites sp. stet.", "", "stet.: left at this level on purpose"),
        ("Porites sp. indet.", "", "indet.: what was seen does not allow more"),
        ("cf. Porites", "cf.", ""),
        ("aff. Porites", "aff.", ""),
        ("Porites?", "?", ""),
        ("Porites cf. lutea", "", ""),
    ],
)
def test_the_qualifier_holds_doubt_alone(said: str, doubt: str, sign: str) -> None:
    """Signs that are no doubt of the genus are remarks; the entry stays as it was written.

    Signs after Sigovini, Keppel and Tagliapietra 2016.
    """
    slate = replace(BELT, lines=(Line(said, "Porites", "genus"),))
    (row,) = rows_of_slate(slate, replace(CONTEXT, searched={})).occurrences
    found: Mapping[str, str] = dict(zip(OCCURRENCES, row, strict=True))
    assert found["identificationQualifier"] == doubt
    assert found["identificationRemarks"] == sign
    assert found["verbatimIdentification"] == said
    assert found["scientificName"] == "Porites"


class Kept:
    """Rows as an archive would hand them over, out of texts that were written."""

    def __init__(self, found: SlateRows) -> None:
        self.faults: list[str] = []
        self.tables = {
            row_type: (member, self.text(member, rows))
            for row_type, member, rows in (
                (OCCURRENCE, MEMBERS[1], found.occurrences),
                (EXTENDED_MEASUREMENT, MEMBERS[2], found.measurements),
            )
        }

    @staticmethod
    def text(member: Member, rows: Sequence[Sequence[str]]) -> bytes:
        """A table as it stands in the zip."""
        stream = io.BytesIO()
        writer = TableWriter(stream)
        writer.header(member.names)
        writer.write_many(rows)
        writer.close()
        return stream.getvalue()

    def rows(self, row_type: str) -> Iterator[tuple[int, dict[str, str]]]:
        """Rows by the names of terms."""
        member, text = self.tables[row_type]
        read = read_rows(io.BytesIO(text), member.file, len(member.names), TAB, [])
        for number, cells in read:
            yield number, dict(zip(member.names, cells, strict=True))

    def fault(self, *said: str) -> None:
        """Note a fault."""
        self.faults.append(" ".join(said))


WORDS = st.text(
    st.characters(exclude_categories=("C", "Z"), include_characters=" =+-@'\""), max_size=20
)
NUMBERS = st.none() | st.floats(-1e6, 1e6, allow_nan=False) | st.integers(-500, 500)
LINES = st.builds(
    Line,
    said=st.sampled_from(["Porites", "cf. Porites", "=Porites", "Porites?", "'-Porites"]),
    label=st.just("Porites"), kind=st.just("genus"),
    form=st.sampled_from(["", "massive"]), from_cm=NUMBERS, to_cm=NUMBERS,
    frame=st.none() | st.integers(1, 3), point=st.none() | st.integers(1, 99),
    x=NUMBERS, y=NUMBERS, diameter_cm=NUMBERS, off_line_cm=NUMBERS, count=st.integers(0, 50),
    cover_percent=NUMBERS, colony=WORDS, photo=st.none() | st.just("ab" * 32), note=WORDS,
)  # fmt: skip


@given(st.lists(LINES, max_size=4), st.sampled_from(list(Method)), st.booleans())
def test_lines_come_back_as_they_were(lines: list[Line], method: Method, coral: bool) -> None:
    """Whatever a line holds comes out of the tables again, coral or not."""
    if not coral:
        lines = [replace(one, label="sand", kind="other", said="sand") for one in lines]
    slate = replace(BELT, method=method, lines=tuple(lines))
    found = rows_of_slate(slate, replace(CONTEXT, searched={}))
    frames = {row[0]: ("t:5", int(row[3])) for row in found.events[1:]}
    kept = Kept(found)
    reader = LineReader(cast("Archive", kept), frozenset({"t:5"}), frames)
    reader.read()
    assert kept.faults == []
    assert reader.lines_of("t:5", 1, "event.txt") == slate.lines
