"""Colonies that were handed over and taken in elsewhere are the same colonies."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest

from corallum.actions.colonies import AddNote, add_note, get_colony
from corallum.actions.export_colonies import ExportColonies, export_colonies
from corallum.actions.import_colonies import (
    IMPORT_COLONY,
    ColoniesImported,
    ImportColonies,
    import_colonies,
)
from corallum.actions.people import list_people
from corallum.actions.places import list_events, list_sites
from corallum.errors import InputError, NotAllowedError
from corallum.exchange.coordinates import WITHHELD
from corallum.records.colony_record import ColonyRecord, Determination, Entry
from corallum.store.colonies import colony_ids
from corallum.store.programme import Programme
from corallum.store.verify import verify_folder
from exported import Exported, exported_copy, make_exported
from invented import NOW, Team

Edit = Callable[[dict[str, Any]], None]
Taken = tuple[Team, ColoniesImported]


@pytest.fixture(scope="module")
def source() -> Exported:
    """The programme that is handed over."""
    return make_exported()


@pytest.fixture(scope="module")
def programme(source: Exported) -> Iterator[Programme]:
    """It, open."""
    found = source.open()
    yield found
    found.close()


@pytest.fixture(scope="module")
def archive(programme: Programme, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Everything, with originals."""
    target = tmp_path_factory.mktemp("out") / "colonies.zip"
    export_colonies(programme, ExportColonies(target, photos="original"), NOW)
    return target


@pytest.fixture(scope="module")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Team]:
    """A programme into which nothing comes."""
    found = Team(tmp_path_factory.mktemp("empty") / "programme")
    yield found
    found.programme.close()


def take_in(team: Team, path: Path, **about: Any) -> ColoniesImported:  # noqa: ANN401  fields of ImportColonies
    """Take an archive in, as the lead."""
    return import_colonies(team.programme, ImportColonies(path, **about), *team.by(team.lead))


@pytest.fixture(scope="module")
def taken(archive: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Taken]:
    """A programme that took the archive in, and what it says of that."""
    team = Team(tmp_path_factory.mktemp("taken") / "programme")
    yield team, take_in(team, archive)
    team.programme.close()


class Plain:
    """A record without numbers of this programme: people and sites by name, entries by place."""

    def __init__(self, programme: Programme, record: ColonyRecord) -> None:
        self.people = {one.id: one.name for one in list_people(programme)}
        self.sites = {one.id: one.name for one in list_sites(programme)}
        written = [one for one in record.history
                   if one.verb != IMPORT_COLONY or "origin" in one.detail]  # fmt: skip
        self.place = {one.id: place for place, one in enumerate(written)}
        self.record = record

    def entry(self, one: Entry) -> tuple[object, ...]:
        """Return what was said, by whom, when."""
        measurement = None if one.measurement is None else self.place[one.measurement]
        return (self.place[one.history], one.kind, one.subject, one.report,
                self.people[one.person], one.at, measurement)  # fmt: skip

    def opinion(self, one: Determination) -> tuple[object, ...]:
        """Return every field of an opinion."""
        return (
            self.place[one.history], one.kind, self.people[one.person], one.at, one.status,
            one.genera, one.name, one.probability, one.rank, one.needs, one.reason,
            one.reference_hash, one.reference_version, one.program, one.observer_errors,
            self.place[one.evidence_upto],
        )  # fmt: skip

    def fields(self) -> Mapping[str, object]:
        """Return every field of the record."""
        record = self.record
        return {
            "id": record.id, "started_at": record.started_at,
            "started_by": self.people[record.started_by], "name": record.name,
            "notes": [self.entry(one) for one in record.notes],
            "site": self.sites[record.site] if record.site else None, "event": record.event,
            "seen_on": record.seen_on, "region": record.region,
            "observer": self.people[record.observer] if record.observer else None,
            "conditions": record.conditions,
            "reports": {id_: self.entry(one) for id_, one in record.reports.items()},
            "photos": [
                (self.place[one.history], one.photo.sha256, one.photo.media_type,
                 one.photo.width, one.photo.height, one.photo.bytes, one.caption,
                 self.people[one.person], one.at)
                for one in record.photos
            ],
            "measurements": [
                (self.place[one.history], one.photo, one.character, one.value, one.low, one.high,
                 one.n, one.by, one.mm_per_pixel, one.relative, one.marks,
                 self.people[one.person], one.at)
                for one in record.measurements
            ],
            "determinations": [self.opinion(one) for one in record.determinations],
            "current": None if record.current is None else self.opinion(record.current),
            "readings": [
                (self.place[one.history], self.people[one.asked_by], one.at,
                 one.asked_of and self.people[one.asked_of], one.question,
                 one.answer and (self.people[one.answer.person], one.answer.at,
                                 one.answer.genera, one.answer.confidence, one.answer.note))
                for one in record.readings
            ],
            "vouchers": [
                (self.place[one.history], one.permit, one.label, one.held_by, one.note,
                 self.people[one.person], one.at)
                for one in record.vouchers
            ],
            "in_effect": sorted(self.place[id_] for id_ in record.in_effect if id_ in self.place),
            "withdrawn": record.withdrawn,
            "history": [
                (one.at, self.people[one.person], one.verb)
                for one in record.history if one.id in self.place
            ],
        }  # fmt: skip


