"""``corallum determine`` answers in the shape that was promised, in every form of input."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest

import support
from corallum.records.colony import Colony, StateReport
from runs import Runner

# The colony that the promise of the command line is written with.
COLONY: dict[str, Any] = {
    "id": "c1",
    "region": "indo_pacific",
    "observer": None,
    "conditions": ["shaded"],
    "observations": {
        "growth_form": ["massive", "encrusting"],
        "corallite_arrangement": "plocoid",
        "calice_diameter_mm": {"value": 7.5, "n": 5, "method": "ruler"},
        "columella": {"state": "spongy", "sure": False},
        "day_expansion": "retracted",
    },
}
TABLE = (
    "id,region,conditions,growth_form,corallite_arrangement,calice_diameter_mm,"
    "calice_diameter_mm.n,calice_diameter_mm.method,columella,day_expansion\n"
    "c1,indo_pacific,shaded,massive|encrusting,plocoid,7.5,5,ruler,spongy?,retracted\n"
)
STATUSES = {"settled", "open", "not_separable_in_water", "not_in_reference"}
NEEDS = {"nothing", "look", "second_reader", "voucher"}


def determined(run: Runner, *colonies: dict[str, Any]) -> list[dict[str, Any]]:
    """Answers for colonies given as JSON lines."""
    lines = "\n".join(json.dumps(colony) for colony in colonies)
    found = run("determine", "-", "--json", stdin=lines.encode())
    assert (found.status, found.err) == (0, "")
    return found.objects


def colony(id_: str = "c1", **observations: object) -> dict[str, Any]:
    """A colony as an object."""
    return {"id": id_, "observations": observations}


@pytest.fixture
def answer(run: Runner) -> dict[str, Any]:
    """The answer for the colony of the promise."""
    (found,) = determined(run, COLONY)
    return found


def test_an_answer_holds_every_key_that_was_promised(answer: dict[str, Any]) -> None:
    """The object, and each object within it, holds at least the keys of the promise."""
    assert answer.keys() >= {
        "id", "verdict", "candidates", "next_looks", "fragile", "why", "limits", "cautions",
    }  # fmt: skip
    assert answer["verdict"].keys() >= {
        "status", "genera", "name", "probability", "rank", "needs",
    }  # fmt: skip
    assert answer["why"].keys() >= {"for", "against", "decibans", "form", "prior", "total"}
    assert answer["limits"].keys() >= {"best_in_water", "best_with_skeleton"}
    for name, keys in (
        ("candidates", {"genus", "family", "probability"}),
        ("next_looks", {"character", "gain_bits", "seconds"}),
        ("fragile", {"character", "change", "verdict", "probability"}),
    ):
        assert answer[name], name
        assert all(item.keys() >= keys for item in answer[name])
    assert all(e.keys() >= {"character", "with", "value"} for e in answer["why"]["decibans"])


def test_the_words_of_a_verdict_are_those_that_were_promised(answer: dict[str, Any]) -> None:
    """Status and need come from short lists, and the genera are candidates."""
    verdict = answer["verdict"]
    candidates = {item["genus"] for item in answer["candidates"]}
    assert answer["id"] == "c1"
    assert verdict["status"] in STATUSES
    assert verdict["needs"] in NEEDS
    assert verdict["rank"] in {"genus", "family", "order", "none"}
    assert set(verdict["genera"]) <= candidates
    assert isinstance(verdict["name"], str)


def test_the_named_set_holds_what_it_says(answer: dict[str, Any]) -> None:
    """The probability of a verdict is that of its genera, and reaches nine in ten."""
    odds = {item["genus"]: item["probability"] for item in answer["candidates"]}
    total = sum(odds[genus] for genus in answer["verdict"]["genera"])
    assert answer["verdict"]["probability"] == pytest.approx(total, abs=1e-9)
    assert total >= 0.9 - 1e-9


def test_candidates_hold_every_genus_that_is_possible_at_all(answer: dict[str, Any]) -> None:
    """Every genus of at least 1e-6 is there, most probable first, something else as null."""
    reports = {"growth_form": StateReport(("massive",))}
    (found,) = support.determiner().posterior([Colony("c", reports)]).genus
    listed = support.answer(growth_form="massive").candidates
    odds = [item["probability"] for item in answer["candidates"]]
    assert len(listed) == (found >= 1e-6).sum()
    assert odds == sorted(odds, reverse=True)
    assert min(odds) >= 1e-6
    assert [item["family"] for item in answer["candidates"] if item["genus"] is None] == [None]


def test_probabilities_add_up_to_one_and_are_not_rounded(answer: dict[str, Any]) -> None:
    """What is left out is below 1e-6 a genus, and the digits are all there."""
    odds = [item["probability"] for item in answer["candidates"]]
    assert 1 - 134e-6 < sum(odds) <= 1 + 1e-9
    assert any(value != round(value, 6) for value in odds)


def test_reasons_add_up_to_the_odds(answer: dict[str, Any]) -> None:
    """Prior, forms and blocks make the total, which is the odds of the two in decibans."""
    why = answer["why"]
    odds = {item["genus"]: item["probability"] for item in answer["candidates"]}
    parts = why["prior"] + why["form"] + sum(entry["value"] for entry in why["decibans"])
    assert parts == pytest.approx(why["total"], abs=1e-9)
    expected = 10 * math.log10(odds[why["for"]] / odds[why["against"]])
    assert why["total"] == pytest.approx(expected, abs=1e-9)
    named = {name for entry in why["decibans"] for name in (entry["character"], *entry["with"])}
    assert named == COLONY["observations"].keys()


def test_looks_and_limits_are_what_they_say(answer: dict[str, Any]) -> None:
    """No look repeats a report, gains are bits, and the skeleton can't tell less than the water."""
    assert not {item["character"] for item in answer["next_looks"]} & COLONY["observations"].keys()
    assert all(0 < item["gain_bits"] < 8 for item in answer["next_looks"])
    assert all(item["seconds"] > 0 for item in answer["next_looks"])
    assert {item["character"] for item in answer["fragile"]} <= COLONY["observations"].keys()
    water, skeleton = (answer["limits"][k] for k in ("best_in_water", "best_with_skeleton"))
    assert 0 < water <= skeleton + 0.01 <= 1.01


