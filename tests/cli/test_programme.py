"""Commands about a programme, as a person runs them."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from corallum.actions.colony_answers import SaveDetermination, save_determination
from corallum.actions.colony_lists import get_colony
from corallum.actions.people import list_people
from corallum.actions.programme_reference import EditValue, edit_value
from corallum.actions.programmes import open_programme
from invented import Team

Run = Callable[..., Any]


def test_a_new_programme(run: Run, tmp_path: Path) -> None:
    """A folder is made with settings, reference, database and a first lead."""
    folder = tmp_path / "reef"
    done = run("new", folder, "--name", "A reef", "--region", "red_sea", "--region", "atlantic",
               "--lead", "Ann", "--threshold", "separable=0.85")  # fmt: skip
    assert (done.status, done.err) == (0, "")
    assert done.out.startswith(f"A reef: made in {folder}, led by Ann.")
    programme = open_programme(folder)
    assert programme.settings.regions == ("red_sea", "atlantic")
    assert programme.settings.thresholds == {"separable": 0.85}
    assert [(one.name, one.role) for one in list_people(programme)] == [("Ann", "lead")]
    programme.close()


def test_a_new_programme_for_machines(run: Run, tmp_path: Path) -> None:
    """With --json one object says what was made."""
    found = json.loads(run("new", tmp_path / "reef", "--json").out)
    assert (found["name"], found["regions"]) == ("reef", ["indo_pacific"])
    assert found["lead"]["name"] == "Lead"


@pytest.mark.parametrize(
    ("options", "wanted"),
    [(["--region", "mars"], "programme, regions: expected one of indo_pacific"),
     (["--threshold", "set_mass"], "--threshold: expected set_mass=0.95, found 'set_mass'"),
     (["--threshold", "speed=0.5"], "programme, thresholds: expected one of set_mass, separable"),
     (["--threshold", "set_mass=2"], "thresholds, set_mass: expected a number between 0 and 1"),
     (["--name", " "], "programme, name: expected a name of 1 to 120 characters"),
     (["--lead", ""], "name of the lead: expected 1 to 120 characters on one line")],
)  # fmt: skip
def test_a_new_programme_with_bad_options(
    run: Run, tmp_path: Path, options: list[str], wanted: str
) -> None:
    """One line, status 2, and no folder."""
    done = run("new", tmp_path / "reef", *options)
    assert (done.status, len(done.faults)) == (2, 1)
    assert wanted in done.err
    assert not (tmp_path / "reef").exists()


def test_there_and_back_again(run: Run, team: Team, tmp_path: Path) -> None:
    """Backed up, checked and restored, a programme holds the same record."""
    colony = team.colony(name="first")
    team.programme.close()
    folder = team.programme.folder
    done = run("backup", folder, tmp_path / "copy")
    assert (done.status, done.err) == (0, "")
    assert done.out.startswith(f"{tmp_path / 'copy'}: 1 colony, 0 photos, ")
    assert run("verify", tmp_path / "copy").status == 0
    done = run("restore", tmp_path / "copy", tmp_path / "again")
    assert (done.status, done.err) == (0, "")
    programme = open_programme(tmp_path / "again")
    assert get_colony(programme, colony.id) == colony
    programme.close()
    found = json.loads(run("verify", tmp_path / "again", "--json").out)
    assert (found["sound"], found["colonies"], found["faults"]) == (True, 1, [])


def test_a_backup_without_a_name_is_named_by_the_moment(run: Run, team: Team) -> None:
    """It stands beside the programme."""
    found = json.loads(run("backup", team.programme.folder, "--json").out)
    place = Path(found["backup"])
    assert place.parent == team.programme.folder.parent
    assert place.name.startswith("programme-backup-2")
    assert (place / "manifest.json").is_file()


def test_damage_is_told_and_is_a_no(run: Run, team: Team) -> None:
    """Verify lists each fault on standard error and exits with 1."""
    team.programme.close()
    (team.programme.folder / "corallum.db").unlink()
    done = run("verify", team.programme.folder)
    assert done.status == 1
    assert done.faults == ["corallum.db: expected the database, found none. Restore a backup."]
    assert ": 1 fault." in done.out
    found = json.loads(run("verify", team.programme.folder, "--json").out)
    assert (found["sound"], len(found["faults"])) == (False, 1)


@pytest.mark.parametrize("command", ["verify", "backup", "redetermine"])
def test_a_folder_that_is_no_programme(run: Run, tmp_path: Path, command: str) -> None:
    """One line that says what to do, and status 2."""
    done = run(command, tmp_path)
    assert (done.status, len(done.faults), done.out) == (2, 1, "")
    assert "expected a programme with programme.toml, found none" in done.err


def test_restore_writes_over_nothing(run: Run, team: Team, tmp_path: Path) -> None:
    """A folder that is there is refused with status 2."""
    run("backup", team.programme.folder, tmp_path / "copy")
    done = run("restore", tmp_path / "copy", team.programme.folder)
    assert (done.status, len(done.faults)) == (2, 1)
    assert "expected a new folder" in done.err


def test_redetermine_shows_then_keeps(run: Run, team: Team) -> None:
    """First it says what would change (exit 1), with --apply it keeps it (exit 0), then no more."""
    colony = team.colony(name="first")
    save_determination(team.programme, SaveDetermination(colony.id), *team.by())
    folder = team.programme.folder
    assert run("redetermine", folder).status == 0
    command = EditValue("Dipsastraea", "*", "columella", "always absent")
    edit_value(team.programme, command, *team.by(team.lead))
    preview = run("redetermine", folder)
    assert preview.status == 1
    assert "first" in preview.out
    assert "Nothing was written. Add --apply to keep the new answers." in preview.out
    assert len(get_colony(team.programme, colony.id).determinations) == 1
    done = run("redetermine", folder, "--apply", "--as", "lead", "--json")
    assert (done.status, done.err) == (0, "")
    found = json.loads(done.out)
    assert (found["applied"], found["rerun"], len(found["changes"])) == (True, 1, 1)
    assert len(get_colony(team.programme, colony.id).determinations) == 2
    assert run("redetermine", folder).status == 0


def test_redetermine_is_a_leads_work(run: Run, team: Team) -> None:
    """Who is named must be there, and a lead to apply."""
    colony = team.colony()
    save_determination(team.programme, SaveDetermination(colony.id), *team.by())
    nobody = run("redetermine", team.programme.folder, "--as", "Nobody")
    assert (nobody.status, len(nobody.faults)) == (2, 1)
    assert "expected one of Lead, Observer 1, Observer 2, Reader, found 'Nobody'" in nobody.err
    observer = run("redetermine", team.programme.folder, "--apply", "--as", "Observer 1")
    assert observer.status == 2
    assert observer.err.startswith("an observer may not determine all colonies again. ")
