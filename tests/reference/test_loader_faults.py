"""The loader reports every fault by file, row and column, with what to do."""

from __future__ import annotations

import re

import pytest
from edit_tables import added, edited, faults_of, lines_of, small_tables, without

from corallum.actions.references import Library
from corallum.errors import TableError
from corallum.reference.genera import REGIONS
from corallum.reference.reference import parse_reference

VALUES = "values/atlantic.csv"
FORMS = "forms/atlantic.csv"
WORDS = "always, usually, often, sometimes, rarely, never"
# The two looks of Colpophyllia stand in forms/atlantic.csv.
TISSUE = {"genus": "Colpophyllia", "character": "tissue"}
WIDTH = {"genus": "Colpophyllia", "form": "long_valleys", "character": "valley_width_mm"}


def test_the_shipped_reference_is_sound(library: Library) -> None:
    """The shipped tables pass the checks that a trainer's own tables must pass."""
    assert len(library.reference.entries.genera) > 100


def test_the_small_reference_is_sound() -> None:
    """The part of the shipped tables that these tests edit is sound before it is edited."""
    assert "Diploria" in parse_reference(small_tables()).entries.genera


WHOLE_MESSAGES = (
    pytest.param(
        VALUES,
        TISSUE,
        {"genus": "Colpophylia"},
        "genus",
        "expected a genus that has forms, found 'Colpophylia'."
        " Mend the name, or add it to genera and forms.",
        id="unknown genus",
    ),
    pytest.param(
        VALUES,
        WIDTH,
        {"form": "long"},
        "form",
        "expected * or one of long_valleys, short_valleys, found 'long'. Mend the form.",
        id="unknown form",
    ),
    pytest.param(
        VALUES,
        TISSUE,
        {"character": "tisue"},
        "character",
        "expected a character of characters.csv, found 'tisue'. Mend the id.",
        id="unknown character",
    ),
    pytest.param(
        VALUES,
        TISSUE,
        {"value": "always glassy"},
        "value",
        "expected a state out of thin, moderate, fleshy, found 'always glassy'. Mend the state.",
        id="unknown state",
    ),
    pytest.param(
        VALUES,
        TISSUE,
        {"value": "mostly thin"},
        "value",
        f"expected one of {WORDS} before each state, found 'mostly thin'. Mend the word.",
        id="unknown word",
    ),
    pytest.param(
        VALUES,
        TISSUE,
        {"value": "always thin; always moderate"},
        "value",
        "expected words that add up to about 1 (these add up to 1.92),"
        " found 'always thin; always moderate'. Weaken or add words.",
        id="words that add up to too much",
    ),
    pytest.param(
        VALUES,
        TISSUE,
        {"value": "sometimes thin"},
        "value",
        "expected words that add up to about 1 (these add up to 0.15),"
        " found 'sometimes thin'. Weaken or add words.",
        id="words that add up to too little",
    ),
    pytest.param(
        VALUES,
        TISSUE,
        {"value": "often thin; often thin"},
        "value",
        "expected thin once, found 'often thin; often thin'. Keep one of the two.",
        id="state said twice",
    ),
    pytest.param(
        VALUES,
        WIDTH,
        {"value": "24-8"},
        "value",
        "expected a range that rises, from 0.5 to 200 mm, found '24-8'. Mend the two numbers.",
        id="range upside down",
    ),
    pytest.param(
        VALUES,
        WIDTH,
        {"value": "wide"},
        "value",
        "expected a range such as 4-9 (mm), found 'wide'. Write low-high with points.",
        id="words for a size",
    ),
    pytest.param(
        "genera/atlantic.csv",
        {"genus": "Colpophyllia"},
        {"regions": "atlantic|mars"},
        "regions",
        f"expected words out of {', '.join(REGIONS)}, found 'atlantic|mars'. Join them with |.",
        id="unknown region",
    ),
    pytest.param(
        "priors.csv",
        {"genus": "Colpophyllia"},
        {"species_share": "1.5"},
        "species_share",
        "expected a number from 0 to 1, found '1.5'. Write it with a point.",
        id="share above one",
    ),
    pytest.param(
        FORMS,
        {"genus": "Colpophyllia"},
        {"description": ""},
        "description",
        "expected a value, found an empty cell. Fill the cell.",
        id="empty cell",
    ),
    pytest.param(
        "names/atlantic.csv",
        {"older_name": "Colpophylia"},
        {"genus": "Colpo"},
        "genus",
        "expected a genus of the table of genera, found 'Colpo'."
        " Mend the spelling, or add the genus.",
        id="older name of an unknown genus",
    ),
    pytest.param(
        "settings.csv",
        {"setting": "something_else"},
        {"value": "0"},
        "value",
        "expected a number from 1e-09 to 0.999, found '0'. Write it with a point.",
        id="setting that rules something out",
    ),
)


