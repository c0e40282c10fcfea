"""Typed slates: each method's lines, every fault by line, and text that is read back alike."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import support
from corallum.errors import CorallumError, InputError, UnknownNameError
from corallum.exchange.slate_text import find_name, read_slate_text, slate_text
from corallum.records.benthos import LIFE_FORMS
from corallum.records.survey import Line, Method
from corallum.reference.said import SaidResolver

RESOLVER = SaidResolver(support.library().reference, ("red_sea",))
METHODS = st.sampled_from(list(Method))
NAMES = ("Porites", "Acropora", "stony coral", "sand", "turf algae", "unreadable", "CM", "CB", "S")
FORMS = ("massive", "branching", "encrusting", "free_living")
# Whole thousandths, so that what is written is what is meant.
NUMBERS = st.integers(0, 999_999_999).map(lambda n: n / 1000)
NOTES = st.text(st.characters(codec="utf-8", categories=["L", "N", "P", "Zs"]), max_size=30).map(
    lambda text: " ".join(text.split())
)


def read(text: str, method: str) -> tuple[Line, ...]:
    """Lines of a slate."""
    return read_slate_text(text, Method(method), RESOLVER)


def faults(text: str, method: str) -> list[str]:
    """Faults of a slate, by line."""
    with pytest.raises(InputError) as caught:
        read(text, method)
    return [fault.place for fault in caught.value.faults]


def test_a_tape_runs_on() -> None:
    """Without a start of its own an intercept begins where the one before ended."""
    found = read(
        "145 por/massive\n\n# a note alone\n200 sand # clear\n230-260.5 acr", "line_intercept"
    )
    assert [(one.label, one.from_cm, one.to_cm) for one in found] == [
        ("Porites", 0.0, 145.0), ("sand", 145.0, 200.0), ("Acropora", 230.0, 260.5),
    ]  # fmt: skip
    assert (found[0].form, found[1].note) == ("massive", "clear")


def test_points_are_numbered_in_their_order() -> None:
    """A name that counts for several points in a row is that many lines."""
    for method in ("point_intercept", "photo_points"):
        found = read("por x3\nsand\nacropora x 2", method)
        assert [(one.point, one.label) for one in found] == [
            (1, "Porites"), (2, "Porites"), (3, "Porites"), (4, "sand"), (5, "Acropora"),
            (6, "Acropora"),
        ]  # fmt: skip


def test_belts_have_sizes_and_places() -> None:
    """Diameter in cm, then the distance from the tape, left of it negative."""
    found = read("acr 23 -40\npor 5.5\nfavites", "belt")
    assert [(one.label, one.diameter_cm, one.off_line_cm) for one in found] == [
        ("Acropora", 23.0, -40.0), ("Porites", 5.5, None), ("Favites", None, None),
    ]  # fmt: skip


def test_quadrats_have_counts_sizes_or_percent() -> None:
    """A quadrat's number comes first; then a count, a diameter, or percent."""
    found = read("2 acr x3\n2 acr 23\n1 por", "quadrat")
    assert [(one.frame, one.count, one.diameter_cm) for one in found] == [
        (2, 3, None), (2, 1, 23.0), (1, 1, None),
    ]  # fmt: skip
    found = read("2 acr 15\n3 sand 40 %", "quadrat_cover")
    assert [(one.frame, one.cover_percent) for one in found] == [(2, 15.0), (3, 40.0)]


@pytest.mark.parametrize("method", Method)
def test_nothing_is_a_word(method: Method) -> None:
    """A slate without a line is one word, and is written so."""
    assert read_slate_text(" Nothing\n", method, RESOLVER) == ()
    assert slate_text((), method) == "nothing"


def test_codes_of_the_manual_are_read() -> None:
    """ACB is Acropora that branches, CM stony coral that is massive (English et al. 1997)."""
    found = read("ACB\nCM\nDC\nWA", "point_intercept")
    assert [(one.label, one.form, one.kind) for one in found] == [
        ("Acropora", "branching", "genus"), ("stony coral", "massive", "unidentified"),
        ("recently dead coral", "", "other"), ("unreadable", "", "unreadable"),
    ]  # fmt: skip


def test_a_short_name_is_one_that_begins_so() -> None:
    """One that lives here goes first; one that several begin with is asked about."""
    assert find_name(RESOLVER, " acrop ") == "Acropora"
    assert find_name(RESOLVER, "ACROPORA") == "Acropora"
    assert find_name(RESOLVER, "zzz") == "zzz"
    with pytest.raises(UnknownNameError, match="Did you mean"):
        find_name(RESOLVER, "p")
    # Cantharellus, Caulastraea and more begin so: every one of them is a genus of the table.
    with pytest.raises(UnknownNameError) as caught:
        find_name(RESOLVER, "ca")
    assert set(caught.value.nearest) <= set(RESOLVER.genera)


