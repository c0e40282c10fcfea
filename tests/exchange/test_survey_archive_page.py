"""The page on the survey archive names every column and every measurement."""

from __future__ import annotations

from pathlib import Path

import pytest

from corallum.exchange.survey_archive.shape import (
    EVENT_TYPES,
    KINDS,
    LEFT_OUT,
    LINE_FIELDS,
    MEMBERS,
    READ_AGAIN,
    VERIFICATION,
)

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def page() -> str:
    """Text of the page."""
    return (ROOT / "docs" / "reference" / "archive.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("member", MEMBERS, ids=lambda member: member.file)
def test_every_column_is_documented(page: str, member: object) -> None:
    """Each table has a heading, and under it a row for each of its columns in order."""
    file, names = member.file, member.names  # type: ignore[attr-defined]  # a Member
    part = page.split(f"## {file}\n")[1].split("\n## ", maxsplit=1)[0]
    rows = [line.split("`")[1] for line in part.splitlines() if line.startswith("| `")]
    assert rows[: len(names)] == list(names)


def test_every_word_of_ours_is_documented(page: str) -> None:
    """Types of events and measurements and the list of verification stand on the page."""
    words = [
        *EVENT_TYPES.values(), *VERIFICATION, *(kind for _, kind, _ in LINE_FIELDS),
        *(f"{LEFT_OUT}, {kind}" for kind in KINDS.values()),
        *(f"{READ_AGAIN}, {kind}" for kind in KINDS.values()),
    ]  # fmt: skip
    assert [word for word in words if f"`{word}`" not in page] == []
