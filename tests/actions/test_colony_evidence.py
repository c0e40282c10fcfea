"""The record of a colony: evidence in any order, taken back, undone, and kept."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from corallum.actions.colonies import (
    AddEvidence,
    AddNote,
    NameColony,
    PlaceColony,
    RemoveEvidence,
    StartColony,
    Undo,
    add_evidence,
    add_note,
    name_colony,
    place_colony,
    remove_evidence,
    start_colony,
    undo,
)
from corallum.actions.colony_lists import ColonyFilter, get_colony, history_of, list_colonies
from corallum.actions.places import AddEvent, AddSite, add_event, add_site
from corallum.actions.programmes import open_programme
from corallum.errors import ConflictError, CorallumError, InputError, NotAllowedError, NotFoundError
from corallum.records.colony import SizeReport, StateReport
from corallum.records.fold import as_colony
from corallum.store.verify import verify_folder
from invented import NOW, Team


def test_evidence_is_what_was_said_last(team: Team) -> None:
    """A second report on a character takes the place of the first; both are kept."""
    colony = team.colony({"growth_form": "massive"})
    colony = team.see(colony.id, "growth_form", ["massive", "encrusting"])
    assert colony.reports["growth_form"].report == StateReport(("massive", "encrusting"))
    assert [entry.verb for entry in colony.history].count("report") == 2


def test_the_model_reads_what_was_reported(team: Team) -> None:
    """States, sets, sizes, unsure reports, conditions, region and observer reach the model."""
    colony = team.colony()
    command = AddEvidence(colony.id, "condition", "shaded", value=True)
    found = as_colony(add_evidence(team.programme, command, *team.by()))
    assert found.observations == {
        "growth_form": StateReport(("massive",)),
        "corallite_arrangement": StateReport(("plocoid", "cerioid")),
        "calice_diameter_mm": SizeReport(7.5, 5, "ruler"),
        "columella": StateReport(("spongy",), sure=False),
    }
    assert (found.region, found.observer, found.conditions) == (
        "red_sea", team.observer, ("shaded",),
    )  # fmt: skip


def test_a_record_outlives_the_process(team: Team) -> None:
    """Closed and opened again, a record is equal to the one before."""
    colony = team.colony(name="first", seen_on=date(2026, 3, 1))
    team.programme.close()
    again = open_programme(team.programme.folder)
    assert get_colony(again, colony.id) == colony
    again.close()


@pytest.mark.parametrize(
    ("subject", "value"),
    [("growth_form", "mossive"), ("growth_farm", "massive"), ("calice_diameter_mm", -1),
     ("calice_diameter_mm", "wide"), ("calice_diameter_mm", {"value": 5, "method": "thumb"}),
     ("calice_diameter_mm", {"value": 5, "unit": "cm"}), ("growth_form", 3), ("growth_form", None),
     ("growth_form", {"state": "massive", "colour": 1}), ("calice_diameter_mm", float("nan")),
     ("calice_diameter_mm", 10**400), ("growth_form", []), ("", "massive"), ("x" * 9999, "a")],
)  # fmt: skip
def test_evidence_that_makes_no_sense_is_refused(team: Team, subject: str, value: object) -> None:
    """Unknown words, sizes that can't be and wrong kinds are refused, and nothing is written."""
    colony = team.colony({})
    with pytest.raises(InputError):
        team.see(colony.id, subject, value)
    assert get_colony(team.programme, colony.id) == colony


def test_what_is_taken_back_no_longer_counts(team: Team) -> None:
    """Evidence and conditions can be taken back, once; the entries stay."""
    colony = team.colony()
    command = RemoveEvidence(colony.id, "report", "columella")
    after = remove_evidence(team.programme, command, *team.by())
    assert "columella" not in after.reports
    assert len(after.history) == len(colony.history) + 1
    with pytest.raises(ConflictError, match="nothing is reported on columella"):
        remove_evidence(team.programme, command, *team.by())


def test_undo_and_undo_of_undo(team: Team) -> None:
    """Undo brings back the report before; to undo that brings back the later one."""
    colony = team.see(team.colony().id, "growth_form", "columnar")
    assert [e.verb for e in colony.history][-1] == "report"
    back = undo(team.programme, Undo(colony.id), *team.by())
    assert back.reports["growth_form"].report == StateReport(("massive",))
    forth = undo(team.programme, Undo(colony.id, back.history[-1].id), *team.by())
    assert forth.reports == colony.reports
    assert [entry.undoes for entry in forth.history[-2:]] == [
        colony.history[-1].id, back.history[-1].id,
    ]  # fmt: skip