@pytest.mark.parametrize(("name", "where", "changes", "column", "message"), WHOLE_MESSAGES)
def test_a_fault_says_where_what_and_what_to_do(
    name: str, where: dict[str, str], changes: dict[str, str], column: str, message: str
) -> None:
    """One wrong cell gives one line: file, row, column, expected, found and remedy."""
    broken, row = edited(small_tables(), name, where, **changes)
    assert f"{name}, row {row}, column {column}: {message}" in lines_of(broken)


UNKNOWN = (
    pytest.param(VALUES, TISSUE, "source", id="source of a value"),
    pytest.param(FORMS, {"genus": "Colpophyllia"}, "source", id="source of a form"),
    pytest.param(FORMS, {"genus": "Colpophyllia"}, "genus", id="genus of a form"),
    pytest.param("genera/atlantic.csv", {"genus": "Mussa"}, "source", id="source of a genus"),
    pytest.param("genera/atlantic.csv", {"genus": "Mussa"}, "cautions", id="caution"),
    pytest.param("names/atlantic.csv", {"genus": "Colpophyllia"}, "source", id="source of a name"),
    pytest.param("lookalikes/atlantic.csv", {"genus": "Mussa"}, "genus", id="lookalike"),
    pytest.param("lookalikes/atlantic.csv", {"genus": "Mussa"}, "other", id="taken for"),
    pytest.param("lookalikes/atlantic.csv", {"genus": "Mussa"}, "characters", id="deciding"),
    pytest.param("priors.csv", {"genus": "Mussa"}, "region", id="region of a share"),
    pytest.param("priors.csv", {"genus": "Mussa"}, "genus", id="genus of a share"),
    pytest.param("priors.csv", {"genus": "Mussa"}, "source", id="source of a share"),
    pytest.param("characters.csv", {"character": "tissue"}, "kind", id="kind"),
    pytest.param("characters.csv", {"character": "tissue"}, "seen", id="seen"),
    pytest.param("characters.csv", {"character": "tissue"}, "group", id="group"),
    pytest.param("characters.csv", {"character": "tissue"}, "source", id="source of a character"),
    pytest.param("confusions.csv", {"a": "plocoid"}, "character", id="character confused"),
    pytest.param("confusions.csv", {"a": "plocoid"}, "a", id="state confused"),
    pytest.param("confusions.csv", {"a": "plocoid"}, "b", id="state it is taken for"),
    pytest.param("conditions.csv", {"condition": "shaded"}, "character", id="character acted on"),
    pytest.param("conditions.csv", {"condition": "shaded"}, "from", id="state acted on"),
    pytest.param("conditions.csv", {"condition": "shaded"}, "to", id="state acted to"),
    pytest.param("conditions.csv", {"condition": "shaded"}, "source", id="source of a condition"),
    pytest.param("views.csv", {"character": "shared_wall"}, "source", id="source of a view"),
    pytest.param("groups.csv", {"group": "wall"}, "conditions_act", id="yes or no"),
    pytest.param("settings.csv", {"setting": "separable"}, "setting", id="setting"),
    pytest.param("methods.csv", {"method": "eye"}, "each_sd", id="number of a method"),
)


@pytest.mark.parametrize(("name", "where", "column"), UNKNOWN)
def test_an_unknown_word_is_found_in_its_cell(
    name: str, where: dict[str, str], column: str
) -> None:
    """An id that no table holds is reported in the cell where it stands."""
    broken, row = edited(small_tables(), name, where, **{column: "nowhere"})
    found = [(f.where, f.place, f.found) for f in faults_of(broken)]
    assert (name, f"row {row}, column {column}", "'nowhere'") in found


