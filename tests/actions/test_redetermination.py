"""After the reference changed, all evidence is run again: first shown, then kept."""

from __future__ import annotations

import pytest

from corallum.actions.colonies import RemoveEvidence, remove_evidence
from corallum.actions.colony_answers import (
    Override,
    SaveDetermination,
    answer_colony,
    override_determination,
    save_determination,
)
from corallum.actions.colony_lists import get_colony, history_of
from corallum.actions.people import ChangePerson, change_person
from corallum.actions.programme_reference import EditValue, edit_value
from corallum.actions.redetermination import (
    Redetermine,
    preview_redetermination,
    redetermine,
)
from corallum.errors import ConflictError
from corallum.records.colony_record import ColonyRecord
from corallum.store.verify import verify_folder
from invented import Team


@pytest.fixture
def colonies(team: Team) -> list[ColonyRecord]:
    """Three colonies determined by the model, the last overridden too; a fourth only seen."""
    found = [team.colony() for _ in range(4)]
    for colony in found[:3]:
        save_determination(team.programme, SaveDetermination(colony.id), *team.by())
    command = Override(found[2].id, "Favites", "seen again")
    override_determination(team.programme, command, *team.by(team.lead))
    return found


def edit(team: Team) -> None:
    """Make the leading genus of all of them impossible."""
    command = EditValue("Dipsastraea", "*", "columella", "always absent")
    edit_value(team.programme, command, *team.by(team.lead))


def test_where_nothing_changed_nothing_is_run(team: Team, colonies: list[ColonyRecord]) -> None:
    """Colonies that rest on nothing new are left alone."""
    found = preview_redetermination(team.programme)
    assert (found.rerun, found.unchanged, found.changes) == (0, len(colonies) - 1, ())


def test_what_would_change_is_shown_and_nothing_written(
    team: Team, colonies: list[ColonyRecord]
) -> None:
    """A preview shows each change, old and new, and leaves no trace."""
    edit(team)
    before = history_of(team.programme)
    told: list[float] = []
    found = preview_redetermination(team.programme, told.append)
    assert history_of(team.programme) == before
    assert told[-1] == 1
    assert (found.rerun, found.unchanged) == (3, 0)
    assert [(one.colony, one.overridden) for one in found.changes] == [
        (colonies[0].id, False), (colonies[1].id, False), (colonies[2].id, True),
    ]  # fmt: skip
    for one in found.changes:
        assert one.old.genera[0] == "Dipsastraea"
        assert one.new == answer_colony(team.programme, one.colony).verdict


def test_new_answers_stand_beside_the_old(team: Team, colonies: list[ColonyRecord]) -> None:
    """Each colony has one determination more; overrides stand; a second run has no work."""
    edit(team)
    preview = preview_redetermination(team.programme)
    old = [get_colony(team.programme, colony.id) for colony in colonies]
    done = redetermine(team.programme, Redetermine(preview.hash), *team.by(team.lead))
    assert done == preview
    new = [get_colony(team.programme, colony.id) for colony in colonies]
    for before, after in zip(old[:3], new[:3], strict=True):
        assert after.determinations[: len(before.determinations)] == before.determinations
        last = after.determinations[-1]
        assert (last.kind, last.person, last.reference_hash) == ("model", team.lead, preview.hash)
    assert new[2].current == old[2].current
    assert new[3] == old[3]
    again = preview_redetermination(team.programme)
    assert (again.rerun, again.unchanged) == (0, 3)
    assert history_of(team.programme)[0].verb == "redetermine"
    assert verify_folder(team.programme.folder, lambda _: None).faults == []


def test_a_reference_that_changed_since_the_preview(
    team: Team, colonies: list[ColonyRecord]
) -> None:
    """What was not shown is not applied."""
    preview = preview_redetermination(team.programme)
    edit(team)
    with pytest.raises(ConflictError, match="changed since the preview"):
        redetermine(team.programme, Redetermine(preview.hash), *team.by(team.lead))
    assert len(get_colony(team.programme, colonies[0].id).determinations) == 1


def test_an_observers_errors_count(team: Team, colonies: list[ColonyRecord]) -> None:
    """Where it becomes known how an observer errs, all that they saw is run again."""
    change = ChangePerson(team.observer, errors="new")
    change_person(team.programme, change, *team.by(team.lead))
    assert preview_redetermination(team.programme).rerun == len(colonies) - 1


def test_new_evidence_counts(team: Team, colonies: list[ColonyRecord]) -> None:
    """A colony whose evidence changed since is run again, the others are not."""
    command = RemoveEvidence(colonies[1].id, "report", "columella")
    remove_evidence(team.programme, command, *team.by())
    found = preview_redetermination(team.programme)
    assert (found.rerun, found.unchanged) == (1, 2)


def test_evidence_that_is_no_longer_known_is_listed(
    team: Team, colonies: list[ColonyRecord]
) -> None:
    """A colony that can't be run is named with the reason; the others are run all the same."""
    team.see(colonies[0].id, "habitat", "slope")
    save_determination(team.programme, SaveDetermination(colonies[0].id), *team.by())
    for table in team.programme.reference_folder.rglob("*.csv"):
        text = table.read_text(encoding="utf-8")
        text = text.replace(",slope,", ",incline,").replace(" slope", " incline")
        table.write_text(text, encoding="utf-8", newline="")
    found = preview_redetermination(team.programme)
    assert [number for number, _ in found.failed] == ["1"]
    assert "found 'slope'" in found.failed[0][1]
    assert found.rerun == 2
