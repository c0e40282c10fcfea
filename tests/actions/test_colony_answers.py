"""Opinions on a colony are dated, signed and never overwritten."""

from __future__ import annotations

import pytest

import corallum
from corallum.actions.colonies import RemoveEvidence, Undo, remove_evidence, undo
from corallum.actions.colony_answers import (
    Override,
    SaveDetermination,
    answer_colony,
    override_determination,
    save_determination,
)
from corallum.actions.colony_lists import ColonyFilter, get_colony, list_colonies
from corallum.actions.people import ChangePerson, change_person
from corallum.actions.programme_reference import EditCell, EditValue, edit_cell, edit_value
from corallum.errors import ConflictError, InputError, UnknownNameError
from corallum.exchange.colonies import parse_colony
from corallum.model.answer import Determiner
from corallum.model.errors import Observer
from corallum.records.colony import Colony
from corallum.reference.reference import parse_reference
from corallum.store.reference_copy import kept_tables
from invented import LOOKS, Team
from support import compiled


def test_the_answer_is_that_of_the_same_colony_in_a_file(team: Team) -> None:
    """A record and a colony file with the same evidence get the same answer."""
    found = answer_colony(team.programme, team.colony().id)
    item = {"id": "1", "region": "red_sea", "observer": team.observer, "observations": LOOKS}
    colony = parse_colony(item, "", "")
    assert isinstance(colony, Colony)
    assert found == Determiner(compiled()).determine(colony)


def test_an_observers_errors_are_those_of_the_person(team: Team) -> None:
    """Evidence of a trained observer is read with a trained observer's errors."""
    colony = team.colony()
    change = ChangePerson(team.observer, errors="trained")
    change_person(team.programme, change, *team.by(team.lead))
    item = {"id": "1", "region": "red_sea", "observer": team.observer, "observations": LOOKS}
    read = parse_colony(item, "", "")
    assert isinstance(read, Colony)
    wanted = Determiner(compiled(), Observer.TRAINED).determine(read)
    assert answer_colony(team.programme, colony.id).candidates == wanted.candidates


def test_a_determination_says_what_it_rests_on(team: Team) -> None:
    """It carries the hash and version of the reference, the program, and the newest evidence."""
    colony = team.colony()
    answer = answer_colony(team.programme, colony)
    kept = save_determination(team.programme, SaveDetermination(colony.id), *team.by())
    assert (kept.kind, kept.person, kept.reason) == ("model", team.observer, "")
    assert (kept.status, kept.genera, kept.name) == (
        answer.verdict.status, answer.verdict.genera, answer.verdict.name,
    )  # fmt: skip
    assert kept.reference_hash == answer.reference == compiled().hash
    assert (kept.program, kept.reference_version) == (
        corallum.__version__, f"{corallum.__version__}, 0 edits",
    )  # fmt: skip
    assert kept.evidence_upto == colony.history[-1].id
    with team.programme.read() as connection:
        tables = kept_tables(connection, kept.reference_hash)
    assert parse_reference(tables).entries.genera.keys() == set(compiled().genera)


def test_a_later_determination_stands_beside_the_older(team: Team) -> None:
    """The newest is current, and the older is as it was written."""
    colony = team.colony()
    first = save_determination(team.programme, SaveDetermination(colony.id), *team.by())
    team.see(colony.id, "corallite_arrangement", "meandroid")
    second = save_determination(team.programme, SaveDetermination(colony.id), *team.by())
    record = get_colony(team.programme, colony.id)
    assert record.determinations == (first, second)
    assert record.current == second


def test_nothing_reported_is_not_determined(team: Team) -> None:
    """A colony of which nothing was seen gets no determination."""
    colony = team.colony({})
    with pytest.raises(ConflictError, match="nothing is reported of this colony yet"):
        save_determination(team.programme, SaveDetermination(colony.id), *team.by())


def test_a_leads_name_stands_above_the_model(team: Team) -> None:
    """An override is current, later model runs or not, until it is undone."""
    colony = team.colony()
    by_model = save_determination(team.programme, SaveDetermination(colony.id), *team.by())
    command = Override(colony.id, "favites", "walls seen again in good light")
    over = override_determination(team.programme, command, *team.by(team.lead))
    assert (over.kind, over.genera, over.status) == ("override", ("Favites",), "overridden")
    again = save_determination(team.programme, SaveDetermination(colony.id), *team.by())
    assert get_colony(team.programme, colony.id).current == over
    assert list_colonies(team.programme, ColonyFilter(genus="Favites")).total == 1
    record = undo(team.programme, Undo(colony.id, over.history), *team.by(team.lead))
    assert record.current == again
    assert record.determinations == (by_model, over, again)


@pytest.mark.parametrize("genus", ["Madrepora", "Coralia", "", "x" * 500])
def test_an_override_needs_a_genus_of_today(team: Team, genus: str) -> None:
    """An old name of many genera (Madrepora of Linnaeus 1758), or of none, is refused."""
    colony = team.colony()
    with pytest.raises((UnknownNameError, InputError)):
        override_determination(
            team.programme, Override(colony.id, genus, "why"), *team.by(team.lead)
        )


def test_an_override_needs_a_reason(team: Team) -> None:
    """Without a reason nobody could check it again."""
    colony = team.colony()
    with pytest.raises(InputError, match="reason"):
        override_determination(
            team.programme, Override(colony.id, "Favites", " "), *team.by(team.lead)
        )


def test_the_answer_follows_an_edit_of_the_reference(team: Team) -> None:
    """After a genus is edited the next answer is of the edited reference, without a restart."""
    colony = team.colony({"corallite_arrangement": "plocoid", "columella": "spongy"})
    before = answer_colony(team.programme, colony)
    value = EditValue("Dipsastraea", "*", "columella", "always absent")
    assert edit_value(team.programme, value, *team.by(team.lead))
    after = answer_colony(team.programme, colony)
    chance = {
        name: next(c.probability for c in one.candidates if c.genus == "Dipsastraea")
        for name, one in (("before", before), ("after", after))
    }
    assert chance["after"] < chance["before"] / 2
    assert before.reference != after.reference


def test_evidence_that_the_reference_no_longer_knows_is_named(team: Team) -> None:
    """Where a state was taken out of the reference, the answer says which report is unknown."""
    colony = team.colony({"habitat": "slope", "tissue": "fleshy"})
    path = team.programme.reference_folder
    for table in path.rglob("*.csv"):
        text = table.read_text(encoding="utf-8")
        if ",slope" in text or " slope" in text:
            text = text.replace(",slope,", ",incline,").replace(" slope", " incline")
            table.write_text(text, encoding="utf-8", newline="")
    with pytest.raises(InputError, match=r"habitat: expected one of .* found 'slope'"):
        answer_colony(team.programme, colony.id)
    remove_evidence(team.programme, RemoveEvidence(colony.id, "report", "habitat"), *team.by())
    assert answer_colony(team.programme, colony.id).candidates


def test_thresholds_of_the_programme_are_those_of_the_model(team: Team) -> None:
    """A wider set is asked for by a setting of the table, and the answer holds it."""
    colony = team.colony()
    before = answer_colony(team.programme, colony).verdict
    path = team.programme.reference_folder / "settings.csv"
    rows = path.read_text(encoding="utf-8").splitlines()
    row = next(i for i, line in enumerate(rows, start=1) if line.startswith("set_mass,"))
    command = EditCell("settings.csv", row, "value", "0.97")
    edit_cell(team.programme, command, *team.by(team.lead))
    after = answer_colony(team.programme, colony).verdict
    assert after.probability >= 0.97 > before.probability
    assert len(after.genera) > len(before.genera)