SIZES = (
    pytest.param("-4-9", id="negative"),
    pytest.param("0-9", id="zero"),
    pytest.param("8-8", id="no width"),
    pytest.param("8-1e9", id="exponent"),
    pytest.param("8-90000", id="absurd"),
    pytest.param("nan-nan", id="not a number"),
    pytest.param("8-inf", id="infinite"),
    pytest.param("8", id="one number"),
    pytest.param("8–24", id="long dash"),
    pytest.param("8,5-24", id="decimal comma"),
    pytest.param("", id="empty"),
)


@pytest.mark.parametrize("value", SIZES)
def test_an_impossible_range_is_refused(value: str) -> None:
    """A size must be two plain numbers that rise and that a colony can have."""
    broken, row = edited(small_tables(), VALUES, WIDTH, value=value)
    assert [fault.place for fault in faults_of(broken)] == [f"row {row}, column value"]


NUMBERS = ("", "x", "nan", "inf", "-inf", "-0.1", "1e999", "0,5")


@pytest.mark.parametrize("value", [pytest.param(v, id=v or "empty") for v in NUMBERS])
@pytest.mark.parametrize(
    ("name", "where", "column"),
    [
        pytest.param(FORMS, {"genus": "Diploria"}, "weight", id="weight"),
        pytest.param("priors.csv", {"genus": "Mussa"}, "species_share", id="share"),
        pytest.param("groups.csv", {"group": "wall"}, "misread", id="misread"),
        pytest.param("words.csv", {"word": "often"}, "probability", id="word"),
        pytest.param("characters.csv", {"character": "depth_m"}, "least", id="least"),
    ],
)
def test_a_number_must_be_one(name: str, where: dict[str, str], column: str, value: str) -> None:
    """Not a number, an infinite one, a negative share and a decimal comma are refused."""
    broken, row = edited(small_tables(), name, where, **{column: value})
    assert f"row {row}, column {column}" in [f.place for f in faults_of(broken) if f.where == name]


def test_every_fault_of_every_table_is_reported_at_once() -> None:
    """Faults in five files come together, each with its own file and row."""
    broken, value = edited(small_tables(), VALUES, TISSUE, value="mostly thin")
    broken, width = edited(broken, VALUES, WIDTH, value="24-8")
    broken, name = edited(broken, "names/atlantic.csv", {"genus": "Colpophyllia"}, genus="Musa")
    broken, share = edited(broken, "priors.csv", {"genus": "Mussa"}, region="mars")
    broken, seen = edited(broken, "characters.csv", {"character": "tissue"}, seen="x")
    assert {(f.where, f.place) for f in faults_of(broken)} == {
        (VALUES, f"row {value}, column value"),
        (VALUES, f"row {width}, column value"),
        ("names/atlantic.csv", f"row {name}, column genus"),
        ("priors.csv", f"row {share}, column region"),
        ("characters.csv", f"row {seen}, column seen"),
    }


def test_the_error_itself_is_one_line_a_fault() -> None:
    """The text of the error is its faults, one a line."""
    broken, _ = edited(small_tables(), VALUES, TISSUE, value="mostly thin")
    broken, _ = edited(broken, VALUES, WIDTH, value="24-8")
    with pytest.raises(TableError) as caught:
        parse_reference(broken)
    assert str(caught.value).splitlines() == [str(fault) for fault in caught.value.faults]


