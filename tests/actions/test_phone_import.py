"""What a phone saved goes into a programme whole, once, or not at all."""

from __future__ import annotations

import copy
import json
from dataclasses import replace
from typing import Any

import pytest

from corallum.actions.backups import verify_programme
from corallum.actions.colonies import Undo, undo
from corallum.actions.colony_answers import answer_colony
from corallum.actions.colony_lists import ColonyFilter, list_colonies
from corallum.actions.phone_import import ImportPhone, PhoneImported, import_phone
from corallum.actions.places import AddSite, add_site
from corallum.actions.programme_reference import programme_determiner
from corallum.errors import ConflictError, InputError, NotAllowedError
from corallum.exchange.phone_records import colony_after, read_phone_records
from corallum.records.answer import Verdict
from invented import Team
from phone_lines import LOG, OTHER_REFERENCE, line_of, record_of, shown_of

MORE = (
    {"at": "2026-03-14T15:00:00+03:00", "kind": "report", "subject": "columella",
     "value": {"state": ["spongy"], "sure": True}},
)  # fmt: skip


def taken_in(team: Team, text: str, *, skip: bool = False, **names: str) -> PhoneImported:
    """Import a file."""
    command = ImportPhone(text, "saved.jsonl", skip, names)
    return import_phone(team.programme, command, *team.by())


def count(team: Team) -> int:
    """Colonies of the programme."""
    return list_colonies(team.programme, ColonyFilter()).total


def verdict_of(team: Team, record: dict[str, Any], upto: int) -> Verdict:
    """What the programme's model says of the first entries."""
    found = read_phone_records(line_of(record), "f")[0]
    return programme_determiner(team.programme).determine(colony_after(found, upto)).verdict


def test_nothing_of_a_record_is_lost(team: Team) -> None:
    """All entries stand in their order, what was replaced too; the record itself is kept."""
    record = record_of()
    record["shown"] = [shown_of(verdict_of(team, record, 8), 8, _hash(team))]

    found = taken_in(team, line_of(record)).new[0]

    verbs = [entry.verb for entry in found.history]
    assert verbs[:2] == ["start", "import phone"]
    assert [verb for verb in verbs[2:] if verb != "determine"] == [one["kind"] for one in LOG]
    assert found.history[1].detail["record"] == record
    assert found.reports["growth_form"].report.states == ("encrusting",)  # type: ignore[union-attr]
    assert found.seen_on.isoformat() == "2026-03-14"
    assert found.observer == team.observer
    assert found.current is not None
    assert found.current.evidence_upto == found.history[9].id
    assert answer_colony(team.programme, found).verdict.name
    assert not verify_programme(team.programme.folder).faults


def _hash(team: Team) -> str:
    """Hash of the programme's reference."""
    return programme_determiner(team.programme).compiled.hash


def test_a_second_import_is_refused_and_can_be_left_out(team: Team) -> None:
    """The same file is refused with the number of its colony; asked to, it is passed over."""
    text = line_of(record_of()) + line_of(record_of(id_="zzzzzzzzzzzz"))
    taken_in(team, line_of(record_of()))

    with pytest.raises(ConflictError, match=r"1 of the 2 records .* as colonies no\. 1\."):
        taken_in(team, text)
    assert count(team) == 1
    found = taken_in(team, text, skip=True)

    assert found.left_out == (1,)
    assert len(found.new) == 1
    assert count(team) == 2


def test_a_record_that_went_on_is_added_to_its_colony(team: Team) -> None:
    """What came to a record after it was imported is added, and nothing twice."""
    first = taken_in(team, line_of(record_of())).new[0]

    found = taken_in(team, line_of(record_of((*LOG, *MORE))))

    assert found.new == ()
    assert found.added_to[0].id == first.id
    assert found.added_to[0].reports.keys() == {*first.reports, "columella"}
    assert len(found.added_to[0].notes) == 1
    with pytest.raises(ConflictError):
        taken_in(team, line_of(record_of((*LOG, *MORE))))


def test_a_record_with_another_past_is_refused(team: Team) -> None:
    """A file in which entries that were imported are altered or missing is refused."""
    taken_in(team, line_of(record_of()))
    log = copy.deepcopy(list(LOG))
    log[3]["value"]["state"] = ["laminar"]

    for other in (record_of((*log, *MORE)), record_of(LOG[:6])):
        with pytest.raises(ConflictError, match="is not what the file says now"):
            taken_in(team, line_of(other))


