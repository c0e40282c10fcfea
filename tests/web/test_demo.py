"""The invented reserve, and the commands that show it."""

from __future__ import annotations

import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import httpx2 as httpx
import pytest
from starlette.testclient import TestClient

from corallum.actions.colonies import ColonyFilter, get_colony, list_colonies
from corallum.actions.demo import make_demo
from corallum.actions.demo_recipe import read_recipe
from corallum.actions.people import list_people
from corallum.actions.programmes import open_programme
from corallum.actions.waiting import waiting_work
from corallum.store.programme import Programme
from corallum.web.app import create_app
from web.opened import LOCAL, OWN

NOW = datetime(2026, 3, 14, 9, 30, tzinfo=UTC)


@pytest.fixture(scope="module")
def reserve(tmp_path_factory: pytest.TempPathFactory) -> Programme:
    """Make a small reserve."""
    folder = tmp_path_factory.mktemp("reserve") / "p"
    made = make_demo(folder, NOW, colonies=24, photos=3)
    yield made
    made.close()


def test_the_recipe_says_that_it_is_invented() -> None:
    """The reserve's name says so, and people have roles for names."""
    recipe = read_recipe()

    assert "invented" in recipe.name
    assert all("Invented" in note for *_, note in recipe.sites)
    roles = ("Lead", "Observer", "Second reader", "Guest")
    assert all(name.startswith(roles) for name, *_ in recipe.people)
    assert sum(one.share for one in recipe.rounds) == pytest.approx(1.0)
    assert recipe.colonies >= 200
    assert recipe.photos == 40


def test_the_reserve_has_something_of_everything(reserve: Programme) -> None:
    """There are settled and open colonies, readings that wait, and records of today."""
    rows = list_colonies(reserve, ColonyFilter(size=200)).rows
    waiting = waiting_work(reserve, NOW)

    assert {"settled", "open", "not_determined"} <= {row.status for row in rows}
    assert waiting.readings > 0
    assert waiting.today > 0
    assert len(rows) == 24 + 6
    assert sum(row.photo is not None for row in rows) == 3


def test_every_odd_record_says_so(reserve: Programme) -> None:
    """The six records that are odd on purpose carry a note that says it."""
    rows = list_colonies(reserve, ColonyFilter(text="ODD-", size=50)).rows

    assert len(rows) == 6
    for row in rows:
        notes = [str(note.report) for note in get_colony(reserve, row.id).notes]
        assert any("odd on purpose" in note for note in notes)


def test_every_picture_is_said_to_be_a_drawing(reserve: Programme) -> None:
    """No caption lets a drawing pass for a photograph."""
    rows = list_colonies(reserve, ColonyFilter(size=200)).rows
    photos = [one for row in rows if row.photo for one in get_colony(reserve, row.id).photos]

    assert len(photos) == 3
    assert all("not a photograph" in one.caption for one in photos)
    assert all((one.photo.width, one.photo.height) == (1000, 750) for one in photos)


def test_the_same_seed_makes_the_same_reserve(reserve: Programme, tmp_path: Path) -> None:
    """A second reserve has the same colonies with the same evidence."""
    again = make_demo(tmp_path / "p", NOW, colonies=24, photos=0)

    def evidence(programme: Programme) -> dict[str, dict[str, object]]:
        rows = list_colonies(programme, ColonyFilter(size=200)).rows
        records = [get_colony(programme, row.id) for row in rows]
        return {one.name: {k: e.report for k, e in one.reports.items()} for one in records}

    assert evidence(again) == evidence(reserve)
    again.close()


def test_every_page_of_the_reserve_opens(reserve: Programme) -> None:
    """All colonies, with all that is odd about them, have a page."""
    client = TestClient(create_app(reserve), base_url=LOCAL, headers=OWN)

    for row in list_colonies(reserve, ColonyFilter(size=200)).rows:
        assert client.get(f"/colonies/{row.id}").status_code == 200


def run(*arguments: str) -> subprocess.CompletedProcess[str]:
    """Run a command to its end."""
    return subprocess.run(
        [sys.executable, "-m", "corallum.cli", *arguments],
        capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip


def test_serve_says_where_it_listens_and_stops_quietly(programme: Programme) -> None:
    """The printed address answers, on this machine only, and an interrupt ends it with 0 or 130."""
    command = [sys.executable, "-m", "corallum.cli", "serve", str(programme.folder), "--port", "0"]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        line = next(line for line in process.stdout if "http://" in line)
        url = line.split()[-1]
        text = httpx.get(url, timeout=20).text
        process.terminate()
        process.wait(20)
        error = process.stderr.read()

    assert url.startswith("http://127.0.0.1:")
    assert "Invented" in text
    assert "Traceback" not in error


def test_a_folder_that_is_no_programme_is_refused_in_one_line(tmp_path: Path) -> None:
    """Serving a folder without a programme ends with 2 and says what to do."""
    done = run("serve", str(tmp_path), "--port", "0")

    assert done.returncode == 2
    assert "Traceback" not in done.stderr
    assert str(tmp_path) in done.stderr


def test_a_port_that_is_taken_is_refused_in_one_line(programme: Programme) -> None:
    """A taken port ends with 2 and names the option."""
    import socket  # noqa: PLC0415

    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        done = run("serve", str(programme.folder), "--port", str(taken.getsockname()[1]))

    assert done.returncode == 2
    assert "--port" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_reserve_that_is_there_is_used_as_it_is(reserve: Programme) -> None:
    """Making the demo twice leaves the first alone."""
    folder = reserve.folder
    before = list_people(open_programme(folder))

    done = run("demo", str(folder), "--make-only")

    assert done.returncode == 0
    assert "used as it is" in done.stdout
    assert list_people(open_programme(folder)) == before