FAULTY = {
    "line_intercept": ["porites", "145", "145porites", "abc porites", "10-20-30 porites",
                       "1e3 porites", "145 zzz", "145 por/zzz", "145 p", "-5 porites",
                       "145 por\x00ites", "1234567 porites", "0.12345 porites", "145 /massive"],
    "point_intercept": ["zzz", "por x", "por x-3", "por x0", "acropora x0", "p", "<b>por</b>",
                        "por x1000"],
    "photo_points": ["zzz", "por x0", "por\x1b[31m"],
    "belt": ["23 acropora", "acropora x3", "zzz 3", "acropora 3 4 5", "acropora 1e9"],
    "quadrat": ["acropora x3", "2 zzz", "2 por x", "2 acropora x0", "0 acropora",
                "99999 acropora", "2 acropora -3"],
    "quadrat_cover": ["2 acropora", "acropora 15", "2 zzz 15", "2 acropora -15", "0 acropora 15"],
}  # fmt: skip
GOOD = {
    "line_intercept": "10 porites", "point_intercept": "porites", "photo_points": "porites",
    "belt": "porites 10", "quadrat": "1 porites", "quadrat_cover": "1 porites 10",
}  # fmt: skip


@pytest.mark.parametrize(
    ("method", "row"), [(method, row) for method, rows in FAULTY.items() for row in rows]
)
def test_a_line_that_can_not_be_read_is_told_by_number(method: str, row: str) -> None:
    """The sound lines around it are not told; the fault is one printable line."""
    assert faults(f"{GOOD[method]}\n{row}\n{GOOD[method]}", method) == ["line 2"]
    with pytest.raises(InputError) as caught:
        read(row, method)
    told = str(caught.value)
    assert len(told.splitlines()) == 1
    assert told.isprintable()


@pytest.mark.parametrize("method", FAULTY)
def test_all_faulty_lines_are_told_at_once(method: str) -> None:
    """Every one of them by its number, blank lines counted."""
    rows = FAULTY[method]
    text = "\n\n".join(rows)
    assert faults(text, method) == [f"line {2 * i + 1}" for i in range(len(rows))]


def test_a_slate_has_an_end() -> None:
    """More lines than anybody writes are refused as a whole."""
    with pytest.raises(InputError, match="at most 5000 lines, found 5001"):
        read("porites\n" * 5001, "point_intercept")


@settings(max_examples=60, deadline=None)
@given(text=st.text(max_size=200), method=METHODS)
def test_any_text_is_read_or_refused(text: str, method: Method) -> None:
    """No text at all makes anything but lines or a refusal in printable lines."""
    try:
        assert isinstance(read_slate_text(text, method, RESOLVER), tuple)
    except CorallumError as error:
        assert all(line.isprintable() for line in str(error).splitlines())  # noqa: PT017


@st.composite
def rows_of(draw: st.DrawFn) -> tuple[Method, str]:
    """A slate as somebody might type it."""
    method = draw(METHODS)
    rows = []
    for _ in range(draw(st.integers(1, 6))):
        name = draw(st.sampled_from(NAMES))
        if name[0].isupper():
            name += draw(st.sampled_from(["", *(f"/{form}" for form in FORMS)]))
        number = draw(NUMBERS)
        frame, times = draw(st.integers(1, 9999)), draw(st.integers(1, 99))
        written = f"{number:.3f}"
        rows.append({
            Method.LINE: draw(st.sampled_from([f"{written} {name}", f"7.25-{written} {name}"])),
            Method.POINTS: draw(st.sampled_from([name, f"{name} x{times}"])),
            Method.PHOTO: name,
            Method.BELT: draw(st.sampled_from([
                name, f"{name} {written}", f"{name} {written} {draw(NUMBERS):.3f}",
                f"{name} {written} -{draw(NUMBERS):.3f}", f"{name} -{written}",
            ])),
            Method.QUADRAT: draw(st.sampled_from([
                f"{frame} {name}", f"{frame} {name} x{times}", f"{frame} {name} {written}",
            ])),
            Method.QUADRAT_COVER: f"{frame} {name} {written}",
        }[method] + draw(NOTES.map(lambda note: f" # {note}" if note else "")))  # fmt: skip
    return method, "\n".join(rows)


@settings(max_examples=120, deadline=None)
@given(slate=rows_of())
def test_what_is_written_out_is_read_back(slate: tuple[Method, str]) -> None:
    """Lines written as they could be typed are the same lines when they are read."""
    method, text = slate
    lines = read_slate_text(text, method, RESOLVER)
    again = read_slate_text(slate_text(lines, method), method, RESOLVER)
    assert again == lines


@pytest.mark.parametrize("code", LIFE_FORMS)
def test_every_code_is_read_back(code: str) -> None:
    """A slate of any code of the manual is written so that it is read back alike."""
    lines = read(code, "point_intercept")
    assert read(slate_text(lines, Method.POINTS), "point_intercept") == lines


def test_a_long_note_is_cut_at_its_end() -> None:
    """A note of more than 200 characters keeps its first 200, and is read back alike."""
    lines = read(f"10 porites # {'a' * 199} {'b' * 50}", "line_intercept")
    assert lines[0].note == "a" * 199
    assert read(slate_text(lines, Method.LINE), "line_intercept") == lines


def test_tapes_of_fine_readings_are_written_in_full() -> None:
    """A reading of seven figures keeps them all."""
    line = replace(read("1 porites", "line_intercept")[0], from_cm=1234.567, to_cm=123456.789)
    (again,) = read(slate_text([line], Method.LINE), "line_intercept")
    assert (again.from_cm, again.to_cm) == (1234.567, 123456.789)
