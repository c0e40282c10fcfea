"""The programme's copy of the reference is edited with checks, or not at all."""

from __future__ import annotations

from pathlib import Path

import pytest

from corallum.actions.colony_lists import history_of
from corallum.actions.programme_reference import (
    EditCell,
    EditValue,
    differences,
    edit_cell,
    edit_value,
    preview_value,
    programme_library,
    reference_version,
)
from corallum.errors import InputError, NotFoundError, TableError, UnknownNameError
from invented import Team


def texts(folder: Path) -> dict[str, bytes]:
    """Every file of the copy."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file()
    }


def test_an_edit_changes_one_value_and_is_in_the_history(team: Team) -> None:
    """One line of one table is new, and the history says by whom and what it was before."""
    before = texts(team.programme.reference_folder)
    command = EditValue("Favites", "*", "columella", "always absent", "memory")
    preview = preview_value(team.programme, command)
    assert texts(team.programme.reference_folder) == before
    changes = edit_value(team.programme, command, *team.by(team.lead))
    assert changes == preview == differences(team.programme)
    after = texts(team.programme.reference_folder)
    changed = [name for name in after if after[name] != before[name]]
    assert len(changed) == 1
    old, new = (set(one[changed[0]].splitlines()) for one in (before, after))
    assert new - old == {b"Favites,*,columella,always absent,memory"}
    assert len(old - new) == 1
    entry = history_of(team.programme)[0]
    assert (entry.verb, entry.person) == ("edit reference", team.lead)
    assert entry.detail["text"] == "always absent"
    assert reference_version(team.programme).endswith(", 1 edit")


def test_an_edit_back_is_no_difference(team: Team) -> None:
    """Set back to what it was, the copy is the shipped one again, byte by byte."""
    before = texts(team.programme.reference_folder)
    library = programme_library(team.programme)
    values = library.reference.entries.values
    form = library.reference.forms_of("Favites")[0].id
    old = values["Favites", form, "columella"]
    for text, source in (("always absent", "memory"), (old.text, old.source)):
        command = EditValue("Favites", "*", "columella", text, source)
        edit_value(team.programme, command, *team.by(team.lead))
    assert differences(team.programme) == ()
    assert texts(team.programme.reference_folder) == before


def test_a_value_is_added_and_removed(team: Team) -> None:
    """A form gets a row of its own, and loses it with an empty text."""
    form = programme_library(team.programme).reference.forms_of("Favites")[0].id
    command = EditValue("Favites", form, "columella", "always lamellar")
    added = edit_value(team.programme, command, *team.by(team.lead))
    assert [(one.kind, one.what) for one in added] == [("value", f"Favites {form} columella")]
    removed = EditValue("Favites", form, "columella", "")
    edit_value(team.programme, removed, *team.by(team.lead))
    assert differences(team.programme) == ()


@pytest.mark.parametrize(
    ("text", "source", "wanted"),
    [("allways absent", "memory", "before each state"),
     ("always green", "memory", "a state out of"),
     ("always absent; always spongy", "memory", "expected"),
     ("4-9", "memory", "expected"),
     ("always absent", "nobody1999", "source")],
)  # fmt: skip
def test_an_unsound_edit_is_refused_with_its_faults(
    team: Team, text: str, source: str, wanted: str
) -> None:
    """Faults come with file, row and column; the copy and the history are as before."""
    before, history = texts(team.programme.reference_folder), history_of(team.programme)
    command = EditValue("Favites", "*", "columella", text, source)
    with pytest.raises(TableError, match=wanted) as caught:
        edit_value(team.programme, command, *team.by(team.lead))
    assert caught.value.faults[0].where.startswith("values/")
    assert texts(team.programme.reference_folder) == before
    assert history_of(team.programme) == history


@pytest.mark.parametrize(
    ("command", "error"),
    [(EditValue("Coralia", "*", "columella", "x"), UnknownNameError),
     (EditValue("Favites", "blue", "columella", "x"), UnknownNameError),
     (EditValue("Favites", "*", "colour", "x"), UnknownNameError),
     (EditValue("Favites", "*", "columella", "a\nb"), InputError),
     (EditCell("../programme.toml", 2, "name", "x"), NotFoundError),
     (EditCell("words.csv", 1, "word", "x"), NotFoundError),
     (EditCell("words.csv", 10**9, "word", "x"), NotFoundError),
     (EditCell("words.csv", 2, "colour", "x"), InputError),
     (EditCell("words.csv", 2, "probability", "7"), TableError)],
    ids=str,
)  # fmt: skip
def test_edits_of_what_is_not_there(
    team: Team, command: EditValue | EditCell, error: type[Exception]
) -> None:
    """Unknown genera, forms, characters, tables, rows and columns are refused in a line."""
    act = edit_value if isinstance(command, EditValue) else edit_cell
    with pytest.raises(error):
        act(team.programme, command, *team.by(team.lead))  # type: ignore[arg-type]
    assert differences(team.programme) == ()


def test_an_edit_may_mend_an_unsound_copy(team: Team) -> None:
    """Where somebody broke a table by hand, the edit that mends it is taken."""
    path = team.programme.reference_folder / "words.csv"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("always,0.96", "always,7"), encoding="utf-8")
    with pytest.raises(TableError):
        _ = programme_library(team.programme).reference
    row = text.splitlines().index("always,0.96") + 1
    command = EditCell("words.csv", row, "probability", "0.96")
    edit_cell(team.programme, command, *team.by(team.lead))
    assert differences(team.programme) == ()
