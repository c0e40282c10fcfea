"""``corallum sheet`` writes PDFs of genera, transects and practice, and says what is on them."""

from __future__ import annotations

import json
from pathlib import Path

import pypdf
import pytest

from corallum.actions.slates import WriteSlate, write_slate
from invented import Team
from invented_surveys import laid_out
from runs import Runner

QUICK = ("--colonies", "30", "--random", "2")


def test_a_sheet_of_genera_is_written(run: Runner, tmp_path: Path) -> None:
    """The file has the pages asked for, and the object says what is carried and left out."""
    target = tmp_path / "genera.pdf"
    asked = ("--genera", target, "--region", "eastern_pacific", "--pages", "1", "--keep", "tissue")

    done = run("sheet", *asked, *QUICK, "--json")

    assert done.status == 0, done.err
    (found,) = done.objects
    assert found["bytes"] == target.stat().st_size
    assert found["pages"] == len(pypdf.PdfReader(target).pages) == 1
    assert "tissue" in found["carried"]["characters"]
    left = {one["character"] for one in found["left_out"]["characters"]}
    assert left.isdisjoint(found["carried"]["characters"])
    assert 0 < found["accuracy"]["value"] <= 1
    assert found["random"]["sheets"] == 2


def test_blank_sheets_need_no_programme(run: Runner, tmp_path: Path) -> None:
    """A blank sheet of a method is one page, with the columns said."""
    target = tmp_path / "blank.pdf"

    done = run("sheet", "--recording", target, "--method", "belt", "--paper", "letter", "--json")

    (found,) = done.objects
    assert (found["pages"], found["transects"], found["paper"]) == (1, 0, "letter")
    assert found["columns"] == ["what", "diameter cm", "from the tape cm", "note"]
    assert len(pypdf.PdfReader(target).pages) == 1


def test_sheets_of_a_survey_are_those_left_to_dive(run: Runner, team: Team, tmp_path: Path) -> None:
    """A page for each transect without a slate, in the order of the plan; --again prints all."""
    made = laid_out(team, "Spring", "belt", sites=2, transects=2)
    folder, target = str(team.programme.folder), tmp_path / "spring.pdf"
    first = made.view.transects[0]
    write_slate(team.programme, WriteSlate(first.id, "porites 20", depth_m=6.0), *team.by())

    left = run("sheet", folder, "--recording", target, "--survey", "spring")
    text = [page.extract_text() for page in pypdf.PdfReader(target).pages]
    all_ = run("sheet", folder, "--recording", target, "--survey", "Spring", "--again", "--json")

    assert (left.status, left.err) == (0, "")
    assert "3 pages of a4 for 3 transects" in left.out
    places = [(site, name) for site in ("Site 1", "Site 2") for name in ("T1", "T2")]
    places.remove((made.view.sites[first.site or ""].name, first.name))
    for page, (site, name) in zip(text, places, strict=True):
        assert f"Site: {site}" in page
        assert f"Transect: {name}" in page
    assert json.loads(all_.out)["transects"] == 4


def test_practice_is_written_with_or_without_answers(run: Runner, tmp_path: Path) -> None:
    """The same seed shows the same colonies; answers are a page more."""
    asked = ("sheet", "--region", "atlantic", "--items", "1", "--seed", "4")
    one, two = tmp_path / "one.pdf", tmp_path / "two.pdf"

    with_, without = (
        run(*asked, "--practice", one, "--json"),
        run(*asked, "--practice", two, "--no-answers", "--json"),
    )

    assert with_.objects[0]["items"] == without.objects[0]["items"]
    assert [len(pypdf.PdfReader(path).pages) for path in (one, two)] == [2, 1]


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (("--genera", "g.pdf", "--paper", "a3"), "--paper: expected one of a4, a5, letter"),
        (("--genera", "g.pdf", "--pages", "0"), "--pages: expected a whole number from 1 to 20"),
        (("--genera", "g.pdf", "--colonies", "1"), "--colonies: expected a whole number from 2"),
        (("--genera", "g.pdf", "--keep", "growth_fom"), "Did you mean growth_form?"),
        (("--genera", "g.pdf", "--keep", "Orbicella"), "a genus of the region's mix"),
        (("--genera", "no_such_folder/g.pdf"), "expected a file to write, found no folder for it"),
        (("--genera", "g.txt"), "expected an ending .pdf, found '.txt'"),
        (("--genera", "a.pdf", "--practice", "a.pdf"), "expected one sheet, found two"),
        (("--recording", "r.pdf"), "--method: expected one of line_intercept, point_intercept"),
        (("--recording", "r.pdf", "--survey", "Spring"), "expected a programme that planned it"),
        (("--practice", "p.pdf", "--items", "0"), "--items: expected a whole number from 1 to 60"),
    ],
)
def test_bad_options_say_what_was_expected(
    run: Runner, asked: tuple[str, ...], said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Status 2 and one line; nothing is written."""
    monkeypatch.chdir(tmp_path)

    done = run("sheet", "--region", "red_sea", *asked)

    assert done.status == 2
    (fault,) = done.faults
    assert said in fault
    assert not list(tmp_path.iterdir())


def test_a_region_must_be_known(run: Runner, tmp_path: Path) -> None:
    """Without a programme a sheet needs a region."""
    done = run("sheet", "--genera", tmp_path / "g.pdf")
    assert (done.status, done.out) == (2, "")
    assert done.err.startswith("--region: expected a region, such as red_sea, found none.")


def test_only_an_older_sheet_is_written_over(run: Runner, tmp_path: Path) -> None:
    """A file that is no PDF stays byte by byte, whatever its name; a sheet is made anew."""
    target = tmp_path / "notes.pdf"
    target.write_bytes(b"my notes")
    asked = ("sheet", "--recording", target, "--method", "belt")

    refused = run(*asked)

    assert refused.status == 2
    assert "expected a PDF or no file" in refused.err
    assert target.read_bytes() == b"my notes"
    target.write_bytes(b"%PDF-1.7 an older sheet")
    assert run(*asked).status == 0
    assert len(pypdf.PdfReader(target).pages) == 1
