"""Rows of surveys follow their history, and what was altered behind it is found."""

from __future__ import annotations

import json
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from corallum.actions.colonies import Undo, undo
from corallum.actions.colony_lists import get_colony
from corallum.actions.slates import WriteSlate, write_slate
from corallum.actions.survey_flags import AnswerFlag, answer_flag
from corallum.actions.survey_sums import sum_surveys
from corallum.store.verify import verify_folder
from invented import Team
from invented_surveys import EFFORTS, Made, laid_out, make_survey

TEXT = "300 porites\n600 acropora\n1000 sand"


@pytest.fixture
def made(team: Team) -> Made:
    """A survey of two slates."""
    found = laid_out(team, sites=1, areas=(1.0,))
    for transect in found.view.transects:
        found.write(transect.id, [], TEXT)
    return found


def rows(made: Made, slate: int) -> list[dict[str, Any]]:
    """The rows of a slate's lines, as any program sees them."""
    path = made.team.programme.folder / "corallum.db"
    with closing(sqlite3.connect(path)) as database:
        database.row_factory = sqlite3.Row
        asked = "SELECT * FROM survey_record WHERE slate = ? ORDER BY line"
        return [dict(row) for row in database.execute(asked, (slate,))]


def alter(folder: Path, statement: str, *values: object) -> None:
    """Change the database behind the program's back."""
    with closing(sqlite3.connect(folder / "corallum.db")) as database:
        assert database.execute(statement, values).rowcount > 0
        database.commit()


def faults(folder: Path) -> list[str]:
    """What verify finds, as lines."""
    return [str(fault) for fault in verify_folder(folder, lambda _: None).faults]


def test_lines_are_rows_with_amounts(made: Made) -> None:
    """Each line has its place, label, kind and centimetres."""
    (slate, _) = made.slates
    found = rows(made, slate.history)
    assert [(row["line"], row["label"], row["kind"], row["amount"]) for row in found] == [
        (1, "Porites", "genus", 300.0), (2, "Acropora", "genus", 300.0),
        (3, "sand", "other", 400.0),
    ]  # fmt: skip
    assert {(row["survey"], row["transect"], row["year"]) for row in found} == {
        (made.id, slate.transect, slate.date.year)
    }
    assert all(row["stands"] for row in found)


def test_lines_of_a_slate_that_was_mended_do_not_stand(made: Made) -> None:
    """The new slate's lines count instead; the old ones are kept."""
    slate = made.slates[0]
    command = WriteSlate(slate.transect, "1000 sand", replaces=slate.history)
    new = write_slate(made.team.programme, command, *made.team.by())
    assert [row["stands"] for row in rows(made, slate.history)] == [0, 0, 0]
    assert [row["stands"] for row in rows(made, new.history)] == [1]
    sums = {(one.label, one.amount) for one in sum_surveys(made.team.programme)}
    assert sums == {("Porites", 300.0), ("Acropora", 300.0), ("sand", 1400.0)}
    assert faults(made.team.programme.folder) == []


def test_a_line_left_out_does_not_stand(made: Made) -> None:
    """The newest decision counts; a line left out under two rules needs both taken back."""
    slate, team = made.slates[0], made.team

    def decide(line: int | None, rule: str, decision: str) -> list[int]:
        command = AnswerFlag(slate.history, line, rule, decision, "why")
        answer_flag(team.programme, command, *team.by(team.lead))
        return [row["stands"] for row in rows(made, slate.history)]

    assert decide(2, "odd_size", "left_out") == [1, 0, 1]
    assert decide(2, "odd_depth", "left_out") == [1, 0, 1]
    assert decide(2, "odd_size", "stands") == [1, 0, 1]
    assert decide(2, "odd_depth", "stands") == [1, 1, 1]
    assert decide(None, "odd_depth", "left_out") == [0, 0, 0]
    assert faults(team.programme.folder) == []


