"""The field sheet of genera as a PDF, beside the tables of the reference."""

from __future__ import annotations

import io
from collections.abc import Iterator
from datetime import UTC, datetime

import numpy as np
import pypdf
import pypdfium2
import pytest

import support
from corallum.actions import references
from corallum.actions.field_sheets import MadeFieldSheet, MakeFieldSheet, make_field_sheet
from corallum.model.errors import Observer
from corallum.model.page_accuracy import Sheet, Trial
from corallum.model.page_budget import PageBudget, ask_page
from corallum.model.page_choice import account_for
from corallum.reference.values import SizeRange, StateWords
from corallum.report.field_sheet import (
    FieldSheet,
    Note,
    SheetWords,
    label_of,
    lay_out,
    set_field_sheet,
)
from corallum.report.paper import PAPERS, paper_called
from corallum.report.sheet_marks import (
    apart,
    like_beside_like,
    mark_states,
    said_range,
    size_range,
)
from corallum.report.sheet_room import page_columns, room_on, widths_of

NOW = datetime(2026, 3, 14, 9, 30, tzinfo=UTC)
# What a word of the tables is on a sheet; what is not named there is "never".
MARKS = {"always": "full", "usually": "full", "often": "ring", "sometimes": "ring", "rarely": ""}
POINTS_A_MM = 72 / 25.4


@pytest.fixture(scope="module")
def made() -> Iterator[MadeFieldSheet]:
    """Two pages of A4 for the Red Sea, chosen on few colonies."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(references, "Library", lambda _=None: support.library())
        command = MakeFieldSheet("red_sea", pages=2, colonies=60, random=3, keep=("Heliopora",))
        yield make_field_sheet(None, command, NOW)


@pytest.fixture(scope="module")
def pdf(made: MadeFieldSheet) -> pypdf.PdfReader:
    """Its PDF, read back."""
    return pypdf.PdfReader(io.BytesIO(made.pdf))


def text_of(pdf: pypdf.PdfReader) -> str:
    """All text of a PDF on one line; hyphens at the end of a line are taken back."""
    text = "\n".join(page.extract_text() for page in pdf.pages)
    return " ".join(text.replace("\u00ad", "").replace("-\n", "").split())


def small_sheet(title: str, paper: str, pages: int) -> FieldSheet:
    """A sheet of the first genera and characters of the Atlantic, chosen by nobody."""
    compiled, scheme = support.compiled(), support.library().reference.scheme
    question = ask_page(
        compiled, Observer.UNKNOWN, "atlantic", genera=compiled.genera[:8],
        characters=("attachment", "axial_corallite", "calice_diameter_mm"),
    )  # fmt: skip
    trial = Trial.draw(question, 20, np.random.default_rng(1))
    rows = tuple(range(8))
    choice = account_for(trial, Sheet(rows, question.characters))
    room = room_on(paper_called(paper), pages, ("x" * 500,))
    widths = widths_of(compiled, trial.genera.tolist())
    budget = PageBudget(room.rows, room.columns, pages, widths=widths)
    words = SheetWords(title, "below", (Note("Cautions.", "Look, do not touch."),))
    about = (PAPERS[paper], budget)
    return lay_out((scheme, compiled), Observer.UNKNOWN, choice, about, words)


def test_a_sheet_has_the_pages_and_the_paper_that_were_asked_for(pdf: pypdf.PdfReader) -> None:
    """Two pages of 210 x 297 mm (ISO 216)."""
    assert len(pdf.pages) == 2
    for page in pdf.pages:
        size = [float(length) / POINTS_A_MM for length in page.mediabox[2:]]
        assert size == pytest.approx([210, 297], abs=0.1)


@pytest.mark.parametrize(
    ("paper", "size"),
    [
        pytest.param("a5", (148, 210), id="a5, ISO 216"),
        pytest.param("letter", (215.9, 279.4), id="letter, 8.5 x 11 inches"),
    ],
)
def test_other_papers_have_their_sizes(paper: str, size: tuple[float, float]) -> None:
    """Each page has the size of its paper, and the budget's number of pages is kept."""
    sheet = small_sheet("A sheet", paper, 2)
    found = pypdf.PdfReader(io.BytesIO(set_field_sheet(sheet, support.library().reference.scheme,
                                                       NOW)))  # fmt: skip
    sizes = [[float(one) / POINTS_A_MM for one in page.mediabox[2:]] for page in found.pages]
    assert len(sheet.pages) == len(sizes) == 2
    assert sizes == [pytest.approx(size, abs=0.1)] * 2


