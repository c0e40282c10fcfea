"""Surveys from the command line: plan, bring in, check, estimate and compare."""

from __future__ import annotations

import csv
import io
import json
import shutil
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest

from corallum.actions.people import list_people
from corallum.actions.programmes import open_programme
from corallum.actions.survey_flags import AnswerFlag, answer_flag, flags_of_survey
from corallum.actions.survey_plans import find_survey
from invented import NOW, Team
from invented_surveys import add_sites, laid_out, make_survey
from runs import Runner

STRATA = "stratum,area,site\nflat,3,Site 1\nflat,3,Site 2\nslope,1,Site 3\n"
HEAD = "site,transect,date,observer,name,from,to"
ROWS = (
    "Site 1,T1,2026-03-01,Observer 1,Porites,0,400",
    "Site 1,T1,2026-03-01,Observer 1,sand,400,1000",
    "Site 2,T1,2026-03-01,Observer 2,Favites,0,1000",
)
COLUMNS = ("--column", "from_cm=from", "--column", "to_cm=to", "--column", "name=name")
QUICK = ("--no-errors", "--draws", "100")


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A closed programme with two surveys of the same transects, read again, and one of none."""
    team = Team(tmp_path_factory.mktemp("reserve") / "programme")
    spring = make_survey(team, "Spring")
    spring.read_again(0.2)
    autumn = make_survey(team, "Autumn", seed=4, follows=spring.id, same_transects=True)
    autumn.read_again(0.2)
    make_survey(team, "Unread", "belt")
    odd = laid_out(team, "Odd", sites=1, areas=(1.0,))
    for transect in odd.view.transects:
        odd.write(transect.id, [], "300 porites\n200-600 acropora\n1000 sand")
    laid_out(team, "Empty")
    team.programme.close()
    return team.programme.folder


@pytest.fixture
def folder(made: Path, tmp_path: Path) -> Path:
    """A copy of it that may be written to."""
    return Path(shutil.copytree(made, tmp_path / "programme"))


@pytest.fixture
def bare(tmp_path: Path) -> Path:
    """A programme with three sites and no survey."""
    team = Team(tmp_path / "bare")
    add_sites(team, 3)
    team.programme.close()
    return team.programme.folder


def file(tmp_path: Path, text: str, name: str = "t.csv") -> Path:
    """A file with a text."""
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return path


def slates(rows: Sequence[str] = ROWS) -> str:
    """A table of slates."""
    return "\n".join([HEAD, *rows])


def test_a_survey_is_planned_from_a_table(run: Runner, bare: Path, tmp_path: Path) -> None:
    """Its strata, sites and transects come out as they were asked for."""
    strata = file(tmp_path, STRATA)
    done = run("survey", "plan", bare, "Winter", "--sites", strata, "--tape-cm", 1000, "--json",
               "--transects", 2, "--observer", "observer 1", "--date", "2026-03-01")  # fmt: skip
    assert (done.status, done.err) == (0, "")
    (found,) = done.objects
    assert found.keys() == {"id", "name", "method", "strata", "effort", "transects"}
    assert found["strata"] == [
        {"name": "flat", "area": 3.0, "sites": ["Site 1", "Site 2"]},
        {"name": "slope", "area": 1.0, "sites": ["Site 3"]},
    ]
    assert (found["method"], found["effort"]) == ("line_intercept", {"length_cm": 1000.0})
    assert len(found["transects"]) == 6


def test_a_plan_for_people(run: Runner, bare: Path, tmp_path: Path) -> None:
    """It says how many transects, and that the dive supervisor decides."""
    strata = file(tmp_path, STRATA)
    done = run("survey", "plan", bare, "Winter", "--sites", strata, "--tape-cm", 1000)
    assert (done.status, done.err) == (0, "")
    assert done.out.startswith("Winter: line intercept, 12 transects laid out.")
    assert "dive supervisor decides" in done.out


def test_strata_from_standard_input(run: Runner, bare: Path) -> None:
    """A dash reads the table from there."""
    done = run("survey", "plan", bare, "W", "--sites", "-", "--tape-cm", 1000, "--json",
               stdin=STRATA.encode())  # fmt: skip
    assert (done.status, len(done.objects[0]["transects"])) == (0, 12)


@pytest.mark.parametrize(
    ("text", "options", "wanted"),
    [("stratum,area,site\nflat,3,Nowhere\n", ["--tape-cm", "9"],
      "column site: expected one of Site 1, Site 2, Site 3, found 'Nowhere'"),
     ("stratum,area,site\nflat,x,Site 1\n", ["--tape-cm", "9"], "row 2, column area"),
     (STRATA, [], "plan, length cm: expected a number above 0, found none"),
     (STRATA, ["--method", "belt", "--tape-cm", "9"], "plan, width cm"),
     (STRATA, ["--tape-cm", "9", "--observer", "Nobody"], "person: expected one of Lead"),
     (STRATA, ["--tape-cm", "9", "--follows", "X"], "survey: expected one of none yet: plan one"),
     (STRATA, ["--tape-cm", "9", "--date", "1.3.26"], "--date: expected a date such as 2026-03-14"),
     (STRATA, ["--tape-cm", "9", "--as", "Reader"], "a reader may not plan surveys"),
     (STRATA, ["--tape-cm", "9", "--method", "guess"], "guess"),
     (STRATA, ["--tape-cm", "9", "--read-again", "2"], "read-again")],
)  # fmt: skip
def test_plans_that_can_not_be(
    run: Runner, bare: Path, tmp_path: Path, text: str, options: list[str], wanted: str
) -> None:
    """One line, status 2, and no survey."""
    done = run("survey", "plan", bare, "W", "--sites", file(tmp_path, text), *options)
    assert (done.status, done.out, len(done.faults)) == (2, "", 1)
    assert wanted in done.err
    assert json.loads(run("survey", "plan", bare, "--json").out) == []


def test_a_plan_needs_its_sites(run: Runner, bare: Path) -> None:
    """Without a table of strata it is said which is asked for."""
    done = run("survey", "plan", bare, "W", "--tape-cm", 9)
    assert (done.status, len(done.faults)) == (2, 1)
    assert "Give --sites FILE with the columns stratum, area and site" in done.err


def test_surveys_are_listed(run: Runner, made: Path, bare: Path) -> None:
    """Each with its method and how many transects have slates; none is said to be none."""
    (found,) = run("survey", "plan", made, "--json").objects
    told = {one["name"]: (one["method"], one["transects"], one["with_slates"]) for one in found}
    assert told == {
        "Spring": ("line_intercept", 8, 8), "Autumn": ("line_intercept", 8, 8),
        "Unread": ("belt", 8, 8), "Odd": ("line_intercept", 2, 2),
        "Empty": ("line_intercept", 8, 0),
    }  # fmt: skip
    people = run("survey", "plan", made)
    assert (people.status, "Spring" in people.out) == (0, True)
    assert run("survey", "plan", bare).out.startswith("No survey is planned yet.")


def test_looking_writes_nothing(run: Runner, folder: Path, tmp_path: Path) -> None:
    """What a table holds is told, and is not there afterwards."""
    table = file(tmp_path, slates())
    (found,) = run("survey", "import", folder, "Empty", table, *COLUMNS, "--look", "--json").objects
    assert (found["written"], found["slates"], found["lines"]) == (False, 2, 3)
    assert found["names"]["Porites"] == {"means": "Porites", "times": 1}
    assert found["columns"]["roles"]["to_cm"] == "to"
    people = run("survey", "import", folder, "Empty", table, *COLUMNS, "--look")
    assert people.out.startswith("2 slates, 3 lines: looked at, nothing written.")
    (listed,) = run("survey", "plan", folder, "--json").objects
    assert next(one for one in listed if one["name"] == "Empty")["with_slates"] == 0


def test_a_table_is_brought_in_once(run: Runner, folder: Path, tmp_path: Path) -> None:
    """Written, its slates are there; again, each is told and status is 2."""
    table = file(tmp_path, slates())
    done = run("survey", "import", folder, "empty", table, *COLUMNS, "--keep-as", "boat")
    assert (done.status, done.err) == (0, "")
    assert done.out.startswith("2 slates, 3 lines: written.")
    again = run("survey", "import", folder, "Empty", table, "--columns", "boat")
    assert (again.status, again.out, len(again.faults)) == (2, "", 2)
    assert all(line.startswith(f"{table}, row ") for line in again.faults)


def test_faults_of_a_table_are_lines(run: Runner, folder: Path, tmp_path: Path) -> None:
    """Every faulty row is one line on standard error, and nothing is written."""
    rows = [*ROWS, "Nowhere,T1,2026-03-01,Observer 1,Porites,0,1",
            "Site 3,T1,2026-03-01,Observer 1,Zzz,0,1",
            "Site 3,T2,2126-03-01,Observer 1,Porites,0,x"]  # fmt: skip
    table = file(tmp_path, slates(rows))
    done = run("survey", "import", folder, "Empty", table, *COLUMNS)
    assert (done.status, done.out) == (2, "")
    assert len(done.faults) >= 3
    assert all(f"row {n}" in done.err for n in (5, 6, 7))
    assert "Traceback" not in done.err
    (listed,) = run("survey", "plan", folder, "--json").objects
    assert next(one for one in listed if one["name"] == "Empty")["with_slates"] == 0


@pytest.mark.parametrize(
    ("options", "wanted"),
    [(["--column", "name"], "--column: expected NAME=VALUE, found 'name'"),
     (["--unit", "speed=fast"], "expected one of length_unit"),
     (["--columns", "nobody"], "columns: expected one of none yet, found 'nobody'"),
     (["--meaning", "=x"], "--meaning: expected NAME=VALUE"),
     (["--column", "name=Nothing"], "Nothing")],
)  # fmt: skip
def test_columns_that_can_not_be(
    run: Runner, made: Path, tmp_path: Path, options: list[str], wanted: str
) -> None:
    """A role, unit or kept name that is not known is told, with status 2."""
    done = run("survey", "import", made, "Empty", file(tmp_path, slates()), "--look", *options)
    assert (done.status, done.out) == (2, "")
    assert done.faults
    assert wanted in done.err


def test_a_table_that_is_not_there(run: Runner, made: Path, tmp_path: Path) -> None:
    """It is one line, as is a file that is no text."""
    missing = run("survey", "import", made, "Empty", tmp_path / "none.csv")
    assert (missing.status, len(missing.faults)) == (2, 1)
    (tmp_path / "b.csv").write_bytes(b"\xff\xfe\x00\x80")
    bad = run("survey", "import", made, "Empty", tmp_path / "b.csv")
    assert (bad.status, len(bad.faults)) == (2, 1)


def test_only_a_lead_brings_in(run: Runner, folder: Path, tmp_path: Path) -> None:
    """An observer who is named is refused."""
    table = file(tmp_path, slates())
    done = run("survey", "import", folder, "Empty", table, *COLUMNS, "--as", "Observer 1")
    assert (done.status, len(done.faults)) == (2, 1)
    assert "an observer may not import slates" in done.err


def test_check_lists_what_waits(run: Runner, folder: Path) -> None:
    """Flags that wait are a no; each says where, what, and what to do."""
    done = run("survey", "check", folder, "Odd", "--json")
    assert (done.status, done.err) == (1, "")
    (found,) = done.objects
    assert found[0].keys() == {
        "slate", "line", "rule", "site", "transect", "expected", "found", "remedy", "decision",
        "decided_by",
    }  # fmt: skip
    overlaps = [one for one in found if one["rule"] == "tape_overlaps"]
    assert [(one["site"], one["line"], one["decision"]) for one in overlaps] == [
        ("Site 1", 2, None), ("Site 1", 2, None),
    ]  # fmt: skip
    people = run("survey", "check", folder, "Odd")
    assert (people.status, "intercepts overlap" in people.out) == (1, True)


def test_check_is_done_when_all_is_decided(run: Runner, folder: Path) -> None:
    """Decided by the lead, no flag waits: status 0."""
    programme = open_programme(folder)
    lead = next(one.id for one in list_people(programme) if one.name == "Lead")
    for one in flags_of_survey(programme, find_survey(programme, "Odd")):
        command = AnswerFlag(one.flag.slate, one.flag.line, one.flag.rule, "stands")
        answer_flag(programme, command, NOW, np.random.default_rng(1), lead)
    programme.close()
    done = run("survey", "check", folder, "Odd")
    assert (done.status, done.err) == (0, "")
    assert "0 flags wait" in done.out
    (found,) = run("survey", "check", folder, "Odd", "--json").objects
    assert {(one["decision"], one["decided_by"]) for one in found} == {("stands", "Lead")}


def test_an_estimate_for_machines(run: Runner, made: Path) -> None:
    """One object holds every figure as said and corrected, with why and what to know."""
    done = run("survey", "estimate", made, "Spring", *QUICK, "--json")
    assert (done.status, done.err) == (0, "")
    (found,) = done.objects
    assert found.keys() == {"unit", "by", "level", "rows", "no_correction", "notes"}
    assert (found["unit"], found["by"], found["level"]) == ("%", "genus", 0.95)
    first = found["rows"][0]
    assert (first["group"], first["level"]) == ("all stony coral", "survey")
    assert first["said"].keys() == {"value", "low", "high", "se"}
    assert first["by_readings"]["value"] == pytest.approx(first["said"]["value"])
    assert first["by_errors"] is None
    assert found["no_correction"] == {"errors": "Not asked for."}


def test_an_estimate_for_people(run: Runner, made: Path) -> None:
    """Said and corrected stand in one table; the seed alone decides what is drawn."""
    done = run("survey", "estimate", made, "spring", *QUICK, "--by", "family")
    assert (done.status, done.err) == (0, "")
    assert "Merulinidae" in done.out
    assert "by second" in done.out
    assert done.out == run("survey", "estimate", made, "Spring", *QUICK, "--by", "family").out
    sites = run("survey", "estimate", made, "Spring", *QUICK, "--level", "site")
    assert "Site 4" in sites.out


def test_an_estimate_without_a_correction_is_a_no(run: Runner, made: Path) -> None:
    """Figures as said come with status 1 and the reason; by form none is expected."""
    done = run("survey", "estimate", made, "Unread", *QUICK)
    assert (done.status, done.err) == (1, "")
    assert "No correction by second readings." in " ".join(done.out.split())
    assert run("survey", "estimate", made, "Unread", *QUICK, "--by", "form").status == 0


def test_an_estimate_as_a_table(run: Runner, made: Path, tmp_path: Path) -> None:
    """--out writes a new file, and never over one that is there."""
    out = tmp_path / "spring.csv"
    done = run("survey", "estimate", made, "Spring", *QUICK, "--out", out)
    assert done.status == 0
    rows = list(csv.DictReader(io.StringIO(out.read_text(encoding="utf-8"))))
    (found,) = run("survey", "estimate", made, "Spring", *QUICK, "--json").objects
    assert [row["group"] for row in rows] == [row["group"] for row in found["rows"]]
    assert float(rows[0]["said"]) == pytest.approx(found["rows"][0]["said"]["value"])
    before = out.read_bytes()
    again = run("survey", "estimate", made, "Spring", *QUICK, "--out", out)
    assert (again.status, len(again.faults)) == (2, 1)
    assert out.read_bytes() == before


def test_an_estimate_by_errors(run: Runner, made: Path) -> None:
    """By default observers' errors are used too, and who never practised is told."""
    (found,) = run("survey", "estimate", made, "Spring", "--draws", "100", "--json").objects
    assert any("Nothing is known of the errors of Observer 1" in note for note in found["notes"])
    assert found["rows"][0]["by_errors"] is not None or found["no_correction"]["errors"]