def test_a_programme_with_every_method_is_sound(team: Team) -> None:
    """Plans, slates, draws and readings of all methods hold nothing that verify faults."""
    for method in EFFORTS:
        make_survey(team, "", method, sites=1, areas=(1.0,)).draw(0.1, least=1)
    assert faults(team.programme.folder) == []


@pytest.fixture(scope="module")
def sealed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A programme with a survey, closed, to be copied and altered."""
    team = Team(tmp_path_factory.mktemp("reserve") / "programme")
    found = laid_out(team, sites=1, areas=(1.0,))
    for transect in found.view.transects:
        found.write(transect.id, [], TEXT)
    found.read_again(1.0, agree=True)
    team.programme.close()
    return team.programme.folder


@pytest.mark.parametrize(
    ("statement", "wanted"),
    [("UPDATE survey_record SET amount = 1 WHERE line = 2", "lines of slate"),
     ("UPDATE survey_record SET label = 'Favites' WHERE line = 1", "lines of slate"),
     ("UPDATE survey_record SET stands = 0 WHERE line = 3", "lines of slate"),
     ("DELETE FROM survey_record WHERE line = 1", "lines of slate"),
     ("UPDATE slate SET depth_m = 20.0", "slate "),
     ("UPDATE slate SET lines = '[]'", "slate "),
     ("UPDATE slate SET lines = 'x'", "slate "),
     ("UPDATE slate SET observer = person FROM history WHERE history.id = 1", "slate "),
     ("UPDATE record_reading SET label = 'Favites'", "record_reading "),
     ("DELETE FROM record_reading", "record_reading "),
     ("UPDATE reading_draw SET share = 0.5", "reading_draw "),
     ("UPDATE survey_plan SET plan = replace(plan, '1000', '2000')", "survey_plan ")],
)  # fmt: skip
def test_what_was_altered_is_found(
    sealed: Path, tmp_path: Path, statement: str, wanted: str
) -> None:
    """A row of lines, a slate, a reading, a draw or a plan that is not as written is told."""
    folder = tmp_path / "programme"
    shutil.copytree(sealed, folder)
    assert faults(folder) == []
    alter(folder, statement)
    found = faults(folder)
    assert found
    assert any(wanted in line for line in found)
    assert all(line.isprintable() for line in found)


def test_lines_of_no_slate_are_found(sealed: Path, tmp_path: Path) -> None:
    """A row of lines that no slate wrote is told."""
    folder = tmp_path / "programme"
    shutil.copytree(sealed, folder)
    alter(folder, "INSERT INTO survey_record SELECT 99999, line, survey, site, transect, year,"
          " label, kind, form, amount, count, diameter_cm, photo, stands FROM survey_record"
          " WHERE line = 1 LIMIT 1")  # fmt: skip
    assert any("lines of surveys" in line or "slate" in line for line in faults(folder))


def test_a_forged_history_is_found(sealed: Path, tmp_path: Path) -> None:
    """Who alters a slate and its entry alike still breaks the seal."""
    folder = tmp_path / "programme"
    shutil.copytree(sealed, folder)
    path = folder / "corallum.db"
    with closing(sqlite3.connect(path)) as database:
        (id_, detail) = database.execute(
            "SELECT id, detail FROM history WHERE detail LIKE '%\"slate\"%' LIMIT 1"
        ).fetchone()
        entry = json.loads(detail)
        entry["row"]["depth_m"] = 33.0
        database.execute("UPDATE history SET detail = ? WHERE id = ?", (json.dumps(entry), id_))
        database.execute("UPDATE slate SET depth_m = 33.0 WHERE history = ?", (id_,))
        database.commit()
    assert faults(folder)


def test_undo_of_a_colony_leaves_surveys_alone(made: Made) -> None:
    """What is undone is the colony's; slates stand as they did."""
    team = made.team
    colony = team.colony()
    before = made.slates
    undo(team.programme, Undo(colony.id), *team.by())
    assert made.slates == before
    assert get_colony(team.programme, colony.id) != colony
    assert [row["stands"] for row in rows(made, before[0].history)] == [1, 1, 1]
    assert faults(team.programme.folder) == []
