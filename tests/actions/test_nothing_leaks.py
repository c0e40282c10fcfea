"""What is held back stands nowhere in what is handed over: no position, no note, no name."""

from __future__ import annotations

import json
import re
import sqlite3
import zipfile
from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest

from corallum.actions import export_colonies as colonies_module
from corallum.actions import export_survey as survey_module
from corallum.actions.export_colonies import ExportColonies, export_colonies
from corallum.actions.export_places import ExportPlaces, export_places
from corallum.actions.export_survey import ExportSurvey, export_survey
from corallum.actions.export_tables import ExportTables, export_tables
from corallum.exchange.coordinates import WITHHELD, CoordinateRule, parse_coordinate_rule
from corallum.store.programme import Programme
from exported import exported_copy
from invented import NOW

DIGITS = "2345678"
SHORT = 4
_FREE = ("note", "caption", "question", "reason")


@pytest.fixture(scope="module")
def programme(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Programme]:
    """A programme with every kind of record, its sites at positions that are known by digits."""
    source = exported_copy(tmp_path_factory.mktemp("leaks") / "programme")
    with sqlite3.connect(source.folder / "corallum.db") as base:
        base.execute("UPDATE site SET latitude = -1.2345678, longitude = 35.92345678")
    base.close()
    found = source.open()
    yield found
    found.close()


def secrets_of(programme: Programme) -> set[str]:
    """Every free text that anybody wrote, as it is kept."""
    base = sqlite3.connect(programme.folder / "corallum.db")
    tables = [name for (name,) in base.execute("SELECT name FROM sqlite_master WHERE type='table'")]
    found: set[str] = set()
    for table in tables:
        columns = [row[1] for row in base.execute(f"PRAGMA table_info({table})")]
        for column in {*columns} & {*_FREE}:
            found |= {row[0] for row in base.execute(f"SELECT {column} FROM {table}")}  # noqa: S608
    for (report,) in base.execute("SELECT report FROM entry WHERE kind = 'note'"):
        found.add(json.loads(report))
    for (lines,) in base.execute("SELECT lines FROM slate"):
        found |= {one.get("note", "") for one in json.loads(lines) if isinstance(one, dict)}
    base.close()
    # The longest part will do: line breaks and quotes are written otherwise in each form.
    parts = {max(re.split(r'["\n\t]', one), key=len).strip() for one in found if one}
    return {one for one in parts if len(one) > SHORT}


def surveys_of(programme: Programme) -> list[str]:
    """The ids of all surveys."""
    base = sqlite3.connect(programme.folder / "corallum.db")
    found = [id_ for (id_,) in base.execute("SELECT id FROM survey_plan")]
    base.close()
    return found


def handed_over(programme: Programme, rule: CoordinateRule, folder: Path) -> Mapping[str, str]:
    """Everything that can be handed over, each file as text."""
    zips = {"colonies": folder / "colonies.zip", "tables": folder / "tables.zip"}
    export_colonies(programme, ExportColonies(zips["colonies"], rule, photos="small"), NOW)
    export_tables(programme, ExportTables(zips["tables"], rule, named=True))
    for id_ in surveys_of(programme):
        zips[id_] = folder / f"{id_}.zip"
        wish = ExportSurvey(id_, zips[id_], rule, photos=True, estimates=True)
        export_survey(programme, wish, NOW)
    found = {"geojson": export_places(programme, ExportPlaces(rule)).text}
    for what, path in zips.items():
        with zipfile.ZipFile(path) as archive:
            for name in archive.namelist():
                found[f"{what}/{name}"] = archive.read(name).decode("utf-8", "replace")
    return found


@pytest.mark.parametrize("rule", [WITHHELD, parse_coordinate_rule("0.1")], ids=["none", "0.1"])
def test_no_position_and_no_note_is_told(
    programme: Programme, tmp_path: Path, rule: CoordinateRule
) -> None:
    """Neither the digits of a position nor the words of a note stand in any file."""
    secrets = {DIGITS, *secrets_of(programme)}
    assert len(secrets) > SHORT

    found = handed_over(programme, rule, tmp_path)
    leaks = {(name, one) for name, text in found.items() for one in secrets if one in text}
    assert leaks == set()


def test_all_of_it_is_told_where_positions_are_exact(programme: Programme, tmp_path: Path) -> None:
    """The check above can fail: told exactly, the same files hold positions and notes."""
    text = "".join(handed_over(programme, parse_coordinate_rule("exact"), tmp_path).values())
    assert {one for one in {DIGITS, *secrets_of(programme)} if one not in text} == set()


def test_no_name_is_told_in_tables_without_names(programme: Programme, tmp_path: Path) -> None:
    """People stand as numbers in every table, also in the history of what was observed."""
    base = sqlite3.connect(programme.folder / "corallum.db")
    names = [name for (name,) in base.execute("SELECT name FROM person")]
    base.close()
    export_tables(programme, ExportTables(tmp_path / "out", WITHHELD))
    places = export_places(programme, ExportPlaces()).text
    texts = [path.read_text("utf-8") for path in (tmp_path / "out").rglob("*.*")]
    assert [one for one in names for text in (*texts, places) if one in text] == []


@pytest.mark.parametrize("what", ["survey", "colonies"])
def test_parts_of_another_reference_are_not_taken_up(
    programme: Programme, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, what: str
) -> None:
    """Stopped, then run with a reference edited by hand: nothing is kept of the first run."""
    target = tmp_path / "a.zip"
    module = survey_module if what == "survey" else colonies_module
    monkeypatch.setattr(module, "_PAGE", 1)

    def run(*, stop: bool) -> int:
        told: list[float] = []

        def progress(share: float) -> None:
            told.append(share)
            if stop and len(told) > 1:
                raise KeyboardInterrupt

        if what == "survey":
            wish = ExportSurvey(surveys_of(programme)[0], target, replace=True)
            return export_survey(programme, wish, NOW, progress).kept
        return export_colonies(programme, ExportColonies(target, replace=True), NOW, progress).kept

    with pytest.raises(KeyboardInterrupt):
        run(stop=True)
    table = programme.reference_folder / "genera" / "branching_and_porites.csv"
    before = table.read_text("utf-8")
    table.write_text(before.replace("Poritidae", "Poritinae"), "utf-8")
    try:
        kept = run(stop=False)
    finally:
        table.write_text(before, "utf-8")
    assert kept == 0
    with pytest.raises(KeyboardInterrupt):
        run(stop=True)
    assert run(stop=False) > 0
