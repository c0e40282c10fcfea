"""A table of slates comes in whole or not at all, with every fault by its row."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

import pytest

from corallum.actions.places import AddSite, add_site
from corallum.actions.survey_flags import flags_of_survey
from corallum.actions.survey_import import (
    ImportFound,
    ImportSlates,
    guess_for,
    import_slates,
    list_columns,
    preview_import,
)
from corallum.actions.survey_plans import get_survey
from corallum.actions.survey_tables import survey_data
from corallum.errors import ConflictError, InputError, NotAllowedError
from corallum.exchange.survey_tables import Columns
from corallum.records.survey import Method, Slate
from corallum.store.verify import verify_folder
from invented import Team
from invented_surveys import EFFORTS, Made, laid_out

HEAD = "site,transect,date,observer,name,from,to"
ROLES = {"site": "site", "transect": "transect", "date": "date", "observer": "observer",
         "name": "name", "from_cm": "from", "to_cm": "to"}  # fmt: skip
COLUMNS = Columns(Method.LINE, ROLES)
SOUND = (
    "Site 1,T1,2026-03-01,Observer 1,Porites,0,400",
    "Site 1,T1,2026-03-01,Observer 1,sand,400,1000",
    "Site 2,T1,2026-03-01,Observer 2,Favites,0,1000",
)


@pytest.fixture(scope="module")
def team(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Team]:
    """One programme for all tests here; each plans surveys of its own."""
    found = Team(tmp_path_factory.mktemp("reserve") / "programme")
    yield found
    found.programme.close()


@pytest.fixture
def made(team: Team) -> Made:
    """A survey of four sites and no slate."""
    return laid_out(team)


def command(made: Made, rows: Sequence[str], **about: Any) -> ImportSlates:  # noqa: ANN401
    """A table to bring in."""
    head = about.pop("head", HEAD)
    given: dict[str, Any] = {"columns": COLUMNS} | about
    return ImportSlates(made.id, "\n".join([head, *rows]), "slates.csv", **given)


def bring(made: Made, rows: Sequence[str], **about: Any) -> tuple[Slate, ...]:  # noqa: ANN401
    """Bring a table in as the lead."""
    team = made.team
    return import_slates(team.programme, command(made, rows, **about), *team.by(team.lead))


def look(made: Made, rows: Sequence[str], **about: Any) -> ImportFound:  # noqa: ANN401
    """Look at a table."""
    return preview_import(made.team.programme, command(made, rows, **about))


def refused(made: Made, rows: Sequence[str], **about: Any) -> list[str]:  # noqa: ANN401
    """Faults of a table, of which nothing is written: neither slates nor transects."""
    before = get_survey(made.team.programme, made.id)
    with pytest.raises(InputError) as caught:
        bring(made, rows, **about)
    after = get_survey(made.team.programme, made.id)
    assert (after.slates, after.transects) == (before.slates, before.transects)
    return [str(fault) for fault in caught.value.faults]


def test_what_is_looked_at_is_what_is_written(made: Made) -> None:
    """Looking writes nothing; then the same slates and lines are there, with their file."""
    found = look(made, SOUND)
    assert made.slates == ()
    assert (len(found.slates), found.new_transects) == (2, 0)
    assert found.names == {
        "Porites": ("Porites", 1),
        "sand": ("sand", 1),
        "Favites": ("Favites", 1),
    }
    written = bring(made, SOUND)
    assert tuple(sorted(written, key=lambda one: one.history)) == made.slates
    assert [len(one.lines) for one in written] == [2, 1]
    assert [one.observer for one in written] == [made.team.observer, made.team.second]
    assert all(one.source.startswith("slates.csv (sha256 ") for one in written)
    assert all(one.person == made.team.lead for one in written)
    assert verify_folder(made.team.programme.folder, lambda _: None).faults == []


def test_one_fault_and_nothing_is_written(made: Made) -> None:
    """Every faulty row is told, and the sound ones are not brought in either."""
    rows = [*SOUND, "Site 9,T1,2026-03-01,Observer 1,Porites,0,4",
            "Site 3,T1,2026-03-01,Nobody,Porites,0,4", "Site 3,T1,2026-03-01,Observer 1,Zzz,0,4",
            "Site 3,T1,1.3.26,Observer 1,Porites,0,4",
            "Site 3,T1,2026-03-01,Observer 1,Porites,0,4 m",
            "Site 3,T1,2026-03-01,Observer 1"]  # fmt: skip
    found = refused(made, rows)
    for number in (5, 6, 7, 8, 9, 10):
        assert any(f"row {number}" in line for line in found), number
    assert not any(f"row {number}," in line for line in found for number in (2, 3, 4))


def test_new_transects_are_added_to_the_plan(made: Made) -> None:
    """A transect that was not planned belongs to its site's visit once it is brought in."""
    rows = ["Site 1,Extra,2026-03-01,Observer 1,Porites,0,1000"]
    assert look(made, rows).new_transects == 1
    (slate,) = bring(made, rows)
    view = get_survey(made.team.programme, made.id)
    (new,) = (one for one in view.transects if one.id == slate.transect)
    assert (new.name, view.sites[new.site or ""].name) == ("Extra", "Site 1")
    assert len(view.transects) == len(made.view.transects) + 1