def test_a_withdrawn_colony_is_not_added_to(team: Team) -> None:
    """To add to a colony that was withdrawn, the withdrawal is undone first."""
    first = taken_in(team, line_of(record_of())).new[0]
    undo(team.programme, Undo(first.id, first.history[0].id), *team.by(team.lead))

    with pytest.raises(ConflictError, match="withdrawn"):
        taken_in(team, line_of(record_of((*LOG, *MORE))))


def test_all_faults_are_told_and_nothing_is_written(team: Team) -> None:
    """An unknown person, site, state, condition and region are told at once; no colony is made."""
    log = copy.deepcopy(list(LOG))
    log[0]["value"], log[1]["value"] = "the_moon", "Nobody"
    log[3]["value"]["state"], log[6]["subject"] = ["no_such_state"], "windy"
    log.append({**LOG[0], "kind": "site", "value": "No such wall"})
    log[9]["value"] = "x" * 121

    with pytest.raises(InputError) as refused:
        taken_in(team, line_of(record_of()).replace("0123456789ab", "a" * 12)
                 + line_of(record_of(log)))  # fmt: skip

    found = {fault.found.strip("'") for fault in refused.value.faults}
    assert {"Nobody", "No such wall", "the_moon", "no_such_state", "windy"} <= found
    assert len(refused.value.faults) == 6
    assert count(team) == 0


def test_other_names_may_be_said(team: Team) -> None:
    """A site and a person that are called otherwise on the phone are named for the import."""
    site = add_site(team.programme, AddSite("North wall", "red_sea"), *team.by(team.lead))
    log = copy.deepcopy(list(LOG))
    log[1]["value"] = "obs one"
    log.append({**LOG[0], "kind": "site", "value": "n. wall"})

    names = {"Obs One": "Observer 2", "N. Wall": "North wall"}
    found = taken_in(team, line_of(record_of(log)), **names).new[0]

    assert found.observer == team.second
    assert found.site == site.id


def test_an_answer_that_the_model_does_not_give_is_refused(team: Team) -> None:
    """An answer under the programme's own reference is worked out again, and must agree."""
    record = record_of()
    right = verdict_of(team, record, 8)
    for wrong in (replace(right, probability=right.probability - 0.01),
                  replace(right, genera=("Porites",))):  # fmt: skip
        record["shown"] = [shown_of(wrong, 8, _hash(team))]
        with pytest.raises(InputError, match="the answer of this reference"):
            taken_in(team, line_of(record))


def test_an_answer_of_another_reference_is_kept_under_its_hash(team: Team) -> None:
    """An answer that was shown with another reference is kept as it was, and said to be."""
    verdict = Verdict("settled", ("Favites",), "Favites sp.", 0.97, "genus", "nothing")
    text = line_of(record_of(shown=[shown_of(verdict, 8, OTHER_REFERENCE)]))

    kept = taken_in(team, text).new[0].determinations[0]

    assert (kept.name, kept.probability) == ("Favites sp.", 0.97)
    assert kept.reference_hash == OTHER_REFERENCE
    assert "Shown on a phone, 2026-03-14" in kept.reason


def test_a_reader_may_not_import(team: Team) -> None:
    """To import records takes the role of an observer."""
    command = ImportPhone(line_of(record_of()), "saved.jsonl")

    with pytest.raises(NotAllowedError):
        import_phone(team.programme, command, *team.by(team.reader))


def test_an_import_is_one_unit_of_work(team: Team, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the second record fails to be written, the first is not there either."""
    written = []

    def failing(*arguments: object, **more: object) -> int:
        written.append(json.dumps(str(arguments)))
        if len(written) > len(LOG):
            raise ConflictError("full")
        return real(*arguments, **more)  # type: ignore[arg-type]

    from corallum.actions import phone_import  # noqa: PLC0415

    real = phone_import.write_colony_entry
    monkeypatch.setattr(phone_import, "write_colony_entry", failing)

    with pytest.raises(ConflictError, match="full"):
        taken_in(team, line_of(record_of()) + line_of(record_of(id_="zzzzzzzzzzzz")))

    assert count(team) == 0
