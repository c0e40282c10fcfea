"""How figures of a survey are said, and what was reckoned is kept."""

from __future__ import annotations

import threading
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from corallum.actions.result_words import digits_of, doubt_sentence, figure, number
from corallum.actions.survey_estimates import Span
from corallum.web.results_files import file_name
from corallum.web.results_kept import KeptResults

NAN, INF = float("nan"), float("inf")


@pytest.mark.parametrize(
    ("span", "unit", "said"),
    [
        pytest.param(Span(12.345, 9.81, 15.6, 1.4), "%", "12.3 (9.8 to 15.6)", id="two of the se"),
        pytest.param(Span(12.345, 12.2, 12.5, 0.07), "%", "12.35 (12.20 to 12.50)", id="sure"),
        pytest.param(Span(43.2, 20.0, 64.0, 12.0), "%", "43 (20 to 64)", id="unsure"),
        pytest.param(Span(3.0, NAN, NAN, NAN), "%", "3.00", id="no interval"),
        pytest.param(Span(0.5, 0.1, INF, 0.4), "%", "0.50 (0.10 or more, no upper end)", id="inf"),
        pytest.param(Span(2.0, 0.1, 140.0, 2.0), "%", "2.0 (0.1 or more, no upper end)", id="full"),
        pytest.param(Span(70.0, 50.0, 104.0, 9.0), "%", "70.0 (50.0 to 100.0)", id="all of it"),
        pytest.param(
            Span(2.0, 1.0, 140.0, 0.9), "colonies per m2", "2.00 (1.00 or more, no upper end)",
            id="density",
        ),
        pytest.param(Span(0.0, 0.0, 0.0, 0.0), "%", "0.0 (0.0 to 0.0)", id="none"),
    ],
)  # fmt: skip
def test_a_figure_has_the_digits_that_count(span: Span, unit: str, said: str) -> None:
    """Digits follow the standard error; an end that says nothing is told in words."""
    found = figure(span, unit)

    assert found is not None
    assert found.whole == said


def test_a_change_has_its_sign() -> None:
    """A change has a plus or a true minus, and 0 has neither."""
    found = figure(Span(-4.2, -8.1, 0.02, 2.0), "%", sign=True)

    assert found is not None
    assert found.whole == "−4.2 (−8.1 to 0.0)"


def test_what_there_is_no_figure_of_is_none() -> None:
    """No figure and a broken one are none."""
    assert figure(None, "%") is None
    assert figure(Span(NAN, NAN, NAN, NAN), "%") is None


def test_what_is_left_of_a_sum_is_no_standard_error() -> None:
    """A standard error of rounding alone adds no digits."""
    assert digits_of(Span(-15.0, -15.0, -15.0, 3e-15)) == digits_of(Span(-15.0, NAN, NAN, NAN))


@given(st.floats(-1e9, 1e9), st.integers(0, 4))
def test_a_number_reads_back(value: float, digits: int) -> None:
    """A written number is the number, to its digits, and is never a minus zero."""
    text = number(value, digits, sign=True)

    assert float(text.replace("−", "-")) == pytest.approx(value, abs=0.5000001 * 10**-digits)
    assert not text.startswith("−") or float(text.replace("−", "-")) < 0


def test_the_doubt_of_names_is_told_as_a_length() -> None:
    """Names of 36 % of a variance leave an interval of 80 % without them, by the square root."""
    assert "36\u00a0%" in doubt_sentence(0.36)
    assert "20\u00a0% shorter" in doubt_sentence(0.36)
    assert "next to none" in doubt_sentence(1e-15)
    assert doubt_sentence(None) == ""


@given(st.lists(st.text(max_size=30), max_size=4))
def test_a_file_name_is_one_everywhere(parts: list[str]) -> None:
    """A file's name has small letters, digits and dashes only, and is never empty."""
    name = file_name(*parts)

    assert name
    assert set(name) <= set("abcdefghijklmnopqrstuvwxyz0123456789-")


def test_what_is_asked_twice_is_reckoned_once() -> None:
    """Two who ask at the same time wait for one reckoning; after a writing it is made anew."""
    results, times = KeptResults(), []
    begun, go = threading.Event(), threading.Event()

    def work() -> int:
        times.append(1)
        begun.set()
        go.wait(10)
        return len(times)

    found: list[int] = []
    ask: Callable[[], None] = lambda: found.append(results.of(1, "q", work))  # noqa: E731
    threads = [threading.Thread(target=ask) for _ in range(3)]
    threads[0].start()
    begun.wait(10)
    for thread in threads[1:]:
        thread.start()
    go.set()
    for thread in threads:
        thread.join(10)

    assert found == [1, 1, 1]
    assert results.of(2, "q", work) == 2


def test_a_failure_is_not_kept() -> None:
    """What failed is tried again when it is asked for again."""
    results = KeptResults()

    def fail() -> int:
        raise ValueError

    with pytest.raises(ValueError):  # noqa: PT011  its kind is all it has
        results.of(1, "q", fail)

    assert results.of(1, "q", lambda: 7) == 7
