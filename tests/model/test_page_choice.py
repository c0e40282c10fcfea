"""The choice of a field sheet: its stated objective, the best of small ones, and laws."""

from __future__ import annotations

import itertools
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from slow_model import SlowModel

from corallum.model.compiled import CompiledReference
from corallum.model.errors import Observer
from corallum.model.likelihood import Kernel
from corallum.model.page_accuracy import Sheet, Trial, score_added_rows, score_rows
from corallum.model.page_budget import PageBudget, ask_page
from corallum.model.page_choice import account_for, choose_page
from corallum.model.page_search import page_curve, search_sheet
from corallum.model.posterior import posterior
from corallum.model.prior import genus_prior
from corallum.records.colony import Colony, Report, SizeReport, StateReport
from small_page import CHARACTERS, COLONIES, GENERA, SEED, SIZE, ask, trial
from support import compiled


@cache
def best_of(rows: int, columns: int, of: Trial | None = None) -> float:
    """The best expected accuracy of all sheets of one size, each tried."""
    tried = of or trial()
    sheets = [list(kept) for kept in itertools.combinations(range(len(GENERA)), rows)]
    best = 0.0
    for some in itertools.combinations(tried.question.characters, columns):
        genus = tried.genus(some)
        best = max(best, *(float(genus[kept].max(axis=0).mean()) for kept in sheets))
    return best


def as_colony(of: Trial, i: int, columns: tuple[int, ...]) -> Colony:
    """One colony of a trial as a person would write it, with some of its characters."""
    reports: dict[str, Report] = {}
    for c in columns:
        character = of.compiled.characters[c]
        if character.is_size:
            sizes = of.evidence.sizes[c]
            value = float(np.exp(sizes.log_value[i]))
            reports[character.id] = SizeReport(value, int(sizes.n[i]), sizes.method[i])
        else:
            names = (*character.states, "not_applicable")
            reports[character.id] = StateReport((names[of.evidence.states[c].codes[i] - 1],))
    return Colony("c", reports, "indo_pacific", None, ())


def test_the_objective_is_that_of_the_slow_model() -> None:
    """Colony by colony, the chance that the best genus on the sheet is right is the slow model's.

    The slow model is written from the definition, in plain loops; here its probabilities
    are brought to 1 over the genera of the region, and the largest on the sheet is taken.
    """
    columns = trial().question.characters
    rows = (0, 3, 4, 9)
    fast = score_rows(trial().genus(columns), rows)
    slow, prior = SlowModel(compiled()), genus_prior(compiled(), "indo_pacific").tolist()
    # The slow model has no words for a size that does not apply.
    sized = ~np.isnan(trial().evidence.sizes[compiled().character_index[SIZE]].log_value)
    for i in np.flatnonzero(sized)[:8].tolist():
        genus = slow.genus(as_colony(trial(), i, columns), prior)
        met = [genus[g] for g in trial().genera]
        assert fast[i] == pytest.approx(max(met[row] for row in rows) / sum(met), abs=1e-9)


@pytest.mark.parametrize("seen", [("w",), ("w", "l")])
def test_the_objective_is_that_of_the_posterior(seen: tuple[str, ...]) -> None:
    """From many characters of a whole region P(genus) is the posterior's, scaled to its genera."""
    question = ask_page(compiled(), Observer.NEW, "red_sea", seen=seen)
    wide = Trial.draw(question, 60, np.random.default_rng(3))
    for columns in (question.characters, question.characters[::3]):
        found = posterior(
            Kernel(compiled(), Observer.NEW),
            wide.reports(columns),
            genus_prior(compiled(), "red_sea"),
        )
        met = found.genus[:, wide.genera]
        expected = (met / met.sum(axis=1, keepdims=True)).T
        np.testing.assert_allclose(wide.genus(columns), expected, rtol=0, atol=1e-12)


@pytest.mark.parametrize(
    ("rows", "columns"), [(6, 4), (3, 2), (2, 6), (9, 3), (1, 1), (12, 4), (6, 8)]
)
def test_the_choice_is_near_the_best_of_all(rows: int, columns: int) -> None:
    """On 12 genera and 8 characters the sheet reaches 98 % of the best that trying all finds."""
    found = search_sheet(trial(), PageBudget(rows, columns))
    assert len(found.rows) == rows
    assert len(found.columns) <= columns
    assert trial().score(found) >= 0.98 * best_of(rows, columns)