REPEATS = (
    pytest.param(VALUES, TISSUE, "character", id="value"),
    pytest.param(FORMS, {"genus": "Mussa"}, "form", id="form"),
    pytest.param("genera/atlantic.csv", {"genus": "Mussa"}, "genus", id="genus"),
    pytest.param("names/atlantic.csv", {"genus": "Colpophyllia"}, "which", id="name"),
    pytest.param("lookalikes/atlantic.csv", {"genus": "Mussa"}, "other", id="lookalike"),
    pytest.param("priors.csv", {"genus": "Mussa"}, "genus", id="share"),
    pytest.param("sources.csv", {"source": "memory"}, "source", id="source"),
    pytest.param("cautions.csv", {"caution": "stings"}, "caution", id="caution"),
    pytest.param("groups.csv", {"group": "wall"}, "group", id="group"),
    pytest.param("words.csv", {"word": "often"}, "word", id="word"),
    pytest.param("settings.csv", {"setting": "unsure"}, "setting", id="setting"),
    pytest.param("methods.csv", {"method": "ruler"}, "method", id="method"),
    pytest.param("characters.csv", {"character": "tissue"}, "character", id="character"),
    pytest.param("states.csv", {"character": "tissue"}, "state", id="state"),
    pytest.param("views.csv", {"character": "shared_wall"}, "state", id="view"),
    pytest.param("confusions.csv", {"a": "plocoid"}, "b", id="confusion"),
    pytest.param("conditions.csv", {"condition": "shaded"}, "to", id="condition"),
)


@pytest.mark.parametrize(("name", "where", "column"), REPEATS)
def test_a_repeated_row_is_reported_with_the_first(
    name: str, where: dict[str, str], column: str
) -> None:
    """The second row of a key is a fault that names the first."""
    same, first = edited(small_tables(), name, where)
    text = same[name]
    lines = text.splitlines(keepends=True)
    broken = {**same, name: text + lines[first - 1]}
    found = [f for f in faults_of(broken) if f.place == f"row {len(lines) + 1}, column {column}"]
    assert re.search(rf"each once \(first in .*row {first}\)", found[0].expected)
    assert found[0].remedy.startswith("Remove one of the")


def test_a_row_repeated_in_another_file_is_reported() -> None:
    """The key of a value counts across all files of the folder, and the message is whole."""
    rest = {"value": "always thin", "source": "memory"}
    _, first = edited(small_tables(), VALUES, TISSUE)
    tables = {**small_tables(), "values/zz_more.csv": "genus,form,character,value,source\n"}
    broken, row = added(tables, "values/zz_more.csv", form="*", **TISSUE, **rest)
    assert lines_of(broken) == [
        (
            f"values/zz_more.csv, row {row}, column character: expected each once"
            f" (first in {VALUES}, row {first}), found 'tissue'. Remove one of the two rows."
        )
    ]


def test_form_weights_must_add_up() -> None:
    """Weights of the forms of a genus that miss one are reported with their sum."""
    where = {"genus": "Colpophyllia", "form": "long_valleys"}
    broken, _ = edited(small_tables(), FORMS, where, weight="0.5")
    assert lines_of(broken) == [
        (
            "forms, Colpophyllia: expected form weights that add up to 1, found 0.696."
            " Mend the column weight of its forms."
        )
    ]


def test_a_genus_without_forms_is_reported() -> None:
    """A genus that has no form at all can show nothing and is a fault."""
    broken = without(small_tables(), FORMS, genus="Diploria")
    assert (
        "forms, Diploria: expected form weights that add up to 1, found 0."
        " Mend the column weight of its forms." in lines_of(broken)
    )


def test_a_missing_column_is_named() -> None:
    """A table without one of its columns is refused as a whole, with the header it has."""
    text = small_tables()["words.csv"].replace("probability", "chance", 1)
    assert (
        "words.csv, row 1: expected the columns probability, found word, chance."
        " Add the column, spelt so." in lines_of({**small_tables(), "words.csv": text})
    )


def test_a_repeated_column_is_named() -> None:
    """A column that stands twice is refused: nobody knows which one counts."""
    text = small_tables()["words.csv"]
    doubled = "\n".join(f"{line},{line.split(',')[0]}" for line in text.splitlines())
    assert (
        "words.csv, row 1: expected each column once, found word twice. Keep one of each."
        in lines_of({**small_tables(), "words.csv": doubled})
    )


