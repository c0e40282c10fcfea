"""``corallum report``: files whole or not there, and faults before any work is done."""

from __future__ import annotations

from pathlib import Path

import pytest

from corallum.actions.report_files import check_targets, write_report
from corallum.errors import InputError
from invented import NOW
from report.small_report import small_report
from runs import Runner
from surveyed import make_surveys


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A programme with surveys without second readings, closed."""
    path = tmp_path_factory.mktemp("told") / "p"
    make_surveys(path, readings=False).team.programme.close()
    return path


def test_a_survey_as_a_page_and_a_pdf(run: Runner, folder: Path, tmp_path: Path) -> None:
    """Both files are written from one run, and nothing else is left beside them."""
    page, pdf = tmp_path / "a.html", tmp_path / "A.PDF"
    found = run("report", folder, "--survey", "reef 2026", "--out", page, "--out", pdf)
    assert (found.status, found.err) == (0, "")
    assert found.out.splitlines()[0].startswith(f"{page}: Reef 2026, ")
    assert page.read_text("utf-8").startswith("<!doctype html>")
    assert pdf.read_bytes().startswith(b"%PDF")
    assert sorted(one.name for one in tmp_path.iterdir()) == ["A.PDF", "a.html"]


def test_facts_for_machines(run: Runner, folder: Path) -> None:
    """With --json no file is needed: figures, words, and the files that were written."""
    (found,) = run("report", folder, "--survey", "Reef 2027", "--json").objects
    assert found["facts"]["survey"]["name"] == "Reef 2027"
    assert found["facts"]["figures"] == []
    assert found["files"] == []
    assert found["sections"][0]["title"] == "Summary"


def test_an_observer_by_name(run: Runner, folder: Path, tmp_path: Path) -> None:
    """One who never practised has a report all the same."""
    found = run("report", folder, "--observer", "observer 1", "--out", tmp_path / "o.html")
    assert (found.status, found.err) == (0, "")
    assert "Nothing is known" in (tmp_path / "o.html").read_text("utf-8")


@pytest.mark.parametrize(
    ("options", "fault"),
    [
        pytest.param((), "expected one of --survey, --observer and --reference, found none",
                     id="nothing to report"),
        pytest.param(("--survey", "Reef 2026", "--reference"),
                     "found --survey and --reference", id="two at once"),
        pytest.param(("--survey", "Reef 2026"), "expected where to write it, found nowhere",
                     id="nowhere"),
        pytest.param(("--survey", "Nothing", "--json"), "found 'Nothing'", id="unknown survey"),
        pytest.param(("--observer", "Nobody", "--json"), "found 'Nobody'", id="unknown observer"),
        pytest.param(("--reference", "--region", "moon", "--json"), "unknown region 'moon'",
                     id="unknown region"),
        pytest.param(("--survey", "Reef 2026", "--against", "Belts 2026", "--json"),
                     "expected a survey in %", id="other unit"),
    ],
)  # fmt: skip
def test_bad_use_is_one_line(
    run: Runner, folder: Path, options: tuple[str, ...], fault: str
) -> None:
    """What can't be asked ends with status 2 and one line that says what and what to do."""
    found = run("report", folder, *options)
    assert (found.status, found.out) == (2, "")
    assert len(found.faults) == 1
    assert fault in found.err


def test_faults_of_files_come_before_the_work(run: Runner, tmp_path: Path) -> None:
    """Every file that won't do is named at once, though there is no programme to report."""
    there = tmp_path / "there.pdf"
    there.write_bytes(b"old")
    targets = (there, tmp_path / "x.txt", tmp_path / "no" / "x.pdf", tmp_path)
    outs = [part for one in targets for part in ("--out", str(one))]
    found = run("report", tmp_path, "--reference", *outs)
    assert (found.status, found.out) == (2, "")
    assert [line.partition(": ")[2] for line in found.faults] == [
        "expected a new file, found one that is there. Choose another name, or add --replace.",
        "expected an ending .pdf or .html, found '.txt'. Name the file so.",
        f"expected a file in a folder that is there, found no folder {tmp_path / 'no'}. "
        "Make it first.",
        "expected an ending .pdf or .html, found none. Name the file so.",
    ]
    assert there.read_bytes() == b"old"


def test_a_file_is_replaced_only_when_asked(tmp_path: Path) -> None:
    """Without --replace what is there stays; with it the new file is whole."""
    target = tmp_path / "r.html"
    target.write_text("old", encoding="utf-8")
    with pytest.raises(InputError, match="add --replace"):
        write_report(small_report(), [target], NOW)
    assert target.read_text("utf-8") == "old"
    write_report(small_report(), [target], NOW, replace=True)
    assert target.read_text("utf-8").startswith("<!doctype html>")
    assert [one.name for one in tmp_path.iterdir()] == ["r.html"]


def test_one_file_twice_is_refused(tmp_path: Path) -> None:
    """The same file can't be written twice in one run."""
    with pytest.raises(InputError, match="it twice"):
        check_targets([tmp_path / "a.pdf", tmp_path / "a.pdf"])


def test_a_name_that_no_disk_takes_is_a_fault(tmp_path: Path) -> None:
    """A name too long is refused with the disk's own reason."""
    with pytest.raises(InputError, match="expected a file"):
        write_report(small_report(), [tmp_path / f"{'x' * 300}.pdf"], NOW)
