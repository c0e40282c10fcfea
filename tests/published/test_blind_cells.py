"""Cells of the reference filled a second time by somebody who had not seen them.

300 cells drawn at random over genera, forms and characters seen in the water or
with a lens; bounds are those set for the project.
"""

from __future__ import annotations

import csv
from pathlib import Path

from corallum.reference.values import SizeRange
from support import library

CELLS = Path(__file__).with_name("blind_cells.csv")
WORDS = ("never", "rarely", "sometimes", "often", "usually", "always")


def rows() -> list[dict[str, str]]:
    """Read the second filling."""
    with CELLS.open(newline="", encoding="utf-8") as stream:
        return list(csv.DictReader(stream))


def test_words_agree_within_one() -> None:
    """In 80 % of cells no state's frequency word differs by more than one step."""
    values = library().reference.entries.values
    agree = []
    for row in rows():
        first = values[row["genus"], row["form"], row["character"]].value
        if isinstance(first, SizeRange):
            continue
        second = {p.split()[1]: p.split()[0] for p in row["value"].split(";")}
        states = {*first.words, *second}
        gaps = [
            abs(WORDS.index(first.words.get(s, "never")) - WORDS.index(second.get(s, "never")))
            for s in states
        ]
        agree.append(max(gaps) <= 1)
    share = sum(agree) / len(agree)
    print(f"\nwords: {len(agree)} cells, {share:.3f} agree within one step in every state")
    assert share >= 0.8


def test_ranges_overlap() -> None:
    """In 90 % of cells the two ranges overlap."""
    values = library().reference.entries.values
    overlap = []
    for row in rows():
        first = values[row["genus"], row["form"], row["character"]].value
        if isinstance(first, SizeRange):
            low, high = (float(part) for part in row["value"].split("-"))
            overlap.append(low <= first.high and high >= first.low)
    share = sum(overlap) / len(overlap)
    print(f"\nranges: {len(overlap)} cells, {share:.3f} overlap")
    assert share >= 0.9


def test_three_hundred_cells_were_filled() -> None:
    """The second filling has 300 different cells."""
    assert len({(row["genus"], row["form"], row["character"]) for row in rows()}) == 300
