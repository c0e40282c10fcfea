"""Cautions: shown where they are due, and no text that tempts anyone to touch or break."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

import pytest
from edit_tables import rows_of, small_tables, text_of
from hypothesis import given, settings
from hypothesis import strategies as st

import support
from corallum.actions.accounts import genus_account
from corallum.actions.references import Library
from corallum.model.answer import Determiner
from corallum.model.compile import compile_reference
from corallum.records.answer import Answer
from corallum.records.colony import Colony, StateReport
from corallum.reference.reference import parse_reference

# Fire corals sting (common practice, no source); the three hydrocorals of divers' depths.
STINGING = ("Millepora", "Stylaster", "Distichopora")


@pytest.fixture(scope="module")
def texts(library: Library) -> Mapping[str, str]:
    """Texts of the cautions, by id."""
    return library.compiled.caution_texts


def test_evidence_of_a_fire_coral_shows_that_it_stings(texts: Mapping[str, str]) -> None:
    """Pores of two sizes under hair-fine polyps: the caution on stings comes with the answer."""
    found = support.answer(openings="pores_two_sizes", fine_hairs="present")
    assert support.leader(found) == "Millepora"
    assert texts["stings"] in found.cautions
    assert "sting" in texts["stings"]
    assert "Keep clear" in texts["stings"]


def test_the_sting_shows_before_the_name_is_settled(texts: Mapping[str, str]) -> None:
    """A fire coral that is only possible is warned of all the same."""
    found = support.answer(growth_form="branching", fine_hairs="present", region="atlantic")
    assert found.verdict.status != "settled"
    assert support.probability(found, "Millepora") > 0.02
    assert texts["stings"] in found.cautions


@pytest.mark.parametrize("genus", STINGING)
def test_every_stinging_genus_carries_its_caution(library: Library, genus: str) -> None:
    """Fire corals and lace corals carry the caution on stings."""
    assert "stings" in library.reference.entries.genera[genus].cautions


@given(st.data())
@settings(max_examples=12, deadline=None)
def test_every_answer_says_look_and_do_not_touch(data: st.DataObject) -> None:
    """Whatever was reported, the first caution is to look and not to touch."""
    compiled = support.compiled()
    states = {c.id: c.states for c in compiled.characters if not c.is_size}
    chosen = data.draw(st.lists(st.sampled_from(sorted(states)), max_size=5, unique=True))
    reports = {id_: StateReport((data.draw(st.sampled_from(states[id_])),)) for id_ in chosen}
    found = support.determiner().determine(Colony("c", reports))
    assert found.cautions[0] == compiled.caution_texts["look_only"]
    assert found.cautions[0].startswith("Look, do not touch")


def test_every_account_says_look_and_do_not_touch(library: Library) -> None:
    """The account of every genus begins its cautions in the same way."""
    for genus in library.reference.entries.genera:
        assert genus_account(library, genus).cautions[0].startswith("Look, do not touch")


def twins(*, alike_inside: bool) -> Determiner:
    """A determiner on Atlantic genera with an invented twin of Diploria in all that is seen."""
    tables = dict(small_tables())
    scheme = parse_reference(tables).scheme
    for name in ("genera/atlantic.csv", "forms/atlantic.csv", "values/atlantic.csv", "priors.csv"):
        header, *rows = rows_of(tables[name])
        column = header.index("genus")
        for row in [row for row in rows if row[column] == "Diploria"]:
            twin = ["Twinia" if cell == "Diploria" else cell for cell in row]
            character = scheme.characters.get(row[2])
            skeleton = character is not None and character.seen == "k" and not character.is_size
            if name.startswith("values") and character and skeleton and not alike_inside:
                others = [state for state in character.state_ids if state not in row[3]]
                twin[3] = f"always {others[0]}" if others else row[3]
            rows.append(twin)
        tables[name] = text_of([header, *rows])
    return Determiner(compile_reference(parse_reference(tables)))


def look(determiner: Determiner) -> Answer:
    """The answer for a colony that looks like Diploria from outside."""
    seen = {
        "growth_form": "massive", "corallite_arrangement": "meandroid", "wall_groove": "present",
        "centres_per_valley": "many", "tissue": "thin", "septal_teeth": "fine",
        "septo_costae_confluent": "absent", "monticules": "absent",
    }  # fmt: skip
    reports = {id_: StateReport((state,)) for id_, state in seen.items()}
    return determiner.determine(Colony("c", reports, "atlantic"))


def test_a_voucher_is_never_named_without_the_permit(texts: Mapping[str, str]) -> None:
    """Twins that only the skeleton parts need a voucher, and the caution on permits says so."""
    found = look(twins(alike_inside=False))
    assert found.verdict.status == "not_separable_in_water"
    assert set(found.verdict.genera) >= {"Diploria", "Twinia"}
    assert found.verdict.needs == "voucher"
    assert texts["voucher"] in found.cautions
    assert "permit" in texts["voucher"]
    assert "CITES" in texts["voucher"]


def test_no_voucher_is_named_where_none_would_help(texts: Mapping[str, str]) -> None:
    """Twins inside and out need a second reader: nothing need be taken."""
    found = look(twins(alike_inside=True))
    assert found.verdict.status == "not_separable_in_water"
    assert found.verdict.needs == "second_reader"
    assert texts["voucher"] not in found.cautions


# What would tempt someone to put a hand on a colony, or harm it.
TEMPTING = re.compile(
    r"\bsafe(ly)? to\b|\bharmless\b|\bdoes not sting\b|\bcan be (touched|handled|held)\b"
    r"|\b(touch|feel|stroke|rub|squeeze|poke|prod|handle|grasp|pick up|lift|turn over)\b"
    r"|\b(break|snap|chip|chisel|hammer|prise|pry|scrape|peel|cut|crack)\b( it\b| a\b| off\b)"
    r"|\b(take|collect|bring) (a |some )?(piece|sample|fragment|specimen|colony)\b",
    re.IGNORECASE,
)
# The same words where they warn.
WARNING = re.compile(
    r"do not touch|burn at a touch|\bnever break\b|breaks off by itself|\bneeds? a permit\b",
    re.IGNORECASE,
)


def sentences(tables: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    """Every sentence of every cell of the tables, with where it stands."""
    for name, text in tables.items():
        for number, row in enumerate(rows_of(text), start=1):
            for cell in row:
                for sentence in re.split(r"(?<=[.;!?:])\s+", cell):
                    yield f"{name}, row {number}", sentence


def test_no_text_says_or_implies_that_touching_is_safe(shipped_tables: Mapping[str, str]) -> None:
    """No sentence of the tables speaks of touching, handling, breaking or taking but to warn."""
    found = [
        (where, sentence)
        for where, sentence in sentences(shipped_tables)
        if TEMPTING.search(WARNING.sub("", sentence))
    ]
    assert found == []


@pytest.mark.parametrize(
    "sentence",
    [
        "It is safe to touch with a glove",
        "Feel the surface with a finger",
        "Break off a tip and look inside",
        "Chip a piece from the rim",
        "Turn over the disc to see the stalk",
        "Millepora can be handled",
        "Take a sample of the wall",
    ],
)
def test_the_check_of_texts_would_find_what_it_looks_for(sentence: str) -> None:
    """The words that the check looks for are the ones it should."""
    assert TEMPTING.search(WARNING.sub("", sentence))
