"""The page of survey tables holds every role, unit, method and code that the program knows."""

from __future__ import annotations

from pathlib import Path

import pytest

from corallum.exchange.slate_text import read_slate_text
from corallum.exchange.survey_columns import DATES, ROLES, UNITS
from corallum.records.benthos import LIFE_FORMS, OTHER_COVER
from corallum.records.survey import Method
from corallum.reference.said import SaidResolver
from support import library

PAGE = Path(__file__).parents[2] / "docs/reference/survey-tables.md"


@pytest.fixture(scope="module")
def page() -> str:
    """The page."""
    return PAGE.read_text(encoding="utf-8")


def test_every_role_unit_and_method_is_documented(page: str) -> None:
    """Each stands in the page as code."""
    words = [*ROLES, *UNITS, *DATES, *Method, *OTHER_COVER, *LIFE_FORMS]
    words += [unit for units in UNITS.values() for unit in units]
    assert [word for word in words if f"`{word}`" not in page] == []


def test_every_code_is_documented_as_it_is_read(page: str) -> None:
    """The row of a code holds what it counts as, and its growth form."""
    rows = [row for row in page.splitlines() if row.startswith("| `")]
    for code, form in LIFE_FORMS.items():
        (row,) = (one for one in rows if f"`{code}`" in one)
        assert form.label in row.replace("*", "")
        assert form.growth_form.replace("_", "-") in row


def test_the_lines_that_are_shown_can_be_read(page: str) -> None:
    """Every example of a typed line is one, by its own method."""
    resolver = SaidResolver(library().reference, ("indo_pacific",))
    for method in Method:
        (row,) = (one for one in page.splitlines() if one.startswith(f"| `{method}` | "))
        shown = row.rsplit("|", 2)[1].split("`")[1::2]
        assert shown
        for line in shown:
            assert read_slate_text(line, method, resolver)