def test_a_sheet_can_be_read_aloud(pdf: pypdf.PdfReader) -> None:
    """The PDF is tagged, has a language and a title, and says that it keeps to PDF/UA-1."""
    root = pdf.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"] is True or root["/MarkInfo"]["/Marked"] == True  # noqa: E712
    assert "/StructTreeRoot" in root
    assert root["/Lang"] == "en"
    assert pdf.metadata is not None
    assert pdf.metadata.title == "Genera of stony corals: Red Sea"
    assert b"pdfuaid" in root["/Metadata"].get_data()


def test_everything_chosen_is_on_the_page(made: MadeFieldSheet, pdf: pypdf.PdfReader) -> None:
    """The text holds every genus and character that was chosen, and what had to be there."""
    text = text_of(pdf)
    assert set(made.sheet.genera) == {one.genus for one in made.choice.genera}
    assert "Heliopora" in made.sheet.genera
    assert [genus for genus in made.sheet.genera if genus not in text] == []
    shown = {group.character for page in made.sheet.pages for group in page.groups}
    assert shown == {one.character for one in made.choice.characters}
    squeezed = text.replace(" ", "")
    for one in shown:
        assert label_of(one).replace(" ", "") in squeezed


def test_what_is_carried_and_left_out_is_the_list(
    made: MadeFieldSheet, pdf: pypdf.PdfReader
) -> None:
    """Rows and the genera said to be left out make up the region's list, each once."""
    entries = support.library().reference.entries.genera
    listed = sorted(name for name, one in entries.items() if "red_sea" in one.regions)
    left = [one.genus for one in made.choice.left_genera]
    assert sorted([*made.sheet.genera, *left]) == listed
    squeezed = text_of(pdf).replace(" ", "").replace("-", "")
    assert [name for name in left if name not in squeezed] == []
    for one in made.choice.left_characters:
        assert label_of(one.character, unit=False).replace(" ", "") in squeezed


def test_a_sheet_says_what_it_is_worth_and_what_to_mind(
    made: MadeFieldSheet, pdf: pypdf.PdfReader
) -> None:
    """Cautions, the expected accuracy, the reference and the seed stand at its foot."""
    text = text_of(pdf)
    for words in ("Look, do not touch", "dive supervisor decides", "needs a permit", "seed 1"):
        assert words in text
    assert f"{100 * made.choice.accuracy.value:.0f} are expected to be named" in text
    assert support.compiled().hash[:12] in text
    assert "none is safe to touch" in text


def place_of_name(page: pypdfium2.PdfPage, name: str) -> tuple[float, float]:
    """Where the name at the head of a row stands: mm from below, and points of its letters."""
    text = page.get_textpage()
    search = text.search(name, match_whole_word=True)
    while found := search.get_next():
        left, bottom, _, _ = text.get_charbox(found[0], loose=True)
        if left < 15 * POINTS_A_MM:
            return bottom / POINTS_A_MM, pypdfium2.raw.FPDFText_GetFontSize(text, found[0])
    raise AssertionError(name)


def test_names_and_rows_are_large_enough(made: MadeFieldSheet) -> None:
    """Names at the head of rows have 9 points or more, and rows 5.2 mm or more, all the same."""
    for page, laid in zip(pypdfium2.PdfDocument(made.pdf), made.sheet.pages, strict=True):
        at, size = zip(*(place_of_name(page, row.genus) for row in laid.rows), strict=True)
        steps = -np.diff(at)
        assert min(size) >= 9
        assert steps.min() >= 5.2 - 0.01
        assert steps.max() == pytest.approx(steps.min(), abs=0.05)


def test_a_sheet_is_black_on_white(made: MadeFieldSheet) -> None:
    """No pixel of a page has a colour."""
    for page in pypdfium2.PdfDocument(made.pdf):
        pixels = page.render(scale=0.7).to_numpy()[:, :, :3].astype(int)
        assert int((pixels.max(axis=2) - pixels.min(axis=2)).max()) == 0