@pytest.mark.parametrize(
    ("region", "rows", "columns"),
    [("red_sea", 10, 8), ("atlantic", 10, 8), ("eastern_pacific", 4, 7)],
)
def test_no_single_change_helps(region: str, rows: int, columns: int) -> None:
    """No genus and no character of a sheet can be exchanged, or left out, to its advantage."""
    question = ask_page(compiled(), Observer.UNKNOWN, region)
    wide = Trial.draw(question, 150, np.random.default_rng(SEED))
    found = search_sheet(wide, PageBudget(rows, columns))
    score, genus = wide.score(found), wide.genus(found.columns)
    for row in found.rows:
        others = [one for one in found.rows if one != row]
        for other in range(len(wide.genera)):
            assert score_rows(genus, [*others, other]).mean() <= score + 1e-9
    for c in found.columns:
        fewer = tuple(one for one in found.columns if one != c)
        for other in (*question.characters, None):
            changed = fewer if other is None else (*fewer, other)
            assert wide.score(replace(found, columns=changed)) <= score + 1e-9


def test_a_search_from_a_sheet_is_never_worse_than_it() -> None:
    """Given the best of all sheets to start from, the search returns one as good."""
    columns = trial().question.characters
    best = max(
        (Sheet(rows, some) for rows in itertools.combinations(range(len(GENERA)), 2)
         for some in itertools.combinations(columns, 3)),
        key=trial().score,
    )  # fmt: skip
    found = search_sheet(trial(), PageBudget(2, 3), start=best)
    assert trial().score(found) == pytest.approx(best_of(2, 3), abs=1e-12)


def test_more_room_is_never_worse() -> None:
    """With each row and each column more, the expected accuracy stays or rises."""
    scores = np.array(
        [
            [trial().score(search_sheet(trial(), PageBudget(r, c))) for c in range(1, 9)]
            for r in (1, 2, 4, 6, 9, 12)
        ]
    )
    assert (np.diff(scores, axis=0) >= -1e-9).all()
    assert (np.diff(scores, axis=1) >= -1e-9).all()
    assert scores[-1, -1] > scores[0, 0] + 0.3


def test_one_page_more_is_never_worse() -> None:
    """Each number of pages has a sheet that fits, at least as good as that of one page less."""
    curve = page_curve(trial(), PageBudget(3, 2, 5))
    scores = [score for _, _, score in curve]
    assert [room.pages for room, _, _ in curve] == [1, 2, 3, 4, 5]
    assert scores == sorted(scores)
    for room, sheet, _ in curve:
        size = (len(sheet.rows), len(sheet.columns))
        shapes = room.shapes(len(GENERA), len(CHARACTERS))
        assert any(size[0] <= rows and size[1] <= columns for rows, columns in shapes)


def with_useless(id_: str) -> CompiledReference:
    """The reference with one character that all forms show alike."""
    reference = compiled()
    c = reference.character_index[id_]
    character = reference.characters[c]
    same = np.tile(character.true[-1], (len(character.true), 1))
    characters = list(reference.characters)
    characters[c] = replace(character, true=same)
    return replace(reference, characters=tuple(characters))


@pytest.mark.parametrize("id_", ["growth_form", "corallite_arrangement", "living_colour"])
def test_a_useless_character_never_has_a_column(id_: str) -> None:
    """A character that every form shows alike is left out, however many columns there are."""
    reference = with_useless(id_)
    small = Trial.draw(ask(reference), COLONIES, np.random.default_rng(SEED))
    useless = reference.character_index[id_]
    for columns in (1, 4, 8):
        found = search_sheet(small, PageBudget(6, columns))
        assert found.columns
        assert useless not in found.columns
    left = account_for(small, found).left_characters
    assert next(one.gain for one in left if one.character == id_) == pytest.approx(0, abs=1e-12)


def test_the_same_seed_gives_the_same_sheet() -> None:
    """A choice depends on the seed alone, not on the order in which things were named."""
    budget = PageBudget(5, 3)
    one, two = (choose_page(ask(), budget, np.random.default_rng(4), colonies=200) for _ in "ab")
    backwards = ask(characters=CHARACTERS[::-1])
    three = choose_page(backwards, budget, np.random.default_rng(4), colonies=200)
    other = choose_page(ask(), budget, np.random.default_rng(5), colonies=200)
    assert one == two == three
    assert one.accuracy != other.accuracy


