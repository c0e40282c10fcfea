"""Roles decide who may do what; devices act for people until they are revoked."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable

import pytest

from corallum.actions import colonies, colony_answers, colony_photos, people, permits, places
from corallum.actions import programme_reference as edits
from corallum.actions import redetermination as again
from corallum.actions import second_opinions as opinions
from corallum.actions.colony_lists import get_colony, history_of
from corallum.errors import ConflictError, InputError, NotAllowedError, NotFoundError
from corallum.records.programme import Role
from invented import Team, picture

Work = tuple[Callable[..., object], object]


def observers_work(team: Team, colony: str) -> list[Work]:
    """All that an observer may do and a reader may not."""
    return [
        (colonies.start_colony, colonies.StartColony()),
        (colonies.add_evidence, colonies.AddEvidence(colony, "report", "tissue", "fleshy")),
        (colonies.remove_evidence, colonies.RemoveEvidence(colony, "report", "columella")),
        (colonies.name_colony, colonies.NameColony(colony, "x")),
        (colonies.add_note, colonies.AddNote(colony, "x")),
        (colonies.place_colony, colonies.PlaceColony(colony)),
        (colony_photos.attach_photo, colony_photos.AttachPhoto(colony, picture())),
        (colony_answers.save_determination, colony_answers.SaveDetermination(colony)),
        (opinions.ask_reading, opinions.AskReading(colony, of=team.second)),
        (opinions.send_voucher, opinions.SendVoucher(colony, "P-1")),
        (places.add_site, places.AddSite("x", "red_sea")),
        (places.add_event, places.AddEvent("survey", "x")),
        (colonies.undo, colonies.Undo(colony)),
    ]


def leads_work(team: Team, colony: str) -> list[Work]:
    """All that only a lead may do."""
    value = edits.EditValue("Favites", "*", "columella", "always absent")
    return [
        (people.add_person, people.AddPerson("x", "lead")),
        (people.change_person, people.ChangePerson(team.observer, role="lead")),
        (people.pair_device, people.PairDevice(team.observer, "phone")),
        (colony_answers.override_determination, colony_answers.Override(colony, "Favites", "x")),
        (edits.edit_value, value),
        (edits.edit_cell, edits.EditCell("words.csv", 2, "probability", "0.95")),
        (again.redetermine, again.Redetermine("x")),
        (permits.add_permit, permits.AddPermit("P-2", "Lead", dt.date(2030, 1, 1))),
    ]


def test_a_reader_writes_nothing(team: Team) -> None:
    """Whatever a reader tries is refused, and no entry of the history is by a reader."""
    colony = team.colony().id
    before = history_of(team.programme)
    for action, command in observers_work(team, colony) + leads_work(team, colony):
        with pytest.raises(NotAllowedError, match="a reader may not "):
            action(team.programme, command, *team.by(team.reader))
    assert history_of(team.programme) == before


def test_an_observer_adds_but_does_not_decide(team: Team) -> None:
    """An observer may add all there is to add, and nothing that is the lead's."""
    colony = team.colony().id
    permit = permits.AddPermit("P-1", "Lead", dt.date(2030, 1, 1))
    permits.add_permit(team.programme, permit, *team.by(team.lead))
    for action, command in leads_work(team, colony):
        with pytest.raises(NotAllowedError, match="an observer may not "):
            action(team.programme, command, *team.by())
    for action, command in observers_work(team, colony):
        action(team.programme, command, *team.by())
    assert not get_colony(team.programme, colony).withdrawn


def test_who_has_left_writes_nothing(team: Team) -> None:
    """A person who is no longer active is refused, whatever the role."""
    change = people.ChangePerson(team.observer, active=False)
    people.change_person(team.programme, change, *team.by(team.lead))
    with pytest.raises(NotAllowedError, match="person who has left"):
        colonies.start_colony(team.programme, colonies.StartColony(), *team.by())


@pytest.mark.parametrize("person", ["", "nobody", "000000000000", "' OR 1=1 --", "x" * 10_000])
def test_an_unknown_person_writes_nothing(team: Team, person: str) -> None:
    """Somebody who is not there is not found."""
    with pytest.raises(NotFoundError):
        colonies.start_colony(team.programme, colonies.StartColony(), team.now(), team.rng, person)


@pytest.mark.parametrize("change", [{"role": "observer"}, {"active": False}])
def test_the_last_lead_stays(team: Team, change: dict[str, object]) -> None:
    """A programme always has an active lead; what would end that is undone."""
    command = people.ChangePerson(team.lead, **change)  # type: ignore[arg-type]
    with pytest.raises(ConflictError, match="Lead is the last lead"):
        people.change_person(team.programme, command, *team.by(team.lead))
    assert people.get_person(team.programme, team.lead).role is Role.LEAD
    second = people.ChangePerson(team.second, role="lead")
    people.change_person(team.programme, second, *team.by(team.lead))
    people.change_person(team.programme, command, *team.by(team.lead))


def test_names_and_roles_are_checked(team: Team) -> None:
    """Two people can't have one name; roles are three words."""
    with pytest.raises(ConflictError, match="there is a person 'Lead' already"):
        people.add_person(team.programme, people.AddPerson("lead", "reader"), *team.by(team.lead))
    for name, role in (("", "reader"), ("a\nb", "reader"), ("x" * 121, "reader"), ("x", "king")):
        command = people.AddPerson(name, role)
        with pytest.raises(InputError):
            people.add_person(team.programme, command, *team.by(team.lead))


def test_a_device_acts_for_its_person_until_revoked(team: Team) -> None:
    """A secret leads to its person, and to nobody once the device or the person is gone."""
    command = people.PairDevice(team.observer, "phone")
    token = people.pair_device(team.programme, command, *team.by(team.lead))
    found = people.person_of_token(team.programme, token)
    assert found is not None
    assert found.id == team.observer
    assert people.person_of_token(team.programme, token + "x") is None
    assert people.person_of_token(team.programme, "\udcff") is None
    device = people.list_devices(team.programme)[0]
    people.revoke_device(team.programme, people.RevokeDevice(device.id), *team.by(team.lead))
    assert people.person_of_token(team.programme, token) is None


def test_a_secret_is_not_kept(team: Team) -> None:
    """The file of the database does not hold the secret of a device."""
    command = people.PairDevice(team.observer, "phone")
    token = people.pair_device(team.programme, command, *team.by(team.lead))
    team.programme.close()
    files = team.programme.folder.glob("corallum.db*")
    assert all(token.encode() not in path.read_bytes() for path in files)
