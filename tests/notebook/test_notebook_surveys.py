"""Surveys of a programme from Python: the command's figures, and nothing written."""

from __future__ import annotations

import hashlib
import re
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
import sqlalchemy as sa

from corallum.errors import InputError, StoreError
from corallum.notebook import Programme, load_reference, open_programme

Command = Callable[..., list[Any]]

PAGE = Path(__file__).parents[2] / "docs/reference/python.md"
BEFORE, AFTER = "Reef 2025", "Reef 2026"
PARTS = ("value", "low", "high", "se")


def figures(row: dict[str, Any], id_: str) -> dict[str, float | None] | None:
    """One figure of a row of the data frame as the command prints it."""
    names = {"value": id_, **{part: f"{id_}_{part}" for part in PARTS[1:]}}
    found = {part: None if pd.isna(row[name]) else row[name] for part, name in names.items()}
    return None if found["value"] is None else found


def test_cover_as_said_is_that_counted_by_hand(programme: Programme) -> None:
    """Porites is .4 of the points of three quarters of the reef, .2 of the rest: 35 %."""
    found = programme.survey(BEFORE).estimate(errors=False, draws=100)
    assert found.unit == "%"
    assert found.table().set_index("group")["said"]["Porites"] == pytest.approx(35)


def test_an_estimate_is_the_commands(programme: Programme, folder: Path, command: Command) -> None:
    """Said and corrected figures with their intervals are those of the command."""
    found = programme.survey(AFTER).estimate(errors=False, draws=150, seed=2)
    (printed,) = command(
        "survey", "estimate", folder, AFTER, "--no-errors", "--draws", 150, "--seed", 2
    )

    rows = found.table().to_dict("records")
    assert len(rows) == len(printed["rows"]) > 3
    for row, said in zip(rows, printed["rows"], strict=True):
        assert (row["group"], row["records"]) == (said["group"], said["records"])
        assert figures(row, "said") == said["said"]
        assert figures(row, "by_readings") == said["by_readings"]
        assert figures(row, "by_errors") is said["by_errors"] is None
    assert found.is_corrected
    assert any("Not asked for" in note for note in found.notes)


def test_a_change_is_the_commands(programme: Programme, folder: Path, command: Command) -> None:
    """Differences and chances of decline are those of the command, by family too."""
    found = programme.survey(AFTER).change(BEFORE, by="family", errors=False, draws=150)
    (printed,) = command("survey", "change", folder, BEFORE, AFTER, "--by", "family",
                         "--no-errors", "--draws", 150)  # fmt: skip

    rows = found.table().to_dict("records")
    assert len(rows) == len(printed["rows"]) > 1
    for row, said in zip(rows, printed["rows"], strict=True):
        for id_ in ("before", "after", "said", "by_readings"):
            assert figures(row, id_) == said[id_]
        assert row["decline_by_readings"] == said["chance_of_decline"]["by_readings"]
    assert "the same transects in both" in found.lead


def test_impact_sites_are_named_as_people_name_them(programme: Programme) -> None:
    """Sites may be given by name, and a survey by itself or by its name."""
    before, after = programme.survey(BEFORE), programme.survey(AFTER)
    found = after.change(before, impact=["Site C", "Site D"], errors=False, draws=100)
    again = after.change(BEFORE, impact=["site c", "SITE D"], errors=False, draws=100)
    table = found.contrast().table()
    assert len(table) > 1
    pd.testing.assert_frame_equal(table, again.contrast().table())


def test_what_is_asked_of_a_survey_is_checked(programme: Programme) -> None:
    """All faults of one question come at once, with what there is."""
    survey = programme.survey(AFTER)
    with pytest.raises(InputError) as caught:
        survey.estimate(by="species", level="reef", draws=1)
    assert [fault.place for fault in caught.value.faults] == ["by", "level", "draws"]
    with pytest.raises(InputError) as caught:
        survey.change(BEFORE, fall=3, impact=["Site X", "Site Y"])
    assert len(caught.value.faults) == 3
    with pytest.raises(InputError, match="Reef 2025"):
        programme.survey("Reef 1925")


def test_a_programme_brings_its_own_reference(folder: Path) -> None:
    """The reference of a programme is the copy in its folder, with the same numbers."""
    assert load_reference(folder).library.folder == folder / "reference"
    tables = load_reference(folder / "reference")
    assert tables.summary == load_reference(folder).summary


def content(folder: Path) -> dict[str, str]:
    """Hash of every file of a programme but for the working files of the database."""
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in folder.rglob("*")
        if path.is_file() and path.suffix not in (".db-wal", ".db-shm")
    }


def test_reading_leaves_the_programme_as_it_is(folder: Path) -> None:
    """Not a byte of tables, photos and database differs after everything was asked."""
    before = content(folder)
    with open_programme(folder) as found:
        found.surveys().table()
        found.survey(AFTER).estimate(errors=False, draws=100)
        found.survey(AFTER).change(BEFORE, errors=False, draws=100)
        repr(found.reference)
    assert content(folder) == before
    assert before


def test_nothing_can_be_written(programme: Programme) -> None:
    """A write into a programme that was opened for reading fails."""
    with pytest.raises(StoreError, match="Nothing was changed"), programme.record.write() as one:
        one.execute(sa.text("DELETE FROM person"))


def test_an_older_database_is_refused(folder: Path, tmp_path: Path) -> None:
    """It is not brought up to date behind the lead's back, and it says what to do."""
    (tmp_path / "programme.toml").write_bytes((folder / "programme.toml").read_bytes())
    dump = Path(__file__).parents[1] / "store/programme_0002.sql"
    connection = sqlite3.connect(tmp_path / "corallum.db")
    connection.executescript(dump.read_text(encoding="utf-8"))
    connection.close()
    before = content(tmp_path)

    with pytest.raises(StoreError, match=r"found 0002.*corallum serve"):
        open_programme(tmp_path)

    assert content(tmp_path) == before


def test_a_folder_that_is_no_programme_is_refused(tmp_path: Path) -> None:
    """It says what was expected there."""
    with pytest.raises(InputError, match=re.escape("programme.toml")):
        open_programme(tmp_path)


def test_the_page_shows_code_that_runs(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every block of Python in the page runs, its programme being the invented one here."""
    monkeypatch.chdir(PAGE.parents[2])
    text = PAGE.read_text(encoding="utf-8")
    for name, here in (("corallum-demo", folder.as_posix()), ("After the storm (invented)", AFTER),
                       ("Before the storm (invented)", BEFORE)):  # fmt: skip
        assert name in text
        text = text.replace(name, here)
    blocks = re.findall(r"```python\n(.*?)```", text, re.DOTALL)
    assert len(blocks) > 2
    for block in blocks:
        exec(compile(block, str(PAGE), "exec"), {})  # noqa: S102  our own page
    printed = capsys.readouterr().out
    assert "Krippendorff's alpha" in printed
    assert "by_readings" in printed