@pytest.mark.parametrize(
    ("row", "cells"),
    [
        pytest.param("Mussa,*,tissue,always fleshy", "4", id="one too few"),
        pytest.param("Mussa,*,tissue,always fleshy,memory,,", "7", id="two too many"),
        pytest.param("Mussa", "1", id="one"),
    ],
)
def test_a_row_of_the_wrong_length_is_named(row: str, cells: str) -> None:
    """A row with another number of cells than the header is reported, not guessed at."""
    text = small_tables()[VALUES]
    last = len(text.splitlines()) + 1
    assert lines_of({**small_tables(), VALUES: f"{text}{row}\n"}) == [
        (
            f"{VALUES}, row {last}: expected 5 cells, found {cells}."
            " Quote a cell that holds a comma; fill or remove cells."
        )
    ]


def test_an_empty_file_is_named() -> None:
    """A file without a header says which columns it should have."""
    assert (
        "words.csv, row 1: expected the columns word, probability, found an empty file."
        " Put the column names in the first row." in lines_of({**small_tables(), "words.csv": ""})
    )


@pytest.mark.parametrize(
    "name",
    [
        "groups.csv", "states.csv", "views.csv", "characters.csv", "confusions.csv",
        "conditions.csv", "methods.csv", "words.csv", "settings.csv", "sources.csv",
        "cautions.csv", "priors.csv", "genera", "forms", "values", "lookalikes", "names",
    ],
)  # fmt: skip
def test_a_missing_table_is_named(name: str) -> None:
    """Each table must be there, and its absence is a fault of its own."""
    left = {k: text for k, text in small_tables().items() if k.partition("/")[0] != name}
    table = name if name.endswith(".csv") else f"{name}.csv"
    assert (
        f"{table}: expected this table, found no such file."
        " Copy it back from the shipped reference." in lines_of(left)
    )


def test_a_table_that_nobody_reads_is_named() -> None:
    """A misspelt folder is reported, not left out in silence."""
    broken = {**small_tables(), "vaules/more.csv": "genus,form,character,value,source\n"}
    (fault,) = faults_of(broken)
    assert (fault.where, fault.found) == ("vaules/more.csv", "another table")


def test_a_quote_left_open_is_named() -> None:
    """A table that is not CSV is reported with the row, not read in part."""
    text = small_tables()["words.csv"] + '"often,0.4\n'
    faults = lines_of({**small_tables(), "words.csv": text})
    assert (
        "words.csv, row 8: expected comma-separated values, found unexpected end of data."
        " Save the table as CSV (comma, UTF-8) again." in faults
    )


def test_a_byte_order_mark_and_windows_line_ends_are_read() -> None:
    """Tables saved by a spreadsheet mean what they meant before."""
    saved = {name: "\ufeff" + text.replace("\n", "\r\n") for name, text in small_tables().items()}
    assert parse_reference(saved) == parse_reference(small_tables())


def test_blank_rows_and_blanks_around_cells_mean_nothing() -> None:
    """Empty rows, rows of commas and blanks around cells are passed over."""
    text = small_tables()["words.csv"].replace(",", " , ").replace("\n", "\n,\n\n")
    assert parse_reference({**small_tables(), "words.csv": text}) == parse_reference(small_tables())


def test_a_column_more_is_left_alone() -> None:
    """A trainer may add a column of notes."""
    header, *rows = small_tables()["words.csv"].splitlines()
    text = "\n".join([f"{header},notes", *(f"{row},seen" for row in rows)])
    assert parse_reference({**small_tables(), "words.csv": text}) == parse_reference(small_tables())


def test_a_fault_keeps_its_row_below_blank_rows() -> None:
    """Row numbers are those of the file as a spreadsheet shows it."""
    text = "word,probability\n\n\nmostly,2\n"
    faults = lines_of({**small_tables(), "words.csv": text})
    assert any(line.startswith("words.csv, row 4, column probability") for line in faults)