def test_a_change_for_machines(run: Runner, made: Path, tmp_path: Path) -> None:
    """One object says whether transects are pairs, and each change as said and corrected."""
    out = tmp_path / "change.csv"
    done = run("survey", "change", made, "Spring", "Autumn", *QUICK, "--json", "--out", out)
    assert (done.status, done.err) == (0, "")
    (found,) = done.objects
    assert found.keys() == {
        "unit", "paired", "fall", "rows", "impact_less_control", "no_correction", "notes",
    }  # fmt: skip
    assert (found["paired"], found["fall"], found["impact_less_control"]) == (True, 0.2, {})
    first = found["rows"][0]
    assert first["chance_of_decline"].keys() == {"said", "by_readings", "by_errors"}
    wanted = first["after"]["value"] - first["before"]["value"]
    assert first["by_readings"]["value"] == pytest.approx(wanted)
    rows = list(csv.DictReader(io.StringIO(out.read_text(encoding="utf-8"))))
    assert float(rows[0]["said_change"]) == pytest.approx(first["said"]["value"])
    again = run("survey", "change", made, "Spring", "Autumn", *QUICK, "--out", out)
    assert (again.status, len(again.faults)) == (2, 1)


def test_a_change_for_people(run: Runner, made: Path) -> None:
    """It says that transects are the same, and gives impact less control where asked for."""
    done = run("survey", "change", made, "Spring", "Autumn", *QUICK, "--impact", "Site 1",
               "--impact", "site 2")  # fmt: skip
    assert (done.status, done.err) == (0, "")
    assert done.out.startswith("Change in percent points, the same transects in both.")
    assert "impact sites less controls" in done.out


