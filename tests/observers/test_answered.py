"""Reports put beside the truth: what each answer and each drawn colony teaches, and no more."""

from __future__ import annotations

import numpy as np
from told import answered, pair

from corallum.model.errors import Observer
from corallum.model.truth import draw_colonies, report_colonies
from corallum.observers.answered import beside_truth, join_answered
from corallum.records.colony import StateReport
from support import compiled

WALL, WIDTH = "corallite_arrangement", "calice_diameter_mm"


def number(id_: str) -> int:
    """Index of a character."""
    return compiled().character_index[id_]


def test_the_truth_stands_beside_what_was_reported() -> None:
    """True states are one in their column, true sizes logs; what is not shown is empty."""
    found = answered(
        [
            pair({WALL: "cerioid", WIDTH: 8.0}, {WALL: "plocoid", WIDTH: 9.0}),
            pair({WIDTH: 4.0}, {WALL: "plocoid", WIDTH: 4.5}),
            pair({WALL: "cerioid"}, {WIDTH: 5.0}),
        ]
    )
    states = compiled().characters[number(WALL)].states
    expected = np.zeros((3, len(states)))
    expected[[0, 2], states.index("cerioid")] = 1
    np.testing.assert_array_equal(found.true[number(WALL)], expected)
    np.testing.assert_allclose(
        found.true_log_sizes[number(WIDTH)], [np.log(8), np.log(4), np.nan], rtol=1e-12
    )
    np.testing.assert_allclose(
        np.exp(found.evidence.sizes[number(WIDTH)].log_value), [9, 4.5, 5], rtol=1e-12
    )
    assert set(found.true) == {number(WALL)}


def test_answers_of_nobody_are_no_answers() -> None:
    """Without answers there is nothing beside the truth."""
    found = answered([])
    assert found.evidence.size == 0
    assert (dict(found.true), dict(found.true_log_sizes)) == ({}, {})


def test_drawn_colonies_stand_beside_their_reports() -> None:
    """Of drawn colonies every report has its truth; what does not apply has a row of zeros."""
    rng = np.random.default_rng(2)
    true = draw_colonies(compiled(), rng.integers(0, compiled().n_forms - 1, 300), rng)
    looked_at = np.ones((300, len(compiled().characters)), dtype=np.bool_)
    said = report_colonies(compiled(), true, Observer.EXACT, looked_at, rng)
    found = beside_truth(compiled(), true, said)
    for c, rows in found.true.items():
        one = compiled().characters[c]
        applies = true.states[c] < len(one.states)
        np.testing.assert_array_equal(rows.sum(axis=1), applies)
        reported = said.states[c].masks[said.states[c].codes][:, :-1]
        np.testing.assert_array_equal(rows.astype(bool), reported)
    assert set(found.true) | set(found.true_log_sizes) == set(range(len(compiled().characters)))


def test_joined_reports_keep_their_order_and_their_doubts() -> None:
    """Parts put after each other keep every set, every unsure mark and every gap."""
    unsure = StateReport(("meandroid",), sure=False)
    first = answered([pair({WALL: "cerioid"}, {WALL: ["cerioid", "plocoid"]}), pair({}, {})])
    second = answered([pair({WIDTH: 8.0}, {WIDTH: 9.0})])
    third = answered([pair({WALL: "plocoid"}, {WALL: unsure})])
    joined = join_answered([first, second, third])
    states = compiled().characters[number(WALL)].states
    reports = joined.evidence.states[number(WALL)]
    named = [
        {states[s] for s in np.flatnonzero(reports.masks[code]).tolist()} for code in reports.codes
    ]
    assert named == [{"cerioid", "plocoid"}, set(), set(), {"meandroid"}]
    assert reports.sure[reports.codes].tolist() == [True, True, True, False]
    assert joined.evidence.size == 4
    width = joined.evidence.sizes[number(WIDTH)].log_value
    np.testing.assert_allclose(width, [np.nan, np.nan, np.log(9), np.nan], rtol=1e-12)
    truth = joined.true[number(WALL)].sum(axis=1)
    assert truth.tolist() == [1, 0, 0, 1]


def test_one_part_joined_is_itself() -> None:
    """Joining a single part changes no report."""
    one = answered([pair({WALL: "cerioid"}, {WALL: "plocoid"}), pair({}, {WALL: "cerioid"})])
    joined = join_answered([one]).evidence.states[number(WALL)]
    plain = one.evidence.states[number(WALL)]
    np.testing.assert_array_equal(joined.masks[joined.codes], plain.masks[plain.codes])