def records(programme: Programme) -> dict[str, ColonyRecord]:
    """Return all colonies that stand."""
    with programme.read() as connection:
        ids = list(colony_ids(connection))
    return {id_: get_colony(programme, id_) for id_ in ids}


def test_colonies_come_back_field_by_field(taken: Taken, programme: Programme) -> None:
    """Records, looks, photos, sizes, opinions, readings and samples are the same elsewhere."""
    team, found = taken
    old, new = records(programme), records(team.programme)

    assert new.keys() == old.keys()
    for id_, record in old.items():
        assert Plain(team.programme, new[id_]).fields() == Plain(programme, record).fields()
    assert (len(found.new), found.known, found.other, found.photos_left_out) == (2, (), (), 0)
    assert found.new_sites == ("Site 1",)


def test_events_keep_their_ids(taken: Taken, programme: Programme) -> None:
    """The transect of a colony, and what it is part of, are there under the same ids."""
    team, _ = taken
    here = {one.id: (one.kind, one.parent, one.name, one.date)
            for one in list_events(team.programme)}  # fmt: skip
    there = {one.id: (one.kind, one.parent, one.name, one.date)
             for one in list_events(programme)}  # fmt: skip

    assert len(here) == 3
    assert here.items() <= there.items()


def test_what_came_in_says_where_from_and_is_sealed(taken: Taken, source: Exported) -> None:
    """The history tells archive, programme and number; verify finds it sound."""
    team, _ = taken
    record = get_colony(team.programme, source.first_colony)
    (entry,) = [one for one in record.history if one.verb == IMPORT_COLONY]

    assert (entry.detail["archive"], entry.detail["programme"], entry.person) == (
        "colonies.zip", "Invented reserve", team.lead,
    )  # fmt: skip
    assert all("origin" in one.detail for one in record.history[2:])
    assert not verify_folder(team.programme.folder, lambda _: None).faults


def test_a_second_time_all_is_known(taken: Taken, archive: Path, programme: Programme) -> None:
    """The same archive again writes nothing; nor does it where it was made."""
    team, first = taken
    before = records(team.programme)
    again = take_in(team, archive)
    lead = next(one.id for one in list_people(programme) if one.role == "lead")
    home = import_colonies(programme, ImportColonies(archive), NOW, team.rng, lead)

    assert again.new == ()
    assert again.known == tuple(one.number for one in first.new)
    assert records(team.programme) == before
    assert (home.new, len(home.known), home.other) == ((), 2, ())


def test_a_colony_that_went_on_is_left_alone(
    taken: Taken, tmp_path: Path, source: Exported
) -> None:
    """A colony that has another history there is told, and not touched."""
    team, _ = taken
    copy = exported_copy(tmp_path / "copy").open()
    lead = next(one.id for one in list_people(copy) if one.role == "lead")
    add_note(copy, AddNote(source.bare_colony, "seen again"), NOW, team.rng, lead)
    export_colonies(copy, ExportColonies(tmp_path / "later.zip"), NOW)
    copy.close()
    found = take_in(team, tmp_path / "later.zip")

    assert (found.new, len(found.known), len(found.other)) == ((), 1, 1)
    assert get_colony(team.programme, source.bare_colony).notes == ()


def test_without_originals_photos_are_left_out_and_told(
    team: Team, programme: Programme, tmp_path: Path, source: Exported
) -> None:
    """Small copies are no originals: the colony comes without photo and size, but all else."""
    export_colonies(programme, ExportColonies(tmp_path / "a.zip", photos="small"), NOW)
    found = take_in(team, tmp_path / "a.zip")
    record = get_colony(team.programme, source.first_colony)

    assert found.photos_left_out == 1
    assert (record.photos, record.measurements) == ((), ())
    assert len(record.determinations) == 4
    assert record.reports["calice_diameter_mm"].measurement is None
    assert not verify_folder(team.programme.folder, lambda _: None).faults


def test_what_was_withheld_stays_away(
    team: Team, programme: Programme, tmp_path: Path, source: Exported
) -> None:
    """A colony without its position and notes comes in, and says that they were withheld."""
    export_colonies(programme, ExportColonies(tmp_path / "a.zip", WITHHELD), NOW)
    take_in(team, tmp_path / "a.zip")
    record = get_colony(team.programme, source.first_colony)
    (site,) = list_sites(team.programme)

    assert [one.report for one in record.notes] == ["Withheld when this was exported."]
    assert (site.latitude, site.longitude) == (None, None)