def test_scores_by_hand() -> None:
    """Two colonies of three genera: the numbers are added up by hand."""
    genus = np.array([[0.5, 0.2], [0.3, 0.3], [0.2, 0.5]])
    assert score_rows(genus, (0,)).tolist() == [0.5, 0.2]
    assert score_rows(genus, (0, 1)).mean() == pytest.approx(0.4)
    assert score_rows(genus, (0, 2)).mean() == pytest.approx(0.5)
    # "Not on this sheet" has .5 and .8; halved, .25 and .4.
    assert score_rows(genus, (0,), 1.0).tolist() == pytest.approx([0.5, 0.8])
    assert score_rows(genus, (0,), 0.5).tolist() == pytest.approx([0.5, 0.4])
    assert score_rows(genus, (), 1.0).tolist() == [1.0, 1.0]
    assert score_added_rows(genus, (0,)).tolist() == pytest.approx([-1.0, 0.4, 0.5])


@settings(max_examples=60, deadline=None)
@given(
    arrays(np.float64, (5, 7), elements=st.floats(0.01, 1)),
    st.sets(st.integers(0, 4), max_size=4),
    st.sampled_from([0.0, 0.3, 1.0]),
)
def test_an_added_row_scores_as_the_longer_sheet(
    weights: np.ndarray, rows: set[int], credit: float
) -> None:
    """The score with a genus added is that of the sheet that has it; without credit never less."""
    genus = weights / weights.sum(axis=0)
    added = score_added_rows(genus, sorted(rows), credit)
    for row in set(range(5)) - rows:
        longer = float(score_rows(genus, sorted({*rows, row}), credit).mean())
        assert added[row] == pytest.approx(longer, abs=1e-12)
        if not credit:
            assert longer >= score_rows(genus, sorted(rows)).mean() - 1e-12


def test_credit_makes_a_sheet_that_says_more_often_what_is_not_on_it() -> None:
    """Searched with credit for "not on this sheet", a sheet has more of it than one without."""
    budget = PageBudget(4, 3)
    plain = search_sheet(trial(), budget)
    credited = search_sheet(trial(), budget, credit=1.0)
    assert len(credited.rows) == 4
    assert trial().score(credited, 1.0) > trial().score(plain, 1.0)
    assert trial().score(plain) > trial().score(credited)


def test_what_must_have_a_place_has_it() -> None:
    """Named genera and characters are on the sheet, and the rest is chosen around them."""
    budget = PageBudget(4, 3, genera=("Galaxea", "Lobophyllia"), characters=("living_colour",))
    found = search_sheet(trial(), budget)
    names = {compiled().genera[trial().genera[row]] for row in found.rows}
    ids = {compiled().characters[c].id for c in found.columns}
    free = search_sheet(trial(), PageBudget(4, 3))
    assert names > {"Galaxea", "Lobophyllia"}
    assert ids > {"living_colour"}
    assert (len(found.rows), len(found.columns)) == (4, 3)
    assert trial().score(found) < trial().score(free)


def test_the_account_adds_up() -> None:
    """Costs have the right sign, limits are in order, and every colony is accounted for."""
    choice = account_for(trial(), search_sheet(trial(), PageBudget(5, 3)))
    assert len(choice.genera) + len(choice.left_genera) == len(GENERA)
    assert len(choice.characters) + len(choice.left_characters) == len(CHARACTERS)
    assert choice.accuracy.value <= choice.all_genera.value <= choice.unlimited.value
    assert choice.accuracy.value <= choice.all_characters.value <= choice.unlimited.value
    assert choice.accuracy.value <= choice.told.value
    assert sum(one.share for one in (*choice.genera, *choice.left_genera)) == pytest.approx(1)
    for held in choice.genera:
        named = held.right + sum(share for _, share in held.taken_for)
        # Names of less than 1 % of its colonies are not listed: four others at most.
        assert 1 - 4 * 0.01 <= named <= 1 + 1e-9
        assert held.worth >= 0
    for left in choice.left_genera:
        assert 1 - 5 * 0.01 <= sum(share for _, share in left.taken_for) <= 1 + 1e-9
        assert left.gain >= 0
        assert 0 <= left.noticed <= 1 + 1e-9
    for character in choice.characters:
        if not compiled().characters[compiled().character_index[character.character]].conditional:
            assert character.applies == pytest.approx(1)
        if character.states:
            assert sum(share for _, share in character.states) == pytest.approx(
                character.applies, abs=0.03
            )