def test_a_table_comes_in_once(made: Made) -> None:
    """Brought in again, each slate that is there is told by its row, and none is doubled."""
    bring(made, SOUND)
    found = refused(made, SOUND)
    assert [line.split(": ")[0] for line in found] == ["slates.csv, row 2", "slates.csv, row 4"]
    assert all("expected a transect without a slate" in line for line in found)


def test_two_days_of_one_transect_are_told_by_row(made: Made) -> None:
    """An observer who read a transect on two days has two slates of it: told, with the row."""
    rows = ["Site 1,T1,2026-03-01,Observer 1,Porites,0,1000",
            "Site 1,T1,2026-03-02,Observer 1,Porites,0,1000"]  # fmt: skip
    found = refused(made, rows)
    assert len(found) == 1
    assert found[0].startswith("slates.csv, row 3")


def test_two_visits_of_one_transect_are_told_by_row(made: Made) -> None:
    """Two visits in one table can't be slates of one transect of a survey."""
    columns = replace(COLUMNS, roles={**ROLES, "visit": "visit"})
    rows = ["Site 1,T1,2026-03-01,Observer 1,Porites,0,1000,a",
            "Site 1,T1,2026-03-02,Observer 1,Porites,0,1000,b"]  # fmt: skip
    found = refused(made, rows, columns=columns, head=f"{HEAD},visit")
    assert len(found) == 1
    assert found[0].startswith("slates.csv, row 3")


def test_a_day_to_come_is_told_by_row(made: Made) -> None:
    """A dive of the next century is a slip: its slate is told by its row."""
    rows = [*SOUND, "Site 3,T1,2126-03-01,Observer 1,Porites,0,1000"]
    found = refused(made, rows)
    assert len(found) == 1
    assert found[0].startswith("slates.csv, row 5")
    assert "Check the year" in found[0]


def test_impossible_depths_are_told_by_row(made: Made) -> None:
    """A depth of 5 km is a slip: every slate with one is told by its row."""
    columns = replace(COLUMNS, roles={**ROLES, "depth": "depth"})
    rows = [f"{row},5000" for row in SOUND]
    found = refused(made, rows, columns=columns, head=f"{HEAD},depth")
    assert [line.split(", depth")[0] for line in found] == [
        "slates.csv, row 2",
        "slates.csv, row 4",
    ]


def test_feet_inches_metres_and_spreadsheet_days(made: Made) -> None:
    """30 ft are 9.144 m, 4 m are 400 cm, and serial day 45292 is 1 January 2024."""
    columns = Columns(
        Method.LINE, {**ROLES, "depth": "depth"}, length_unit="m", depth_unit="ft", dates="excel"
    )
    rows = ["Site 1,T1,45292,Observer 1,Porites,0,4,30", "Site 1,T1,45292,Observer 1,sand,4,10,30"]
    (slate,) = bring(made, rows, columns=columns, head=f"{HEAD},depth")
    assert slate.depth_m == pytest.approx(9.144)
    assert [(one.from_cm, one.to_cm) for one in slate.lines] == [(0.0, 400.0), (400.0, 1000.0)]
    assert slate.date.isoformat() == "2024-01-01"


def test_units_in_the_cells_are_refused(made: Made) -> None:
    """Mixed units, feet in the cell and serial days among dates are told, each by its row."""
    rows = ["Site 1,T1,2026-03-01,Observer 1,Porites,0,4 m,5",
            "Site 2,T1,2026-03-01,Observer 1,Porites,0,400,15 ft",
            "Site 3,T1,45292,Observer 1,Porites,0,400,5"]  # fmt: skip
    columns = replace(COLUMNS, roles={**ROLES, "depth": "depth"})
    found = refused(made, rows, columns=columns, head=f"{HEAD},depth")
    assert [line.split(":")[0] for line in found] == [
        "slates.csv, row 2, to", "slates.csv, row 3, depth", "slates.csv, row 4, date",
    ]  # fmt: skip


def test_odd_tapes_come_in_and_are_flagged(made: Made) -> None:
    """A tape backwards and intercepts that overlap are read as they stand, then flagged."""
    bring(made, ["Site 1,T1,2026-03-01,Observer 1,Porites,400,0",
                 "Site 2,T1,2026-03-01,Observer 1,Porites,0,600",
                 "Site 2,T1,2026-03-01,Observer 1,sand,500,1000"])  # fmt: skip
    rules = {one.flag.rule for one in flags_of_survey(made.team.programme, made.id)}
    assert rules >= {"tape_backwards", "tape_overlaps"}


def test_a_tape_of_no_length_is_refused(made: Made) -> None:
    """A tape of 0 cm would make any cover: it is told by its row."""
    columns = replace(COLUMNS, roles={**ROLES, "tape_cm": "tape"})
    rows = [f"{row},0" for row in SOUND]
    found = refused(made, rows, columns=columns, head=f"{HEAD},tape")
    assert all("slates.csv, row " in line for line in found)


