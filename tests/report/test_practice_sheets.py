"""Practice sheets to print: colonies, lines to answer on, answers on pages of their own."""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime

import pypdf
import pytest

import support
from corallum.actions import references
from corallum.actions.practice_sheets import (
    MadePracticeSheets,
    MakePracticeSheets,
    make_practice_sheets,
)
from corallum.errors import InputError
from corallum.report.paper import PAPERS
from corallum.report.practice_sheet import PracticeColony, set_practice_sheets

NOW = datetime(2026, 3, 14, 9, 30, tzinfo=UTC)


@pytest.fixture(scope="module")
def made() -> Iterator[MadePracticeSheets]:
    """Two drawn colonies of the Red Sea."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(references, "Library", lambda _=None: support.library())
        yield make_practice_sheets(None, MakePracticeSheets("red_sea", items=2), NOW)


def words_of(pages: list[pypdf.PageObject]) -> str:
    """Text of some pages on one line."""
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def test_the_names_are_on_the_last_page_only(made: MadePracticeSheets) -> None:
    """Colonies are shown without their names; a page for the answers follows."""
    pdf = pypdf.PdfReader(io.BytesIO(made.pdf))
    assert len(pdf.pages) == 2
    questions, answers = words_of(pdf.pages[:1]), words_of(pdf.pages[1:])
    for colony in made.sheets.colonies:
        assert colony.genus not in questions
        assert colony.genus in answers
        assert colony.family in answers
    assert len(pdf.pages[0].images) == 2
    assert questions.count("Genus, or those that can't be told apart:") == 2
    assert "look, do not touch" in questions
    assert "seed 1" in answers


def test_answers_can_be_left_off(made: MadePracticeSheets) -> None:
    """Without answers no page names a genus."""
    alone = replace(made.sheets, answers=False)
    pdf = pypdf.PdfReader(io.BytesIO(set_practice_sheets(alone, NOW)))
    assert len(pdf.pages) == 1
    assert made.sheets.colonies[0].genus not in words_of(pdf.pages)


def test_an_answer_is_what_the_model_finds_best(made: MadePracticeSheets) -> None:
    """Of each colony the answer names the drawn genus, or says what it can't be told from."""
    for colony in made.sheets.colonies:
        assert colony.genus in colony.best or colony.nearest
        assert colony.nearest != colony.genus
        assert colony.picture.startswith(b"\xff\xd8")


@pytest.mark.parametrize(
    ("best", "said"),
    [
        (("Acropora",), "none; hardest to tell: Isopora"),
        (("Acropora", "Isopora"), "Isopora no look in the water parts them"),
        (("Isopora", "Montipora"), "Isopora, Montipora this colony looks more like these"),
    ],
)
def test_what_counts_beside_the_genus_is_said(
    made: MadePracticeSheets, best: tuple[str, ...], said: str
) -> None:
    """As marks are given: the truth alone, or with nothing outside the honest set.

    docs/methods/marking.md.
    """
    one = PracticeColony(1, b"", (), (), "Acropora", "Acroporidae", best, "Isopora", ())
    pdf = set_practice_sheets(replace(made.sheets, colonies=(one,)), NOW)
    answers = words_of(pypdf.PdfReader(io.BytesIO(pdf)).pages[1:])
    assert "Right is the genus, alone or with what may be named beside it" in answers
    assert said in answers


@pytest.mark.parametrize("paper", list(PAPERS))
def test_colonies_fill_pages_of_every_paper(made: MadePracticeSheets, paper: str) -> None:
    """Fifteen colonies told in words take as many pages as the layout says, answers apart."""
    one = PracticeColony(1, b"", (("habitat", "slope *x* #y"),), ("shaded",), "Acropora",
                         "Acroporidae", ("Acropora",), "Isopora", ("axial corallite: one",),
                         "a note")  # fmt: skip
    sheets = replace(
        made.sheets, paper=PAPERS[paper], colonies=tuple(replace(one, number=n + 1)
                                                         for n in range(15)),
    )  # fmt: skip
    pdf = pypdf.PdfReader(io.BytesIO(set_practice_sheets(sheets, NOW)))
    across, down = sheets.layout
    questions = -(-15 // (across * down))
    assert "answers" not in words_of(pdf.pages[:questions])
    assert "Practice: Red Sea: answers" in words_of([pdf.pages[questions]])
    text = words_of(pdf.pages[:questions])
    assert text.count("habitat: slope *x* #y; the colony is shaded") == 15


@pytest.mark.parametrize("items", [0, 61])
def test_a_sheet_is_no_book(items: int) -> None:
    """No colonies, and more than sixty, are refused before any is drawn."""
    with pytest.raises(InputError, match=r"--items: expected a whole number from 1 to 60"):
        make_practice_sheets(None, MakePracticeSheets("red_sea", items=items), NOW)