def test_not_on_this_sheet_is_said_where_it_is_most_probable() -> None:
    """With no character looked at, all have the answer of the mix: counted by hand from it."""
    mix = trial().mix
    first = int(mix.argmax())
    common = account_for(trial(), Sheet((first,), ()))
    rare = account_for(trial(), Sheet((int(mix.argmin()),), ()))
    off = 1 - float(mix[first])
    assert common.told.value == pytest.approx(max(off, 1 - off))
    assert common.accuracy.value == pytest.approx(1 - off)
    assert rare.told.value == pytest.approx(1 - float(mix.min()))
    assert all(one.noticed == pytest.approx(float(off > 0.5)) for one in common.left_genera)
    assert all(one.noticed == pytest.approx(1) for one in rare.left_genera)
    three = tuple(np.argsort(-mix)[:3].tolist())
    assert mix[first] > 1 - mix[list(three)].sum()
    held = account_for(trial(), Sheet(tuple(sorted(three)), ()))
    assert all(one.noticed == 0 for one in held.left_genera)


def test_a_choice_is_judged_on_other_colonies_than_it_was_made_on() -> None:
    """The accuracy is that of the second colonies drawn, what was searched that of the first."""
    choice = choose_page(ask(), PageBudget(5, 3), np.random.default_rng(6), colonies=150)
    rng = np.random.default_rng(6)
    first, second = Trial.draw(ask(), 150, rng), Trial.draw(ask(), 150, rng)
    assert choice.searched == first.score(choice.sheet)
    assert choice.accuracy.value == second.score(choice.sheet)
    assert first.score(choice.sheet) != second.score(choice.sheet)


def test_what_becomes_of_genera_adds_up_to_the_accuracy() -> None:
    """Colonies named right, genus by genus, are the accuracy: shares by P(genus) of the trial."""
    sheet = Sheet((0, 2, 5, 7, 10), trial().question.characters[:3])
    choice = account_for(trial(), sheet)
    weight = trial().genus(sheet.columns).mean(axis=1)
    of = {compiled().genera[g]: float(w) for g, w in zip(trial().genera, weight, strict=True)}
    total = sum(one.right * of[one.genus] for one in choice.genera)
    assert total == pytest.approx(choice.accuracy.value, abs=1e-12)


def test_a_row_or_a_column_is_worth_what_the_sheet_loses_without_it() -> None:
    """Worth and gain are differences of the scores of two sheets."""
    sheet = Sheet((0, 2, 5, 7, 10), trial().question.characters[:3])
    choice = account_for(trial(), sheet)
    score = trial().score(sheet)
    first = next(one for one in choice.genera if one.genus == GENERA[0])
    assert first.worth == pytest.approx(score - trial().score(replace(sheet, rows=(2, 5, 7, 10))))
    other = next(one for one in choice.left_genera if one.genus == GENERA[1])
    more = replace(sheet, rows=(0, 1, 2, 5, 7, 10))
    assert other.gain == pytest.approx(trial().score(more) - score)
    id_ = compiled().characters[sheet.columns[-1]].id
    last = next(one for one in choice.characters if one.character == id_)
    fewer = replace(sheet, columns=sheet.columns[:2])
    assert last.worth == pytest.approx(score - trial().score(fewer))


def test_better_observers_have_better_sheets() -> None:
    """With the same room a trained team names more right than a new one."""
    found = []
    for observer in (Observer.TRAINED, Observer.NEW):
        question = ask_page(
            compiled(), observer, "indo_pacific", genera=GENERA, characters=CHARACTERS
        )
        choice = choose_page(question, PageBudget(6, 4), np.random.default_rng(SEED), colonies=2000)
        found.append(choice.accuracy)
    assert found[0].value > found[1].value + 2 * np.hypot(found[0].se, found[1].se)
