"""Who was qualified on the day of a dive, by the tests as they are kept."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from corallum.actions.survey_report_design import qualified_on
from corallum.practice.kept import Qualification

DAY = date(2026, 3, 14)
ALL = "all genera of the region"


def decided(
    ended: tuple[int, int], outcome: str = "passed", genera: tuple[str, ...] = (), year: int = 2027
) -> Qualification:
    """A test of Ana, decided on a month and day of 2026, good until the same of a year."""
    at = datetime(2026, *ended, 9, tzinfo=UTC)
    until = date(year, *ended) if outcome == "passed" else None
    over = None if outcome == "open" else at
    return Qualification("q", "ana", "set", genera, {}, outcome, at, over, until)


@pytest.mark.parametrize(
    ("tests", "expected"),
    [
        pytest.param([], "", id="no test"),
        pytest.param([decided((3, 1))], ALL, id="passed before"),
        pytest.param([decided((3, 14))], ALL, id="passed that day"),
        pytest.param([decided((3, 15))], "", id="passed a day later"),
        pytest.param([decided((3, 1), "failed")], "", id="failed"),
        pytest.param([decided((3, 1), "open")], "", id="open"),
        pytest.param([decided((3, 1), "stopped")], "", id="stopped"),
        pytest.param([decided((3, 1), year=2026)], "", id="expired"),
        pytest.param([decided((3, 14), year=2026)], ALL, id="good until that day"),
        pytest.param([decided((3, 1)), decided((3, 10), "failed")], "", id="failed after a pass"),
        pytest.param([decided((3, 10), "failed"), decided((3, 1))], "", id="in any order"),
        pytest.param([decided((3, 1), "failed"), decided((3, 10))], ALL, id="passed at last"),
        pytest.param([decided((3, 1)), decided((3, 20), "failed")], ALL, id="failed only later"),
        pytest.param([decided((3, 1), genera=("Porites",))], "Porites", id="for one genus"),
        pytest.param(
            [decided((3, 1), genera=("Porites",)), decided((3, 2), genera=("Favites",))],
            "Favites and Porites", id="lists add up",
        ),
        pytest.param(
            [decided((3, 1), genera=("Porites",)), decided((3, 2), "failed", ("Favites",))],
            "Porites", id="a failure takes its own list away",
        ),
    ],
)  # fmt: skip
def test_who_was_qualified_on_a_day(tests: list[Qualification], expected: str) -> None:
    """The newest test of a list of genera decided by that day counts, until it expires."""
    assert qualified_on(tests, "ana", DAY) == expected


def test_a_test_of_another_does_not_count() -> None:
    """A pass is of one person."""
    assert not qualified_on([decided((3, 1))], "ben", DAY)
