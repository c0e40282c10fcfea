"""A survey goes out as an archive and comes in again from the command line."""

from __future__ import annotations

import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from exported import Exported, make_exported
from invented import Team
from runs import Runner

SURVEY = "Tape: spring/26"


@pytest.fixture(scope="module")
def source() -> Exported:
    """A programme with a survey of every method."""
    return make_exported()


@pytest.fixture(scope="module")
def there(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """The folder of another programme."""
    team = Team(tmp_path_factory.mktemp("there") / "programme", seed=7)
    team.programme.close()
    return team.programme.folder


def test_out_and_in_again(run: Runner, source: Exported, there: Path, tmp_path: Path) -> None:
    """Written, looked at, taken in, and refused when it comes again."""
    target = tmp_path / "a.zip"
    found = run("export", "darwin-core", source.folder, target, "--survey", SURVEY, "--json")
    (said,) = found.objects
    assert (found.status, said["rows"]["event.txt"]) == (0, 7)
    looked = run("survey", "import", there, "Brought", target, "--look")
    assert (looked.status, looked.out.splitlines()[0]) == (
        0, "Brought: 2 slates, 5 lines, 5 second readings: looked at, nothing written.",
    )  # fmt: skip
    (taken,) = run("survey", "import", there, "Brought", target, "--json").objects
    assert taken["written"]
    assert taken["new_sites"]
    again = run("survey", "import", there, "Other", target)
    assert (again.status, again.out) == (2, "")
    assert "found one that is here already, as 'Brought'" in again.err


def test_an_archive_that_was_edited_says_so(
    run: Runner, source: Exported, there: Path, tmp_path: Path
) -> None:
    """A table that has another hash than the list says is named when it is looked at."""
    run("export", "darwin-core", source.folder, tmp_path / "a.zip", "--survey", "Belt")
    with (
        zipfile.ZipFile(tmp_path / "a.zip") as found,
        zipfile.ZipFile(tmp_path / "b.zip", "w") as made,
    ):
        for name in found.namelist():
            data = found.read(name)
            deeper = data.replace(b"\t4.2\t4.2\t", b"\t5.2\t5.2\t")
            made.writestr(name, deeper if name == "event.txt" else data)
    (whole,) = run("survey", "import", there, "New", tmp_path / "a.zip", "--look", "--json").objects
    (edited,) = run(
        "survey", "import", there, "New", tmp_path / "b.zip", "--look", "--json"
    ).objects
    assert (whole["altered"], edited["altered"]) == ([], ["event.txt"])
    said = run("survey", "import", there, "New", tmp_path / "b.zip", "--look").out
    assert "somebody edited it: event.txt." in said


def test_a_file_that_is_there_stays(run: Runner, source: Exported, tmp_path: Path) -> None:
    """Status 2 and a line that says what to do; with --replace it gives way."""
    target = tmp_path / "a.zip"
    target.write_bytes(b"mine")
    words = ("export", "darwin-core", source.folder, target, "--survey", "Belt")
    found = run(*words)
    assert found.status == 2
    assert "Choose another name, or give --replace." in found.err
    assert target.read_bytes() == b"mine"
    assert run(*words, "--replace").status == 0
    assert zipfile.is_zipfile(target)


@pytest.mark.parametrize(
    "more", [("--survey", "None such"), ("--survey", "Belt", "--coordinates", "near")]
)
def test_bad_use_is_one_line(
    run: Runner, source: Exported, tmp_path: Path, more: tuple[str, ...]
) -> None:
    """A survey that is not there, or a step that is none, is status 2 and one line."""
    found = run("export", "darwin-core", source.folder, tmp_path / "a.zip", *more)
    assert (found.status, found.out, len(found.err.splitlines())) == (2, "", 1)


def test_what_is_no_archive_is_refused(run: Runner, there: Path, tmp_path: Path) -> None:
    """A zip of something else is refused without a traceback."""
    target = tmp_path / "b.zip"
    with zipfile.ZipFile(target, "w") as made:
        made.writestr("letter.txt", "hello")
    found = run("survey", "import", there, "New", target)
    assert found.status == 2
    assert "expected a file meta.xml, found none" in found.err


@pytest.mark.parametrize(
    ("words", "option"),
    [
        (("--survey", "Belt", "--originals"), "--originals"),
        (("--estimates",), "--estimates"),
        (("--no-absences",), "--no-absences"),
        (("--photos", "--originals"), "--photos"),
    ],
)
def test_an_option_that_would_do_nothing_is_refused(
    run: Runner, source: Exported, tmp_path: Path, words: tuple[str, ...], option: str
) -> None:
    """Whoever asks for originals of a survey is told, and nothing is written."""
    found = run("export", "darwin-core", source.folder, tmp_path / "a.zip", *words)
    assert (found.status, found.out) == (2, "")
    assert f"expected no {option} beside" in found.err
    assert list(tmp_path.iterdir()) == []