def test_undo_goes_back_to_an_empty_colony_and_no_further(team: Team) -> None:
    """Again and again undone, all evidence is gone, and the start of the colony stands."""
    colony = team.colony()
    for _ in range(4):
        colony = undo(team.programme, Undo(colony.id), *team.by())
    assert colony.reports == {}
    with pytest.raises(ConflictError, match="nothing of yours to undo"):
        undo(team.programme, Undo(colony.id), *team.by())
    with pytest.raises(ConflictError, match="is undone already"):
        undo(team.programme, Undo(colony.id, colony.history[-5].id), *team.by())


def test_observers_undo_their_own_and_leads_any(team: Team) -> None:
    """What somebody else did is the lead's to undo."""
    colony = team.colony()
    with pytest.raises(NotAllowedError, match="undo what somebody else did"):
        undo(team.programme, Undo(colony.id, colony.history[-1].id), *team.by(team.second))
    after = undo(team.programme, Undo(colony.id, colony.history[-1].id), *team.by(team.lead))
    assert "columella" not in after.reports


def test_a_colony_whose_start_is_undone_is_withdrawn(team: Team) -> None:
    """It is in no list, nothing can be added, and an undo of that brings it back."""
    colony = team.colony()
    gone = undo(team.programme, Undo(colony.id, colony.history[0].id), *team.by())
    assert gone.withdrawn
    assert list_colonies(team.programme, ColonyFilter()).total == 0
    with pytest.raises(ConflictError, match="was withdrawn"):
        team.see(colony.id, "tissue", "fleshy")
    undo(team.programme, Undo(colony.id, gone.history[-1].id), *team.by())
    assert list_colonies(team.programme, ColonyFilter()).total == 1


def test_an_entry_of_another_colony_is_not_undone(team: Team) -> None:
    """An entry is undone through its own colony only."""
    first, second = team.colony(), team.colony()
    with pytest.raises(NotFoundError):
        undo(team.programme, Undo(second.id, first.history[-1].id), *team.by())


def test_places_hand_on_what_they_know(team: Team) -> None:
    """A colony on a quadrat gets its site, day and region; the region follows a new site."""
    south = add_site(team.programme, AddSite("South", "atlantic"), *team.by())
    north = add_site(team.programme, AddSite("North", "indo_pacific"), *team.by())
    day = date(2026, 2, 1)
    parent = None
    for kind in ("survey", "visit", "transect", "quadrat"):
        site = south.id if kind == "visit" else None
        command = AddEvent(kind, kind, parent, site, day if kind == "visit" else None)
        parent = add_event(team.programme, command, *team.by()).id
    colony = team.colony({}, event=parent)
    assert (colony.site, colony.event, colony.seen_on) == (south.id, parent, day)
    assert colony.region == "atlantic"
    moved = place_colony(team.programme, PlaceColony(colony.id, site=north.id), *team.by())
    assert (moved.site, moved.region, moved.seen_on) == (north.id, "indo_pacific", day)


@pytest.mark.parametrize(
    ("kind", "parent"),
    [("transect", None), ("quadrat", "survey"), ("survey", "survey"), ("visit", "transect"),
     ("frame", "survey"), ("station", None)],
)  # fmt: skip
def test_events_are_parts_of_the_right_things(team: Team, kind: str, parent: str | None) -> None:
    """A transect needs a visit, a quadrat a transect, and a survey stands by itself."""
    site = add_site(team.programme, AddSite("North", "red_sea"), *team.by()).id
    ids: dict[str | None, str | None] = {None: None}
    for one, of in (("survey", None), ("visit", "survey"), ("transect", "visit")):
        command = AddEvent(one, one, ids[of], site if one == "visit" else None)
        ids[one] = add_event(team.programme, command, *team.by()).id
    with pytest.raises(InputError):
        add_event(team.programme, AddEvent(kind, "x", ids[parent], site), *team.by())


def test_names_and_notes(team: Team) -> None:
    """A name is the last one given, notes add up, and both are found by lists."""
    colony = team.colony({})
    name_colony(team.programme, NameColony(colony.id, "Old Brain"), *team.by())
    add_note(team.programme, AddNote(colony.id, "beside\nthe BUOY"), *team.by())
    found = add_note(team.programme, AddNote(colony.id, "again"), *team.by())
    assert (found.name, [note.report for note in found.notes]) == (
        "Old Brain", ["beside\nthe BUOY", "again"],
    )  # fmt: skip
    for text, total in (("old brain", 1), ("buoy old", 1), ("1", 1), ("%", 0), ("new", 0)):
        assert list_colonies(team.programme, ColonyFilter(text=text)).total == total