@pytest.mark.parametrize(
    ("command", "wanted"),
    [(("estimate", "Nobody"), "survey: expected one of"),
     (("estimate", "Empty"), "Write or import slates first"),
     (("estimate", "Spring", "--draws", "5"), "draws"),
     (("estimate", "Spring", "--by", "colour"), "colour"),
     (("estimate", ""), "survey: expected one of"), (("check", "Nobody"), "survey: expected"),
     (("change", "Spring", "Unread"), "expected a survey in %, found colonies per m2"),
     (("change", "Spring", "Autumn", "--by", "form"), "--by: expected genus or family"),
     (("change", "Spring", "Autumn", "--impact", "Nowhere"), "site: expected one of"),
     (("change", "Spring", "Autumn", "--fall", "1.5"), "fall"),
     (("import", "Nobody", "-"), "survey: expected one of"),
     (("plan", "--pilot", "Nobody"), "survey: expected one of"),
     (("plan", "--pilot", "Spring", "--group", "Zzz"), "plan, group: expected one of"),
     (("plan", "--pilot", "Spring", "--half-width", "-1"), "expected a number above 0")],
    ids=str,
)  # fmt: skip
def test_each_fault_is_one_line(
    run: Runner, made: Path, command: tuple[str, ...], wanted: str
) -> None:
    """Names, options and questions that can't be end with one line and status 2."""
    done = run("survey", command[0], made, *command[1:], *(QUICK if command[0] == "change" else ()),
               stdin=b"site\n")  # fmt: skip
    assert (done.status, done.out) == (2, "")
    assert len(done.faults) == 1
    assert wanted in done.err