def test_every_answer_carries_its_caution(answer: dict[str, Any]) -> None:
    """Cautions are texts, and the first is to look and not to touch."""
    assert answer["cautions"][0].startswith("Look, do not touch")


SAME = (
    pytest.param("one.json", json.dumps(COLONY), id="one object"),
    pytest.param("one.json", json.dumps(COLONY, indent=2), id="one object over lines"),
    pytest.param("list.json", json.dumps([COLONY]), id="list"),
    pytest.param("list.json", json.dumps([COLONY], indent=1), id="list over lines"),
    pytest.param("lines.jsonl", f"\n{json.dumps(COLONY)}\n\n", id="lines"),
    pytest.param("lines.ndjson", json.dumps(COLONY), id="lines by another ending"),
    pytest.param("table.csv", TABLE, id="table"),
    pytest.param("TABLE.CSV", TABLE.replace("\n", "\r\n"), id="Windows table"),
    pytest.param("table", TABLE, id="table without an ending"),
    pytest.param("colonies.txt", json.dumps(COLONY), id="object by another ending"),
    pytest.param("bom.csv", f"\ufeff{TABLE}", id="table with a mark"),
    pytest.param("bom.json", f"\ufeff{json.dumps(COLONY)}", id="object with a mark"),
)


@pytest.mark.parametrize(("name", "text"), SAME)
def test_every_form_of_input_means_the_same(
    run: Runner, tmp_path: Path, answer: dict[str, Any], name: str, text: str
) -> None:
    """One object, a list, lines and a table of the same colony get the same answer."""
    file = tmp_path / name
    file.write_bytes(text.encode())
    found = run("determine", file, "--json")
    assert (found.status, found.err, found.objects) == (0, "", [answer])


@pytest.mark.parametrize("text", [json.dumps(COLONY), json.dumps([COLONY]), TABLE])
def test_standard_input_is_read(run: Runner, answer: dict[str, Any], text: str) -> None:
    """A dash reads standard input, whichever form it has."""
    assert run("determine", "-", "--json", stdin=text.encode()).objects == [answer]


def test_answers_keep_the_order_of_the_colonies(run: Runner) -> None:
    """Answers come in input order, one line each."""
    ids = ["z", "a", "10", "2", "m"]
    found = determined(run, *(colony(id_, growth_form="massive") for id_ in ids))
    assert [item["id"] for item in found] == ids


def test_a_bare_number_is_one_reading_by_eye(run: Runner) -> None:
    """A bare number weighs as one reading by eye, and less than five by ruler."""
    bare, said, ruler = determined(
        run,
        colony(calice_diameter_mm=7.5),
        colony(calice_diameter_mm={"value": 7.5, "n": 1, "method": "eye"}),
        colony(calice_diameter_mm={"value": 7.5, "n": 5, "method": "ruler"}),
    )
    assert bare == said
    assert bare != ruler


def test_what_was_not_looked_at_costs_nothing(run: Runner) -> None:
    """Null, not_looked_at and a set of all states are the same as no report."""
    states = support.compiled().characters[support.compiled().character_index["tissue"]].states
    base = {"growth_form": "massive"}
    plain, null, said, every = determined(
        run,
        colony(**base),
        colony(**base, tissue=None, calice_diameter_mm=None),
        colony(**base, tissue="not_looked_at", calice_diameter_mm="not_looked_at"),
        colony(**base, tissue=list(states)),
    )
    assert plain == null == said == every