def test_lists_are_cut_into_pages(team: Team) -> None:
    """Pages hold each colony once, those seen last first, whatever their size."""
    for i in range(7):
        team.colony({}, name=f"colony {i}", seen_on=date(2026, 1, 1 + i % 3))
    pages = [
        list_colonies(team.programme, ColonyFilter(page=page, size=3)) for page in (1, 2, 3, 4)
    ]
    assert [(page.total, page.pages, len(page.rows)) for page in pages] == [
        (7, 3, 3), (7, 3, 3), (7, 3, 1), (7, 3, 0),
    ]  # fmt: skip
    rows = [row for page in pages for row in page.rows]
    assert len({row.id for row in rows}) == 7
    assert rows == sorted(rows, key=lambda row: (row.seen_on, row.number), reverse=True)
    days = ColonyFilter(since=date(2026, 1, 2), until=date(2026, 1, 2))
    assert list_colonies(team.programme, days).total == 2


@pytest.mark.parametrize(
    "wanted",
    [ColonyFilter(page=0), ColonyFilter(size=0), ColonyFilter(size=201), ColonyFilter(page=10**9),
     ColonyFilter(status="lost"), ColonyFilter(waits="lunch"), ColonyFilter(text="\x00"),
     ColonyFilter(genus="\udcff")],
)  # fmt: skip
def test_lists_that_can_not_be(team: Team, wanted: ColonyFilter) -> None:
    """A page, size, status or text that can't be is refused in a line."""
    with pytest.raises(InputError):
        list_colonies(team.programme, wanted)


def test_many_things_together_are_one_unit_of_work(team: Team) -> None:
    """Where the last of several fails, none of them was done."""
    before = history_of(team.programme)

    def start_and_fail() -> None:
        with team.programme.together():
            colony = team.colony()
            team.see(colony.id, "growth_form", "mossive")

    with pytest.raises(InputError):
        start_and_fail()
    assert history_of(team.programme) == before
    with team.programme.together():
        first = team.colony()
        team.colony()
        assert get_colony(team.programme, first.id) == first
    assert list_colonies(team.programme, ColonyFilter()).total == 2


ANYTHING = st.text(max_size=30) | st.integers() | st.none() | st.floats() | st.booleans()
IDS = st.text(max_size=14) | st.sampled_from(["000000000000", "../../../../etc"])
# One programme is enough for all examples of a test.
SHARED = settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
FEWER = settings(SHARED, max_examples=15)


@SHARED
@given(colony=IDS, kind=ANYTHING, subject=ANYTHING, value=ANYTHING | st.lists(ANYTHING))
def test_whatever_comes_from_outside(
    team: Team, colony: str, kind: object, subject: object, value: object
) -> None:
    """Any text or number as id, kind, subject or value is done or refused in a line, no more."""
    mine, said = team.colony({}), []
    for id_ in (colony, mine.id):
        for act, command in (
            (add_evidence, AddEvidence(id_, kind, subject, value)),  # type: ignore[arg-type]
            (remove_evidence, RemoveEvidence(id_, kind, subject)),  # type: ignore[arg-type]
            (name_colony, NameColony(id_, subject)),  # type: ignore[arg-type]
            (add_note, AddNote(id_, value)),  # type: ignore[arg-type]
            (undo, Undo(id_, value)),  # type: ignore[arg-type]
            (place_colony, PlaceColony(id_, site=subject)),  # type: ignore[arg-type]
        ):
            try:
                act(team.programme, command, *team.by())  # type: ignore[operator]
            except CorallumError as error:
                said.append(str(error))
    assert [line for line in said if "\n" in line or not line.isprintable()] == []
    assert get_colony(team.programme, mine.id).number == mine.number


@FEWER
@given(st.lists(st.tuples(st.sampled_from("abcu"), st.integers(0, 5)), max_size=12))
def test_lists_always_say_what_the_history_says(team: Team, steps: list[tuple[str, int]]) -> None:
    """After any mix of reports, names and undos, verify finds nothing amiss."""
    colony = start_colony(team.programme, StartColony(), *team.by())
    forms = ["massive", "columnar", "branching", "laminar", "encrusting", "free_living"]
    for step, i in steps:
        if step == "a":
            colony = team.see(colony.id, "growth_form", forms[i])
        elif step == "b":
            command = NameColony(colony.id, f"name {i}" if i else "")
            colony = name_colony(team.programme, command, *team.by())
        elif step == "c":
            colony = add_note(team.programme, AddNote(colony.id, f"note {i}"), *team.by())
        elif i < len(colony.history) and colony.history[-1 - i].id in colony.in_effect:
            target = Undo(colony.id, colony.history[-1 - i].id)
            colony = undo(team.programme, target, *team.by())
            if colony.withdrawn:
                break
    assert verify_folder(team.programme.folder, lambda _: None).faults == []
    assert get_colony(team.programme, colony.id) == colony
    assert colony.history[-1].at > NOW
