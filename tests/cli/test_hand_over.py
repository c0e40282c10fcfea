"""Colonies, places and tables from the command line: out, and in again."""

from __future__ import annotations

import json
from pathlib import Path

import geojson
import pandas as pd
import pytest

from exported import Exported, exported_copy
from invented import Team
from invented_surveys import add_sites
from runs import Runner


@pytest.fixture(scope="module")
def source(tmp_path_factory: pytest.TempPathFactory) -> Exported:
    """A copy of the programme that is handed over."""
    return exported_copy(tmp_path_factory.mktemp("source") / "programme")


@pytest.fixture(scope="module")
def elsewhere(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Another programme with the same people."""
    team = Team(tmp_path_factory.mktemp("elsewhere") / "programme")
    team.programme.close()
    return team.programme.folder


def test_colonies_go_out_and_come_in_once(
    run: Runner, source: Exported, elsewhere: Path, tmp_path: Path
) -> None:
    """An archive is written, taken in, and known the second time."""
    target = tmp_path / "colonies.zip"
    (out,) = run("export", "darwin-core", source.folder, target, "--originals", "--json").objects
    first = run("sheet", elsewhere, "--from-archive", target)
    (again,) = run("sheet", elsewhere, "--from-archive", target, "--json").objects

    assert out["rows"]["occurrence.txt"] == 2
    assert out["photos"] == 1
    assert first.status == 0
    assert first.out == (
        f"{target}: 2 new, 0 known and skipped, 0 left alone.\nSites added: Site 1.\n"
    )
    assert again == {
        "new": [], "known": [1, 2], "left_alone": [], "new_sites": [], "photos_left_out": 0,
    }  # fmt: skip


def test_a_survey_archive_is_no_archive_of_colonies(
    run: Runner, source: Exported, elsewhere: Path, tmp_path: Path
) -> None:
    """The other archive is refused in a line."""
    target = tmp_path / "survey.zip"
    run("export", "darwin-core", source.folder, target, "--survey", "Belt")
    found = run("sheet", elsewhere, "--from-archive", target)

    assert found.status == 2
    assert found.faults[0].startswith("meta.xml, core: expected a core of Occurrence, found")


@pytest.mark.parametrize("text", ["", "PK\x03\x04 broken", "not a zip at all"])
def test_what_is_no_archive_is_refused(
    run: Runner, elsewhere: Path, tmp_path: Path, text: str
) -> None:
    """Any other file is a fault, never a traceback."""
    path = tmp_path / "a.zip"
    path.write_text(text)
    found = run("sheet", elsewhere, "--from-archive", path)

    assert found.status == 2
    assert "expected a zip that can be read" in found.err


def test_an_archive_needs_a_programme(run: Runner, tmp_path: Path) -> None:
    """Without a folder there is nothing to write into."""
    found = run("sheet", "--from-archive", tmp_path / "a.zip")

    assert (found.status, found.out) == (2, "")
    assert "expected a programme to write into" in found.err


def test_places_go_to_a_file(run: Runner, source: Exported, tmp_path: Path) -> None:
    """A sentence for people, counts for machines, and a file that is read elsewhere."""
    ends = tmp_path / "ends.csv"
    ends.write_text(
        "survey,site,transect,from_latitude,from_longitude,to_latitude,to_longitude\n"
        "Belt,Site 1,T1,0.1,35.1,0.1004,35.1\n"
    )
    target = tmp_path / "reef.geojson"
    said = run("export", "geojson", source.folder, "--out", target, "--ends", ends)
    (counts,) = run(
        "export", "geojson", source.folder, "--out", tmp_path / "b.geojson", "--kind", "site",
        "--coordinates", "withheld", "--json",
    ).objects  # fmt: skip
    found = geojson.loads(target.read_text(encoding="utf-8"))

    assert said.out == f"{target}: 3 sites, 9 transects, 6 strata, 2 colonies.\n"
    assert [one for one in found.features if one.geometry.type == "LineString"] != []
    assert found.is_valid
    assert (counts["placed"], counts["without_position"]) == ({"site": 0}, {"site": 3})


def test_places_go_to_standard_output(run: Runner, source: Exported) -> None:
    """With - the text itself is printed, and nothing else."""
    found = run("export", "geojson", source.folder, "--out", "-", "--kind", "colony")

    assert len(json.loads(found.out)["features"]) == 2


def test_a_file_that_is_there_is_left_alone(run: Runner, source: Exported, tmp_path: Path) -> None:
    """Neither places nor tables nor colonies are written over anything."""
    target = tmp_path / "there"
    target.write_text("mine")
    runs = [
        run("export", "geojson", source.folder, "--out", target),
        run("export", "tables", source.folder, "--out", target),
        run("export", "darwin-core", source.folder, target),
    ]

    assert [one.status for one in runs] == [2, 2, 2]
    assert target.read_text() == "mine"


def test_a_step_that_is_none_is_refused(run: Runner, source: Exported, tmp_path: Path) -> None:
    """The three commands know the same ways to tell positions."""
    for more in (("tables", source.folder, "--out", tmp_path / "a"),
                 ("geojson", source.folder, "--out", tmp_path / "a"),
                 ("darwin-core", source.folder, tmp_path / "a.zip")):  # fmt: skip
        found = run("export", *more, "--coordinates", "0.5")
        assert found.status == 2
        assert found.err == (
            "--coordinates: expected exact, withheld or a step in degrees (1, 0.1, 0.01, 0.001), "
            "found '0.5'. Choose one.\n"
        )


def test_tables_go_to_a_folder_and_a_zip(run: Runner, source: Exported, tmp_path: Path) -> None:
    """Counts are those of the rows that are there."""
    said = run("export", "tables", source.folder, "--out", tmp_path / "tables", "--people")
    (counts,) = run(
        "export", "tables", source.folder, "--out", tmp_path / "tables.zip", "--json"
    ).objects

    assert "data-dictionary.csv, README.txt.\n" in said.out
    assert "bring-back/1-belt.csv" in said.out
    assert counts["bring_back"] == []
    for name, rows in counts["rows"].items():
        table = pd.read_csv(tmp_path / "tables" / f"{name}.csv", dtype=str)
        assert len(table) == rows


def test_the_survey_comes_back_by_the_command(
    run: Runner, source: Exported, tmp_path: Path
) -> None:
    """A table of bring-back is imported with no column named."""
    run("export", "tables", source.folder, "--out", tmp_path / "tables", "--people")
    team = Team(tmp_path / "other")
    add_sites(team, 1)
    team.programme.close()
    folder = team.programme.folder
    strata = tmp_path / "strata.csv"
    strata.write_text("stratum,area,site\nall,1,Site 1\n")
    run("survey", "plan", folder, "Belt", "--sites", strata, "--method", "belt",
        "--transects", "2", "--tape-cm", "1000", "--width-cm", "100")  # fmt: skip
    table = tmp_path / "tables" / "bring-back" / "1-belt.csv"
    found = run("survey", "import", folder, "Belt", table, "--json")

    assert (found.status, found.err) == (0, "")
    assert found.objects[0]["slates"] == 2