def test_nothing_seen_at_all_is_answered_by_the_region(run: Runner) -> None:
    """A colony without observations is open, and asks for a look."""
    (found,) = determined(run, {"id": "c1", "region": "red_sea"})
    assert (found["verdict"]["status"], found["verdict"]["needs"]) == ("open", "look")
    assert found["fragile"] == []


def test_a_name_of_the_observer_is_kept_out_of_the_evidence(run: Runner) -> None:
    """An observer who is not known changes nothing."""
    some, none = determined(run, {**COLONY, "observer": "o1"}, COLONY)
    assert some == none


def test_whose_errors_are_assumed_matters(run: Runner) -> None:
    """A trained observer's report weighs more than a new one's."""
    text = json.dumps(colony(corallite_arrangement="hydnophoroid")).encode()
    trained, new = (
        run("determine", "-", "--json", "--observer-errors", who, stdin=text).objects[0]
        for who in ("trained", "new")
    )
    by_trained, by_new = (
        next(c["probability"] for c in found["candidates"] if c["genus"] == "Hydnophora")
        for found in (trained, new)
    )
    assert by_trained > by_new


def test_a_trainers_own_reference_is_used(
    run: Runner,
    answer: dict[str, Any],
    write_tables: Callable[[Mapping[str, str]], Path],
    tables: dict[str, str],
) -> None:
    """``--reference`` answers by the folder named, and says by which version."""
    tables["settings.csv"] = tables["settings.csv"].replace("set_mass,0.9", "set_mass,0.99")
    folder, text = write_tables(tables), json.dumps(COLONY).encode()
    found = run("determine", "-", "--json", "--reference", folder, stdin=text)
    (other,) = found.objects
    assert other["reference"] != answer["reference"]
    assert len(other["verdict"]["genera"]) > len(answer["verdict"]["genera"])


def test_the_page_for_people_says_the_name_first(run: Runner) -> None:
    """Without --json the first line is a sentence; looks, checks, reasons and cautions follow."""
    found = run("determine", "-", stdin=json.dumps(COLONY).encode())
    first = found.out.splitlines()[0]
    assert (found.status, found.err) == (0, "")
    assert first.startswith("c1  ")
    assert "%" in first
    for title in ("look next", "check again", "why (decibans)", "! Look, do not touch"):
        assert title in found.out
    assert "With every look in the water made without error" in found.out


def test_a_bad_colony_never_loses_the_others(run: Runner) -> None:
    """The good are answered in their places, the bad one is named, and the status is 1."""
    lines = [
        json.dumps(colony("a", growth_form="massive")),
        json.dumps(colony("b", growth_form="massy")),
        '{"id": "c", "observations": {"growth_',
        json.dumps(colony("d", growth_form="branching")),
    ]
    found = run("determine", "-", "--json", stdin="\n".join(lines).encode())
    assert found.status == 1
    assert [item["id"] for item in found.objects] == ["a", "b", "line 3", "d"]
    assert [item.keys() == {"id", "error"} for item in found.objects] == [False, True, True, False]
    assert [item["error"] for item in found.objects[1:3]] == found.faults
    assert "growth_form: expected one of massive" in found.faults[0]
    assert found.faults[1].startswith("standard input, line 3: expected a colony as JSON")


def test_a_bad_row_never_loses_the_others(run: Runner, tmp_path: Path) -> None:
    """In a table too the good rows are answered and the bad one is named."""
    file = tmp_path / "c.csv"
    file.write_text('id,growth_form\na,massive\nb,"massive\nc,massive\n', encoding="utf-8")
    found = run("determine", file, "--json")
    assert (found.status, len(found.faults)) == (1, 1)
    assert [item["id"] for item in found.objects] == ["a", "row 3", "c"]


def test_a_bad_colony_is_named_to_people_too(run: Runner) -> None:
    """Without --json the fault goes to standard error and the answer to standard output."""
    lines = [json.dumps(colony("b", depth_m=-1)), json.dumps(colony("a", depth_m=5))]
    found = run("determine", "-", stdin="\n".join(lines).encode())
    assert found.status == 1
    assert found.faults == [
        "colony b, depth_m: expected a size from 0.1 to 200 m, found -1. Check the unit."
    ]
    assert found.out.startswith("a  ")


def test_only_bad_colonies_are_bad_input(run: Runner) -> None:
    """Where no colony can be answered the status is 2, each named on a line of its own."""
    lines = [json.dumps(colony("a", depth_m=-1)), json.dumps(colony("b", depth_m=0))]
    found = run("determine", "-", "--json", stdin="\n".join(lines).encode())
    assert (found.status, len(found.faults)) == (2, 2)
    assert [item["id"] for item in found.objects] == ["a", "b"]