@pytest.mark.parametrize("character", ["growth_form", "corallite_relief", "tissue"])
def test_marks_are_the_words_of_the_tables(character: str) -> None:
    """A genus of one form has a disc for always and usually, a ring for often and sometimes."""
    reference, compiled = support.library().reference, support.compiled()
    c = compiled.character_index[character]
    compared = 0
    for g, genus in enumerate(compiled.genera):
        forms = reference.forms_of(genus)
        value = reference.entries.values.get((genus, forms[0].id, character))
        if len(forms) > 1 or value is None or not isinstance(value.value, StateWords):
            continue
        marks = mark_states(compiled, g, c)
        if "dash" in marks:
            continue
        words = value.value.words
        # Words that add up to 1 need no bending.
        if abs(sum(reference.scheme.words[word] for word in words.values()) - 1) > 0.06:
            continue
        if not set(words) <= set(compiled.characters[c].states):
            continue
        expected = tuple(MARKS.get(words.get(s, ""), "") for s in compiled.characters[c].states)
        assert (genus, marks) == (genus, expected)
        compared += 1
    assert compared > 10


def test_sizes_are_the_ranges_of_the_tables() -> None:
    """The range of a genus of one form is that of its row, to the rounding of the sheet."""
    reference, compiled = support.library().reference, support.compiled()
    c = compiled.character_index["calice_diameter_mm"]
    compared = 0
    for g, genus in enumerate(compiled.genera):
        forms = reference.forms_of(genus)
        value = reference.entries.values.get((genus, forms[0].id, "calice_diameter_mm"))
        if len(forms) > 1 or value is None or not isinstance(value.value, SizeRange):
            continue
        found = size_range(compiled, g, c)
        if not isinstance(found, str):
            assert found == pytest.approx((value.value.low, value.value.high), rel=1e-6)
            compared += 1
    assert compared > 10


@pytest.mark.parametrize(
    ("ends", "said"),
    [
        ((0.5, 1.26), "0.5–1.3"),
        ((4.0, 9.0), "4–9"),
        ((7.96, 86.3), "8–86"),
        ((12.4, 363.0), "12–360"),
        ((0.04, 0.31), "0.04–0.3"),
    ],
)
def test_ranges_are_rounded_as_a_diver_judges(ends: tuple[float, float], said: str) -> None:
    """Two digits that count, no finer than a tenth, below a tenth one digit."""
    assert said_range(*ends) == said


def test_a_size_that_does_not_apply_is_a_dash() -> None:
    """The Atlantic's Diploria is meandroid, hence has no calice diameter, but a valley width."""
    compiled = support.compiled()
    g = compiled.genera.index("Diploria")
    assert size_range(compiled, g, compiled.character_index["calice_diameter_mm"]) == "dash"
    assert not isinstance(size_range(compiled, g, compiled.character_index["valley_width_mm"]), str)


def test_a_frame_stands_where_two_genera_differ_most(made: MadeFieldSheet) -> None:
    """Every frame is on the character whose reports differ most between the two genera."""
    compiled = support.compiled()
    framed = 0
    for page in made.sheet.pages:
        for row in page.rows:
            if row.decides < 0:
                continue
            framed += 1
            pair = [compiled.genera.index(name) for name in (row.genus, row.taken_for)]
            ids = [one.character for one in made.choice.characters]
            columns = [compiled.character_index[id_] for id_ in ids]
            differ = apart(compiled, Observer.UNKNOWN, pair, columns)[:, 0, 1]
            best = page.groups[row.decides].character
            assert differ[ids.index(best)] == pytest.approx(differ.max())
    assert framed > 5


def test_like_genera_stand_together() -> None:
    """Points on a line come out in the order of the line, the wanted one in the upper half."""
    at = np.array([5.0, 1.0, 9.0, 3.0, 7.0])
    apart_ = np.abs(at[:, None] - at)
    assert like_beside_like(apart_, 1) == (1, 3, 0, 4, 2)
    assert like_beside_like(apart_, 2) == (2, 4, 0, 3, 1)


def test_pages_side_by_side_are_filled_evenly() -> None:
    """Widths 6, 5, 4 and 3 on two pages of 12 make 9 and 9, in the order given."""
    budget = PageBudget(1, 12, 2, widths={"a": 3, "b": 6, "c": 4, "d": 5})
    assert page_columns(budget, "abcd", 2) == (("a", "b"), ("c", "d"))


def test_names_come_through_as_they_are_written() -> None:
    """A programme's name is text and nothing else: letters of the world, marks and all."""
    title = 'Récif Ñandú Άλφα Риф *bold* #panic() $x$ "q" \\ @y <z>'
    sheet = small_sheet(title, "a4", 1)
    found = pypdf.PdfReader(io.BytesIO(set_field_sheet(sheet, support.library().reference.scheme,
                                                       NOW)))  # fmt: skip
    assert found.metadata is not None
    assert found.metadata.title == title
    assert title in text_of(found)
