"""A programme as plain tables, read by a reader that is not ours."""

from __future__ import annotations

import csv
import datetime as dt
import math
import re
import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import fields
from pathlib import Path

import pandas as pd
import pytest

from corallum.actions.colonies import get_colony
from corallum.actions.export_tables import ExportTables, export_tables
from corallum.actions.places import list_sites
from corallum.actions.survey_import import ImportSlates, guess_for, import_slates
from corallum.actions.survey_plans import PlanSurvey, SurveyView, get_survey, plan_survey
from corallum.errors import InputError
from corallum.exchange.coordinates import WITHHELD
from corallum.records.survey import Line, Slate, Stratum
from corallum.store import surveys
from corallum.store.programme import Programme
from exported import FORMULA, ODD, Exported, make_exported
from invented import Team
from invented_surveys import add_sites

NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")
MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z")
Tables = Mapping[str, pd.DataFrame]


@pytest.fixture(scope="module")
def source() -> Exported:
    """The programme that is handed over."""
    return make_exported()


@pytest.fixture(scope="module")
def programme(source: Exported) -> Iterator[Programme]:
    """It, open."""
    found = source.open()
    yield found
    found.close()


@pytest.fixture(scope="module")
def folder(programme: Programme, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """All tables, with names."""
    target = tmp_path_factory.mktemp("out") / "tables"
    export_tables(programme, ExportTables(target, named=True))
    return target


def read(path: Path) -> pd.DataFrame:
    """Read a table, every cell as text."""
    return pd.read_csv(path, dtype=str, keep_default_na=False, lineterminator="\n")


@pytest.fixture(scope="module")
def tables(folder: Path) -> Tables:
    """The tables by name."""
    return {path.stem: read(path) for path in sorted(folder.glob("*.csv"))}


def as_it_was(text: str) -> str:
    """Take an apostrophe off, as README.txt says."""
    return text[1:] if re.match(r"'+[=+\-@\t\r]", text) else text


def test_the_dictionary_says_every_column_and_no_other(folder: Path, tables: Tables) -> None:
    """A column stands in the dictionary just if its table has it, in the same order."""
    said = tables["data-dictionary"]
    for name, table in tables.items():
        assert list(said[said.table == name].column) == list(table.columns)
    assert set(said.table) == {*tables, "bring-back/*"}
    back = set(said[said.table == "bring-back/*"].column)
    for path in folder.glob("bring-back/*.csv"):
        assert set(read(path).columns) <= back


def test_every_kind_of_record_has_a_row(tables: Tables) -> None:
    """The programme holds at least one record of each kind, and each table at least one row."""
    assert [name for name, table in tables.items() if table.empty] == []


def test_every_cell_is_what_the_dictionary_says(tables: Tables) -> None:
    """Types, allowed values and blanks hold in every cell of every table."""
    odd = []
    for row in tables["data-dictionary"].itertuples():
        if row.table == "bring-back/*":
            continue
        for cell in tables[row.table][row.column]:
            if cell == "":
                good = row.may_be_blank == "yes"
            else:
                good = fits(cell, row.type) and (
                    row.type == "list"
                    or not is_closed(row)
                    or cell in row.allowed_values.split(", ")
                )
            if not good:
                odd.append((row.table, row.column, cell))
    assert odd == []


def is_closed(row: object) -> bool:
    """Whether the allowed values are words to choose from."""
    words = str(getattr(row, "allowed_values", ""))
    return bool(re.fullmatch(r"[a-z_]+(, [a-z_]+)+", words))


def fits(cell: str, kind: str) -> bool:
    """Whether a cell is of a type."""
    if kind == "whole number":
        return re.fullmatch(r"-?\d+", cell) is not None
    if kind == "number":
        return math.isfinite(float(cell))
    if kind == "date":
        return bool(dt.date.fromisoformat(cell))
    if kind == "moment":
        return MOMENT.fullmatch(cell) is not None
    return kind in {"text", "list"} or cell in {"yes", "no"}


def test_no_cell_is_run_by_a_spreadsheet(folder: Path) -> None:
    """A cell that begins as a formula does is a number."""
    for path in folder.rglob("*.csv"):
        with path.open(encoding="utf-8", newline="") as stream:
            cells = [cell for row in csv.reader(stream) for cell in row]
        risky = [cell for cell in cells if cell[:1] in ("=", "+", "-", "@", "\t", "\r")]
        assert [cell for cell in risky if not NUMBER.fullmatch(cell)] == []


def test_odd_texts_come_back_as_they_were(tables: Tables) -> None:
    """Formulas, line breaks, tabs, quotes and other alphabets, once the apostrophe is off."""
    site = tables["sites"].set_index("latitude_deg").loc["-1.25"]
    notes = {as_it_was(cell) for cell in tables["slates"].note}

    assert (as_it_was(site["name"]), as_it_was(site.note)) == (FORMULA, ODD)
    assert ODD in notes
    assert set(tables["lines"].off_line_cm) == {"", "-40.5"}


def test_lines_are_those_of_the_slates(
    source: Exported, programme: Programme, tables: Tables
) -> None:
    """Every line of every slate, also of those that were mended, with every field."""
    rows = tables["lines"].set_index(["slate", "line"])
    count = 0
    with programme.read() as connection:
        for survey in source.surveys:
            for slate in surveys.slates_of(connection, survey, replaced=True):
                for number, line in enumerate(slate.lines, start=1):
                    count += 1
                    row = rows.loc[str(slate.history), str(number)]
                    for field in fields(Line):
                        name = "colony_mark" if field.name == "colony" else field.name
                        assert same(row[name], getattr(line, field.name))
    assert count == len(rows)


def same(cell: str, value: object) -> bool:
    """Whether a cell holds a value."""
    if isinstance(value, float | int):
        return float(cell) == value
    return as_it_was(cell) == (value or "")


def test_a_line_that_was_left_out_or_mended_does_not_count(tables: Tables) -> None:
    """One slate was mended, and one flag was answered with leaving out."""
    slates, lines, flags = tables["slates"], tables["lines"], tables["flags"]
    (mended,) = slates[slates.stands == "no"].slate
    (left_out,) = flags[flags.decision == "left_out"].slate

    assert set(lines[lines.slate == mended].stands) == {"no"}
    assert "no" in set(lines[lines.slate == left_out].stands)
    assert set(lines[~lines.slate.isin([mended, left_out])].stands) == {"yes"}


def test_determinations_stand_in_their_order(
    source: Exported, programme: Programme, tables: Tables
) -> None:
    """Opinions of the program, of a second reader and of a lead, none written over another."""
    record = get_colony(programme, source.first_colony)
    rows = tables["determinations"]
    found = rows[rows.colony == source.first_colony]

    assert list(found.place_in_order) == ["1", "2", "3", "4"]
    assert list(found.kind) == ["model", "model", "reading", "override"]
    assert list(found.determination) == [str(one.history) for one in record.determinations]
    assert list(found.name) == [one.name for one in record.determinations]
    assert list(found.genera) == ["|".join(map(str, one.genera)) for one in record.determinations]
    assert [float(one) for one in found.probability if one] == [
        one.probability for one in record.determinations if one.probability is not None
    ]


def test_what_was_undone_is_there_and_says_so(source: Exported, tables: Tables) -> None:
    """An observation that was undone, and a colony that was withdrawn."""
    observations, colonies = tables["observations"], tables["colonies"]
    undone = observations[(observations.colony == source.first_colony)
                          & (observations.in_effect == "no")]  # fmt: skip

    assert list(undone.subject) == ["columella"]
    assert list(colonies[colonies.colony == source.withdrawn].withdrawn) == ["yes"]


def test_nobody_is_named_unasked(programme: Programme, tmp_path: Path) -> None:
    """Without names, no file holds one: people are numbers, titles that name one are blank."""
    export_tables(programme, ExportTables(tmp_path / "out"))
    names = (b"Observer 1", b"Observer 2", b"Reader", b"Lead", b"Holder (invented)")
    held = {
        path.name: name
        for path in (tmp_path / "out").rglob("*.csv") for name in names
        if name in path.read_bytes()
    }  # fmt: skip

    assert held == {}
    assert not (tmp_path / "out" / "bring-back").exists()
    assert (tmp_path / "out" / "README.txt").exists()


def test_positions_are_withheld_with_the_notes_that_may_tell_them(
    programme: Programme, tmp_path: Path
) -> None:
    """No degrees, no notes of sites, and the table says why."""
    export_tables(programme, ExportTables(tmp_path / "out", WITHHELD))
    sites = read(tmp_path / "out" / "sites.csv")

    assert set(sites.latitude_deg) | set(sites.longitude_deg) | set(sites.note) == {""}
    assert set(sites.coordinates) == {"coordinates withheld"}


def test_a_zip_holds_the_same_files(programme: Programme, folder: Path, tmp_path: Path) -> None:
    """The bytes of the zip's files are those of the folder's."""
    export_tables(programme, ExportTables(tmp_path / "out.zip", named=True))

    with zipfile.ZipFile(tmp_path / "out.zip") as archive:
        packed = {name: archive.read(name) for name in archive.namelist()}
    laid = {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob("*") if path.is_file()
    }  # fmt: skip
    assert packed == laid
    assert [path.name for path in tmp_path.iterdir()] == ["out.zip"]


def test_nothing_is_written_over(programme: Programme, folder: Path) -> None:
    """A target that is there is refused and left alone."""
    before = sorted(path.name for path in folder.iterdir())

    with pytest.raises(InputError, match="expected a new name, found one that is there"):
        export_tables(programme, ExportTables(folder))
    assert sorted(path.name for path in folder.iterdir()) == before


def test_a_survey_comes_back_as_it_was(
    source: Exported, programme: Programme, folder: Path, tmp_path: Path
) -> None:
    """The tables of all six methods, imported elsewhere, give the same slates."""
    team = Team(tmp_path / "elsewhere")
    add_sites(team, 2)
    files = sorted(folder.glob("bring-back/*.csv"), key=lambda path: int(path.name.split("-")[0]))
    methods = set()
    for survey, path in zip(_in_order(programme, source), files, strict=True):
        old = get_survey(programme, survey)
        new = _planned_again(team, old)
        text = path.read_text(encoding="utf-8")
        columns = guess_for(text, old.plan.method)
        command = ImportSlates(new.event.id, text, path.name, columns)
        import_slates(team.programme, command, *team.by(team.lead))
        again = get_survey(team.programme, new.event.id)
        assert _carried(again) == _carried(old)
        methods.add(old.plan.method)
    team.programme.close()
    assert len(methods) == 6


def _in_order(programme: Programme, source: Exported) -> list[str]:
    """Surveys in the order of their numbers: by day, and none has one, then by name."""
    found = [get_survey(programme, survey).event for survey in source.surveys]
    return [one.id for one in sorted(found, key=lambda one: one.name)]


def _planned_again(team: Team, old: SurveyView) -> SurveyView:
    """Plan the same survey elsewhere."""
    names = {one.name: one.id for one in list_sites(team.programme)}
    strata = tuple(
        Stratum(one.name, one.area, tuple(names[old.sites[site].name] for site in one.sites))
        for one in old.plan.strata
    )
    plan = PlanSurvey(
        old.event.name, old.plan.method.value, strata, old.plan.transects_per_site, old.plan.effort
    )
    return plan_survey(team.programme, plan, *team.by(team.lead))


def _carried(view: SurveyView) -> list[tuple[object, ...]]:
    """Return what an import carries of each slate that stands."""
    names = {one.id: one.name for one in view.transects}
    sites = {one.id: view.sites[one.site or ""].name for one in view.transects}
    slates: list[Slate] = [one for found in view.slates.values() for one in found]
    return sorted(
        (
            sites[one.transect], names[one.transect], one.method, view.people[one.observer].name,
            one.date, one.depth_m, one.effort, one.lines, "" if one.lines else one.note,
        )
        for one in slates
    )  # fmt: skip
