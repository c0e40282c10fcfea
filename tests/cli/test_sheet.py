"""``corallum sheet``: a page out, records in, and refusals in one line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from invented import Team
from phone_lines import line_of, record_of
from runs import Runner


def test_a_page_is_written(run: Runner, tmp_path: Path) -> None:
    """Without a programme the page carries the shipped reference; its size is said."""
    target = tmp_path / "phone.html"

    done = run("sheet", "--phone", str(target), "--region", "atlantic", "--json")

    assert done.status == 0, done.err
    assert json.loads(done.out) == {"phone": str(target), "bytes": target.stat().st_size}
    assert "Made for atlantic" in target.read_text(encoding="utf-8")


def test_records_go_into_a_programme_once(run: Runner, team: Team, tmp_path: Path) -> None:
    """A saved file is taken in; again it is refused with status 2, or left out if so asked."""
    file = tmp_path / "saved.jsonl"
    file.write_text(line_of(record_of()), encoding="utf-8")
    folder = str(team.programme.folder)
    asked = ("sheet", folder, "--from-phone", str(file))

    first, second = run(*asked, "--json"), run(*asked)
    third = run(*asked, "--skip-known", "--json")

    assert json.loads(first.out) == {"new": [1], "added_to": [], "left_out": []}
    assert second.status == 2
    assert "imported already" in second.err
    assert json.loads(third.out) == {"new": [], "added_to": [], "left_out": [1]}


@pytest.mark.parametrize(
    "asked",
    [
        (),
        ("--phone", "no_such_folder/phone.html"),
        ("--phone", "p.html", "--region", "the_moon"),
        ("--from-phone", "no_such_file.jsonl"),
        ("no_such_programme", "--phone", "p.html"),
        ("--phone", "p.html", "--name", "no equals sign", "--from-phone", "x"),
    ],
)
def test_bad_use_is_one_line(
    run: Runner, asked: tuple[str, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Bad use ends with status 2 and says what to do, never with a traceback."""
    monkeypatch.chdir(tmp_path)
    done = run("sheet", *asked)

    assert done.status == 2
    assert len(done.faults) == 1
    assert not list(tmp_path.glob("*/phone.html"))
