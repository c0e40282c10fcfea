"""The model on the phone page answers as the programme's own does.

The values expected are those of ``corallum.model``, the other implementation of the same
method, which has checks of its own against published and hand-worked values.
"""

from __future__ import annotations

import json
import os
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from corallum.exchange.answers import answer_object
from corallum.model.sequence import normal_quantile, spread_points
from corallum.records.answer import Fragile, Verdict
from corallum.report.phone_rules import kernel_rules
from corallum.report.phone_script import PAGE, bundle
from corallum.web import words
from report.phone_colonies import HARD, colony_json, differences, invented_colonies
from support import colony, compiled, determiner

if TYPE_CHECKING:
    from playwright.sync_api import Page

WITHIN = 1e-9
CHUNK = 50
SEED = 20261126
ASK = "colonies => JSON.stringify(colonies.map(one => app.determiner.determine(one)))"


def answers(page: Page, colonies: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Answers of the page."""
    found: list[dict[str, Any]] = json.loads(page.evaluate(ASK, colonies))
    return found


def compared(page: Page, count: int, seed: int) -> list[str]:
    """Answer invented colonies here and there, and say where they differ."""
    colonies = [*HARD, *invented_colonies(compiled(), count - len(HARD), seed)]
    told: list[str] = []
    for start in range(0, count, CHUNK):
        part = colonies[start : start + CHUNK]
        there = answers(page, [colony_json(one) for one in part])
        for one, found in zip(part, there, strict=True):
            here = answer_object(determiner().determine(one))
            for look in here["next_looks"]:
                del look["gain_bits_per_second"]
            told += [f"{one.id}{what}" for what in differences(here, found, WITHIN)]
    return told


@pytest.mark.browser
def test_the_page_answers_as_the_programme_does(opened: Page) -> None:
    """Verdict, chances, looks, limits, what is fragile and why: equal to 1e-9 for 150 colonies."""
    assert compared(opened, 150, SEED) == []


@pytest.mark.browser
@pytest.mark.calibration
@pytest.mark.timeout(7200)
def test_the_page_answers_as_the_programme_does_for_many_more(opened: Page) -> None:
    """The same holds for colonies with sets, doubts, views, conditions and all methods.

    250 of them; CORALLUM_PHONE_COLONIES=5000 compares as many as that, in a quarter of an hour.
    """
    n = int(os.environ.get("CORALLUM_PHONE_COLONIES", "250"))
    assert compared(opened, n, SEED + 1) == []


@pytest.mark.browser
def test_a_wrong_answer_is_told_from_a_right_one(opened: Page) -> None:
    """A colony reported otherwise differs, so that the comparison can fail."""
    here = answer_object(determiner().determine(colony(corallite_arrangement="cerioid")))
    other = colony_json(colony(corallite_arrangement="plocoid"))

    assert differences(here, answers(opened, [other])[0], WITHIN) != []


@pytest.mark.browser
def test_quantiles_and_points_are_the_same(opened: Page) -> None:
    """Normal quantiles agree to 1e-12, and the points of the draws to the last digit."""
    shares = np.array([1e-12, 1e-6, 0.01, 0.074, 0.3, 0.5, 0.9, 0.926, 0.999999, 1 - 1e-12])
    quantiles = opened.evaluate(
        "([c, shares]) => shares.map(share => normalQuantile(c, share))",
        [kernel_rules()["normal_quantile"], shares.tolist()],
    )
    points = opened.evaluate("() => spreadPoints(1000, 58).map(one => Array.from(one))")

    assert np.allclose(quantiles, normal_quantile(shares), rtol=0, atol=1e-12)
    assert np.array_equal(np.array(points).T, spread_points(1000, 58))


@pytest.mark.browser
def test_numbers_are_written_alike(opened: Page) -> None:
    """Three digits that count are written as Python writes them, ties and powers of ten too."""
    rng = np.random.default_rng(SEED)
    values = [1.125, 1.135, 0.0005, 999.5, 1234.0, 99950.0, 0.00001234, 12.0, 7.25, 0.3125]
    values += np.exp(rng.uniform(-9, 12, 3000)).tolist() + (np.arange(1, 3000) / 16).tolist()

    written = opened.evaluate("values => values.map(threeDigits)", values)

    assert written == [f"{value:.3g}" for value in values]


@pytest.mark.browser
def test_sentences_are_those_of_the_pages(opened: Page) -> None:
    """A verdict and a change are said on the phone in the words of the programme's pages."""
    found = [determiner().determine(one) for one in invented_colonies(compiled(), 60, SEED)]
    verdicts = [one.verdict for one in found]
    verdicts += [
        Verdict(status, genera, "x", share, "none", needs)
        for status in ("settled", "open", "not_separable_in_water", "not_in_reference")
        for genera in (("Favites",), ("Favites", None), tuple("ABCDEF"), tuple("ABCDEFG"))
        for share in (0.9, 0.125, 0.375, 0.995, 0.99995)
        for needs in ("look", "voucher", "second_reader")
    ]
    changes = [item for one in found for item in one.fragile]
    changes.append(Fragile("columella", "left_out", ("Favites",), 0.5))
    shares = [0.0, 0.004, 0.01, 0.125, 0.5, 0.985, 0.99, 0.9901, 0.99995, 1.0]
    seconds, bits = [2.0, 30.0, 60.0, 90.0, 150.0, 200.0], [0.0, 0.04, 0.2, 0.5, 0.9]

    said = opened.evaluate(
        "([v, c, p, s, b]) => [v.map(verdictSentence), c.map(changePhrase), p.map(percent),"
        " s.map(secondsPhrase), b.map(gainPhrase)]",
        [
            [_plain(one) for one in verdicts],
            [_plain(one) for one in changes],
            shares,
            seconds,
            bits,
        ],
    )

    assert said[0] == [words.verdict_sentence(one) for one in verdicts]
    assert said[1] == [words.change_phrase(one) for one in changes]
    assert said[2] == [words.percent(one) for one in shares]
    assert said[3] == [words.seconds_phrase(one) for one in seconds]
    assert said[4] == [words.gain_phrase(one) for one in bits]


def _plain(one: Verdict | Fragile) -> dict[str, Any]:
    """Return a record as plain JSON."""
    return {name: getattr(one, name) for name in one.__dataclass_fields__}


@pytest.mark.browser
@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("observations", {"no_such_character": "x"}),
        ("observations", {"columella": "no_such_state"}),
        ("observations", {"calice_diameter_mm": {"value": 7.0, "n": 0}}),
        ("observations", {"calice_diameter_mm": {"value": 7.0, "method": "guess"}}),
        ("observations", {"calice_diameter_mm": 5000.0}),
        ("observations", {"columella": 3}),
        ("conditions", ["windy"]),
        ("region", "the_moon"),
    ],
)
def test_what_is_not_understood_is_refused(opened: Page, key: str, value: object) -> None:
    """Colonies that `corallum determine` refuses get no answer on the page either."""
    refused = opened.evaluate(
        "one => { try { app.determiner.determine(one); return ''; } "
        "catch (error) { return error.constructor.name; } }",
        {"id": "c", key: value},
    )

    assert refused == "BadColony"


def test_a_line_that_the_page_cannot_hold_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """Modules are put together only where no import or export is left over."""
    monkeypatch.setattr(
        "corallum.report.phone_script.module_text", lambda name: f"export default {name}\n"
    )

    with pytest.raises(ValueError, match="a line that the page can't hold"):
        bundle(PAGE)