SCHEME = (
    pytest.param(
        "characters.csv",
        {"character": "growth_form"},
        {"applies_when": "branch_habit = arborescent"},
        "characters.csv, growth_form, column applies_when: expected another character,"
        " found a circle. Break the circle.",
        id="applies in a circle",
    ),
    pytest.param(
        "characters.csv",
        {"character": "branch_habit"},
        {"applies_when": "growth_form = branchy"},
        "characters.csv, branch_habit, column applies_when: expected states of growth_form,"
        " found branchy. Mend the ids.",
        id="applies in an unknown state",
    ),
    pytest.param(
        "characters.csv",
        {"character": "branch_habit"},
        {"applies_when": "depth_m = 4"},
        "characters.csv, branch_habit, column applies_when: expected states of depth_m,"
        " found 4. Mend the ids.",
        id="applies at a size",
    ),
    pytest.param(
        "views.csv",
        {"character": "shared_wall"},
        {"states": "cerioid|walled"},
        "views.csv, shared_wall = yes: expected states of corallite_arrangement,"
        " found walled. Mend the ids.",
        id="view of an unknown state",
    ),
    pytest.param(
        "views.csv",
        {"character": "openings", "state": "tubes"},
        {"of": "living_colour", "states": "very_dark"},
        "views.csv, openings = tubes: expected a view of corallite_arrangement,"
        " found living_colour. Give the view an id of its own.",
        id="view of two characters",
    ),
    pytest.param(
        "conditions.csv",
        {"condition": "shaded", "from": "massive", "to": "encrusting"},
        {"share": "0.95"},
        "conditions.csv, shaded, growth_form, massive: expected shares that add up to at most 1,"
        " found 1.15. Lower the column share.",
        id="condition that changes more than there are",
    ),
    pytest.param(
        "words.csv",
        {"word": "often"},
        {"word": "mostly"},
        "words.csv: expected always, usually, often, sometimes, rarely, never,"
        " found always, usually, mostly, sometimes, rarely, never. Keep these six words.",
        id="another word",
    ),
    pytest.param(
        "methods.csv",
        {"method": "eye"},
        {"method": "glance"},
        "methods.csv: expected the methods eye, found none. Add them; others may stand beside.",
        id="method that is needed",
    ),
    pytest.param(
        "cautions.csv",
        {"caution": "look_only"},
        {"caution": "look"},
        "cautions.csv: expected the caution look_only, found none."
        " Copy it back from the shipped reference.",
        id="caution of every answer",
    ),
    pytest.param(
        "cautions.csv",
        {"caution": "voucher"},
        {"caution": "permit"},
        "cautions.csv: expected the caution voucher, found none."
        " Copy it back from the shipped reference.",
        id="caution of every voucher",
    ),
    pytest.param(
        "settings.csv",
        {"setting": "set_mass"},
        {"setting": "mass"},
        "settings.csv: expected the setting set_mass, found none. Add it.",
        id="setting that is needed",
    ),
)


@pytest.mark.parametrize(("name", "where", "changes", "line"), SCHEME)
def test_tables_must_fit_together(
    name: str, where: dict[str, str], changes: dict[str, str], line: str
) -> None:
    """What one table says must hold in the others, or the model has no answer."""
    broken, _ = edited(small_tables(), name, where, **changes)
    assert line in lines_of(broken)


def test_a_character_needs_two_states() -> None:
    """A character without states to choose between is reported."""
    broken = without(small_tables(), "states.csv", character="tissue")
    expected = "two states or more in states.csv"
    assert expected in [f.expected for f in faults_of(broken)]


def test_states_of_an_unknown_character_are_reported() -> None:
    """States that belong to no character are not dropped in silence."""
    state = {"state": "x", "label": "x", "definition": "X."}
    broken, _ = added(small_tables(), "states.csv", character="tisue", **state)
    assert lines_of(broken) == [
        "states.csv: expected a character of characters.csv, found 'tisue'. Add it or mend the id."
    ]


def test_a_reference_needs_two_genera() -> None:
    """A reference of one genus has nothing to choose from and is refused."""
    one = dict(small_tables())
    for name in ("lookalikes/atlantic.csv", "names/atlantic.csv"):
        one[name] = f"{one[name].splitlines()[0]}\n"
    for table in ("genera", "forms", "values"):
        name = f"{table}/atlantic.csv"
        top, *rows = small_tables()[name].splitlines(keepends=True)
        one[name] = top + "".join(row for row in rows if row.startswith("Diploria,"))
    top, *rows = small_tables()["priors.csv"].splitlines(keepends=True)
    one["priors.csv"] = top + "".join(row for row in rows if ",Diploria," in row)
    assert lines_of(one) == ["genera: expected two genera or more, found Diploria. Add genera."]
