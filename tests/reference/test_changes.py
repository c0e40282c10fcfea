"""What differs between two references is listed, all of it."""

from __future__ import annotations

import pytest
from edit_tables import added, edited, rows_of, small_tables, text_of, without
from hypothesis import given, settings
from hypothesis import strategies as st

from corallum.errors import TableError
from corallum.reference.changes import Change, list_changes
from corallum.reference.reference import Reference, parse_reference

BEFORE = parse_reference(small_tables())
MUSSA = {"genus": "Mussa"}


def test_a_reference_does_not_differ_from_itself() -> None:
    """The same tables read twice differ in nothing."""
    assert list_changes(BEFORE, parse_reference(small_tables())) == ()


CHANGES = (
    pytest.param(
        "settings.csv", {"setting": "set_mass"}, {"value": "0.95"},
        Change("setting", "set_mass", "0.9", "0.95"), id="setting",
    ),
    pytest.param(
        "words.csv", {"word": "rarely"}, {"probability": "0.029"},
        Change("word", "rarely", "0.03", "0.029"), id="word",
    ),
    pytest.param(
        "values/atlantic.csv", {"genus": "Colpophyllia", "character": "attachment"},
        {"value": "always free"},
        Change(
            "value", "Colpophyllia long_valleys attachment",
            "always attached (memory)", "always free (memory)",
        ), id="value",
    ),
    pytest.param(
        "names/atlantic.csv", {"older_name": "Colpophylia"}, {"which": "all but one"},
        Change(
            "name", "Colpophylia -> Colpophyllia",
            "misspelling (memory)", "all but one (memory)",
        ), id="name",
    ),
    pytest.param(
        "cautions.csv", {"caution": "fragile"}, {"text": "Mind it."},
        Change("caution", "fragile", "Breaks easily: mind fins and gauges.", "Mind it."),
        id="caution",
    ),
)  # fmt: skip


@pytest.mark.parametrize(("name", "where", "cells", "change"), CHANGES)
def test_a_changed_cell_is_listed_before_and_after(
    name: str, where: dict[str, str], cells: dict[str, str], change: Change
) -> None:
    """A changed cell is listed with its kind, its key and both texts."""
    after, _ = edited(small_tables(), name, where, **cells)
    assert change in list_changes(BEFORE, parse_reference(after))


def test_what_was_added_has_no_before_and_what_was_removed_no_after() -> None:
    """A name more is listed without a text before; the other way round, without one after."""
    cells = {"older_name": "Demonia", "genus": "Mussa", "which": "invented", "source": "memory"}
    after, _ = added(small_tables(), "names/atlantic.csv", **cells)
    there = list_changes(BEFORE, parse_reference(after))
    back = list_changes(parse_reference(after), BEFORE)
    assert there == (Change("name", "Demonia -> Mussa", "", "invented (memory)"),)
    assert back == (Change("name", "Demonia -> Mussa", "invented (memory)", ""),)


def test_a_genus_left_out_takes_its_forms_values_and_shares_with_it() -> None:
    """All that hangs on a genus is listed as removed with it."""
    after = dict(small_tables())
    for table in ("genera", "forms", "values"):
        after = without(after, f"{table}/atlantic.csv", **MUSSA)
    after = without(after, "priors.csv", **MUSSA)
    after = without(after, "lookalikes/atlantic.csv", **MUSSA)
    rows = rows_of(after["lookalikes/atlantic.csv"])
    after["lookalikes/atlantic.csv"] = text_of([row for row in rows if row[1] != "Mussa"])
    rows = rows_of(after["names/atlantic.csv"])
    after["names/atlantic.csv"] = text_of([row for row in rows if row[1] != "Mussa"])
    found = list_changes(BEFORE, parse_reference(after))
    assert {change.kind for change in found} == {
        "genus", "form", "value", "share", "lookalike", *(
            {"name"} if any(row[1] == "Mussa" for row in rows) else set()
        ),
    }  # fmt: skip
    assert all("Mussa" in change.what for change in found)
    assert all(change.new == "" for change in found)


@pytest.mark.parametrize(
    ("name", "where", "cells", "kind"),
    [
        pytest.param(
            "confusions.csv", {"a": "plocoid", "b": "cerioid"}, {"new": "0.3"}, "confusion",
            id="confusion",
        ),
        pytest.param(
            "conditions.csv", {"condition": "shaded"}, {"share": "0.01"}, "condition",
            id="condition",
        ),
        pytest.param("methods.csv", {"method": "eye"}, {"each_sd": "0.5"}, "method", id="method"),
        pytest.param("groups.csv", {"group": "wall"}, {"misread": "0.2"}, "group", id="group"),
        pytest.param(
            "views.csv", {"character": "shared_wall"}, {"states": "cerioid"}, "view", id="view",
        ),
        pytest.param(
            "characters.csv", {"character": "tissue"}, {"seconds": "9"}, "character",
            id="character",
        ),
        pytest.param(
            "genera/atlantic.csv", MUSSA, {"cautions": "stings"}, "genus", id="caution of a genus",
        ),
        pytest.param(
            "values/atlantic.csv", MUSSA, {"source": "wells1956"}, "value", id="source of a value",
        ),
        pytest.param(
            "lookalikes/atlantic.csv", MUSSA, {"note": "Look."}, "lookalike", id="lookalike",
        ),
        pytest.param(
            "sources.csv", {"source": "memory"}, {"citation": "X."}, "source", id="source",
        ),
    ],
)  # fmt: skip
def test_nothing_that_changes_an_answer_goes_unlisted(
    name: str, where: dict[str, str], cells: dict[str, str], kind: str
) -> None:
    """Every table counts: what the model or the pages use of it is compared."""
    after, _ = edited(small_tables(), name, where, **cells)
    assert {change.kind for change in list_changes(BEFORE, parse_reference(after))} == {kind}


@given(st.data())
@settings(max_examples=60, deadline=None)
def test_two_references_that_differ_have_changes(data: st.DataObject) -> None:
    """Whatever cell was moved about, a sound reference that differs has changes both ways."""
    name = data.draw(st.sampled_from(sorted(small_tables())))
    rows = rows_of(small_tables()[name])
    row, other = (data.draw(st.integers(1, len(rows) - 1)) for _ in range(2))
    column = data.draw(st.integers(0, len(rows[0]) - 1))
    rows[row][column] = rows[other][column]
    try:
        after: Reference = parse_reference({**small_tables(), name: text_of(rows)})
    except TableError:
        return
    forth, back = list_changes(BEFORE, after), list_changes(after, BEFORE)
    assert bool(forth) == bool(back) == (after != BEFORE)
    assert [(c.old, c.new) for c in forth] == [(c.new, c.old) for c in back]