def test_an_event_for_two_transects_is_refused(made: Made) -> None:
    """One event id on two transects is told once, with both."""
    columns = replace(COLUMNS, roles={**ROLES, "event": "event"})
    rows = [f"{row},e1" for row in SOUND]
    found = refused(made, rows, columns=columns, head=f"{HEAD},event")
    assert len(found) == 1
    assert "Give each transect an event of its own" in found[0]


def test_a_table_of_another_method_is_refused(made: Made) -> None:
    """Columns of a belt don't fit a survey of lines."""
    columns = replace(COLUMNS, method=Method.BELT)
    found = refused(made, SOUND, columns=columns)
    assert found == ["slates.csv: expected a table of line intercept, found belt. Choose the "
                     "survey that it belongs to, or other columns."]  # fmt: skip


@pytest.mark.parametrize("text", ["", "\n\n", HEAD, f"{HEAD}\n", "\x00", "a;b;c\n1;2;3"])
def test_a_table_of_nothing_is_refused(made: Made, text: str) -> None:
    """An empty text, a header alone, and what is no such table are refused."""
    given = ImportSlates(made.id, text, "slates.csv", COLUMNS)
    with pytest.raises(InputError):
        preview_import(made.team.programme, given)


def test_words_can_be_given_a_meaning(made: Made) -> None:
    """An unknown word comes in as what it was said to mean, and its own spelling is kept."""
    columns = replace(COLUMNS, meanings={"brownie": "Favites"})
    rows = ["Site 1,T1,2026-03-01,Observer 1,Brownie,0,1000"]
    assert look(made, rows, columns=columns).names == {"Brownie": ("Favites", 1)}
    (slate,) = bring(made, rows, columns=columns)
    assert (slate.lines[0].said, slate.lines[0].label) == ("Brownie", "Favites")


def test_columns_are_kept_by_name(made: Made) -> None:
    """What was kept comes back for the next table; a name is kept once."""
    name = f"boat {made.view.event.name}"
    columns = replace(COLUMNS, meanings={"brownie": "Favites"})
    bring(made, SOUND, columns=columns, keep_as=name)
    (kept,) = (one for one in list_columns(made.team.programme) if one.name == name)
    assert kept.columns == columns
    rows = ["Site 4,T1,2026-03-01,Observer 1,Porites,0,1000"]
    with pytest.raises(ConflictError, match="Choose another name"):
        bring(made, rows, keep_as=name.upper())
    assert len(made.slates) == 2


def test_only_a_lead_brings_tables_in(made: Made) -> None:
    """Observers and readers may not; nothing is written."""
    team = made.team
    for person in (team.observer, team.reader):
        with pytest.raises(NotAllowedError, match="import slates"):
            import_slates(team.programme, command(made, SOUND), *team.by(person))
    assert made.slates == ()


def test_names_that_attack_are_text(made: Made) -> None:
    """Transects named as code or as a formula are only names."""
    evil = "'; DROP TABLE event; --<script>"
    rows = [f'Site 1,"{evil}",2026-03-01,Observer 1,Porites,0,1000',
            "Site 1,=1+1,2026-03-01,Observer 1,Porites,0,1000"]  # fmt: skip
    bring(made, rows)
    names = {one.name for one in get_survey(made.team.programme, made.id).transects}
    assert {evil, "=1+1"} <= names


@pytest.mark.parametrize("method", EFFORTS)
def test_a_header_of_our_own_words_is_guessed(method: str) -> None:
    """Columns named as their roles are taken for these."""
    found = guess_for("site,transect,date,observer,name,depth\n", Method(method))
    assert found.method is Method(method)
    asked = ("site", "transect", "date", "observer", "name", "depth")
    assert {role: found.roles.get(role) for role in asked} == {role: role for role in asked}


def test_an_imported_survey_is_estimated_by_hand(team: Team) -> None:
    """Two transects a stratum: cover is the mean of each stratum by its area."""
    made = laid_out(team, sites=2, transects=2)
    rows = [
        f"Site {1 + i // 2},T{1 + i % 2},2026-03-01,Observer 1,{name},{start},{end}"
        for i, coral in enumerate((100, 300, 600, 800))
        for name, start, end in (("Porites", 0, coral), ("sand", coral, 1000))
    ]
    bring(made, rows)
    table = survey_data(team.programme, made.id).table
    cover = table.met[:, table.labels.index("Porites")] / table.searched
    means = [cover[table.stratum == h].mean() for h in (0, 1)]
    assert means == pytest.approx([0.2, 0.7])
    assert table.weight.tolist() == [3.0, 1.0]


def test_sites_of_another_survey_are_not_this_ones(team: Team) -> None:
    """A site that the programme has and the plan has not is refused."""
    add_site(team.programme, AddSite("Far", "red_sea"), *team.by())
    made = laid_out(team)
    found = refused(made, ["Far,T1,2026-03-01,Observer 1,Porites,0,1000"])
    assert "row 2, site" in found[0]