@pytest.mark.parametrize("command", ["plan", "import", "check", "estimate", "change"])
def test_a_folder_that_is_no_programme(run: Runner, tmp_path: Path, command: str) -> None:
    """One line that says what to do, and status 2."""
    names = {"plan": [], "import": ["x", "-"], "change": ["x", "y"]}.get(command, ["x"])
    done = run("survey", command, tmp_path, *names)
    assert (done.status, len(done.faults), done.out) == (2, 1, "")
    assert "expected a programme with programme.toml, found none" in done.err


def test_how_large_the_next_should_be(run: Runner, made: Path) -> None:
    """From a pilot: transects needed, or why none will do (status 1)."""
    done = run("survey", "plan", made, "--pilot", "Spring", "--half-width", "3", "--json")
    assert (done.status, done.err) == (0, "")
    (found,) = done.objects
    assert found.keys() == {
        "unit", "pilot_value", "transects", "why_not", "half_width", "detectable_change",
        "variance", "notes", "lines",
    }  # fmt: skip
    assert found["transects"] > 0
    people = run("survey", "plan", made, "--pilot", "Spring", "--half-width", "3")
    assert "transects reach what you ask for." in people.out
    none = run("survey", "plan", made, "--pilot", "Spring", "--group", "Favites", "--half-width",
               "0.001", "--second-readings", "1")  # fmt: skip
    assert (none.status, none.err) == (1, "")
    assert none.out.startswith("No number of transects will do.")