def test_people_may_have_other_names_here(team: Team, archive: Path, source: Exported) -> None:
    """Somebody who is not here is a fault; said to be somebody here, they are."""
    edited = edit(archive, lambda one: rename(one, "Observer 2", "Old hand"))

    with pytest.raises(InputError, match=r"people: expected one of Lead, .*'Old hand'"):
        take_in(team, edited)
    assert records(team.programme) == {}
    take_in(team, edited, names={"old hand": "Observer 2"})
    record = get_colony(team.programme, source.first_colony)
    assert record.determinations[2].person == team.second


def edit(archive: Path, change: Edit) -> Path:
    """Return a copy of an archive whose colonies' properties were changed."""
    target = archive.with_name(f"edited-{abs(hash(change)):x}.zip")
    with zipfile.ZipFile(archive) as old, zipfile.ZipFile(target, "w") as new:
        for name in old.namelist():
            data = old.read(name)
            if name == "occurrence.txt":
                data = _changed(data.decode(), change).encode()
            elif name == "identification.txt":
                data = (
                    data.replace(b"\tObserver 2\t", b"\tOld hand\t") if _renames(change) else data
                )
            new.writestr(name, data)
    return target


def _renames(change: Edit) -> bool:
    """Whether a change renames a person, in all tables."""
    found: dict[str, Any] = {"log": [{"by": "Observer 2"}]}
    try:
        change(found)
    except (KeyError, IndexError, StopIteration, TypeError):
        return False
    return found["log"] == [{"by": "Old hand"}]


def _changed(text: str, change: Edit) -> str:
    """Change the properties of every colony that has an opinion."""
    rows = list(csv.reader(io.StringIO(text, newline=""), delimiter="\t"))
    for row in rows[1:]:
        about = json.loads(row[-1])
        if len(about["log"]) > 20:
            change(about)
        row[-1] = json.dumps(about)
    stream = io.StringIO()
    csv.writer(stream, delimiter="\t", lineterminator="\n").writerows(rows)
    return stream.getvalue()


def rename(about: dict[str, Any], old: str, new: str) -> None:
    """Give a person another name throughout."""
    for entry in about["log"]:
        if entry["by"] == old:
            entry["by"] = new
        if entry.get("table") == "reading_request" and entry["row"]["asked_of"] == old:
            entry["row"]["asked_of"] = new


def of(about: dict[str, Any], table: str) -> dict[str, Any]:
    """Return the first entry of a table."""
    found: dict[str, Any] = next(one for one in about["log"] if one.get("table") == table)
    return found


def _another_name(about: dict[str, Any]) -> None:
    of(about, "determination")["row"]["name"] = "Porites sp."


def _another_look(about: dict[str, Any]) -> None:
    growth = next(one for one in about["log"]
                  if one.get("row", {}).get("subject") == "growth_form")  # fmt: skip
    growth["row"]["report"] = '{"states": ["branching"], "sure": true}'


def _unknown_state(about: dict[str, Any]) -> None:
    entry = next(one for one in about["log"] if one.get("row", {}).get("subject") == "growth_form")
    entry["row"]["report"] = '{"states": ["dancing"], "sure": true}'


def _not_a_number(about: dict[str, Any]) -> None:
    of(about, "measurement")["row"]["value"] = float("nan")


def _to_come(about: dict[str, Any]) -> None:
    about["log"][-1]["at"] = "2199-01-01T00:00:00+00:00"


def _undoes_itself(about: dict[str, Any]) -> None:
    entry = next(one for one in about["log"] if one["verb"] == "undo")
    entry["undoes"] = entry["number"]


def _another_table(about: dict[str, Any]) -> None:
    of(about, "voucher")["table"] = "person"


def _no_start(about: dict[str, Any]) -> None:
    del about["log"][0]


def _unmarked(about: dict[str, Any]) -> None:
    about["archive"] = "something else"


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        pytest.param(_another_name, "same identifications in its history", id="name edited"),
        pytest.param(_another_look, "same looks in its history", id="look edited"),
        pytest.param(_unknown_state, "found 'dancing'", id="state that is not known"),
        pytest.param(_not_a_number, "measurement, value", id="no number"),
        pytest.param(_to_come, "a moment that has been", id="in the future"),
        pytest.param(_undoes_itself, "number of an entry before it", id="undoes itself"),
        pytest.param(_another_table, "expected one of entry", id="table that is none of a colony"),
        pytest.param(_no_start, "the start of the colony, once", id="no start"),
        pytest.param(_unmarked, "JSON marked 'corallum colony archive 1'", id="no mark of ours"),
    ],
)
def test_an_edited_archive_is_refused_whole(
    empty: Team, archive: Path, change: Edit, fault: str
) -> None:
    """Whatever was edited, the fault is told and nothing at all is written."""
    edited = edit(archive, change)

    with pytest.raises(InputError, match=fault):
        take_in(empty, edited)
    assert records(empty.programme) == {}
    assert list_sites(empty.programme) == ()


def test_only_a_lead_takes_archives_in(empty: Team, archive: Path) -> None:
    """It writes in the names of others."""
    with pytest.raises(NotAllowedError, match="observer may not take in archives"):
        import_colonies(empty.programme, ImportColonies(archive), *empty.by())
