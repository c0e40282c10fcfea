"""A published survey of line intercepts, read as a table whose columns are told."""

from __future__ import annotations

import csv
import io
import statistics
from collections import Counter
from functools import cache
from pathlib import Path

import pytest

import support
from corallum.errors import InputError
from corallum.exchange.survey_tables import Columns, ImportedSlate, read_slates
from corallum.records.amounts import amount_of
from corallum.records.benthos import GENUS, is_living_coral
from corallum.records.survey import Effort, Method
from corallum.reference.said import SaidResolver

# van Woesik and Cacciapaglia, Palau and Yap 2017 (BCO-DMO 737508).
TABLE = Path(__file__).parents[3] / "shared" / "data" / "palau_yap_line_intercepts.csv"
pytestmark = pytest.mark.skipif(
    not TABLE.is_file(), reason="the open data are not beside this checkout (../shared/data)"
)

# What the words of the table that no reference holds are; none of them is a stony coral.
MEANINGS = {
    "Carbonate": "rock", "Sand and Rubble": "rubble", "Sand & Rubble": "rubble", "SR": "rubble",
    "Hal": "macroalgae", "Halimeda": "macroalgae", "Macroalgae Red": "macroalgae",
    "Green bubble algae": "macroalgae", "Peyssonnelia": "macroalgae",
    "Porolithon sp. (calcerous macroalgae)": "coralline algae", "Sponge encrusting": "sponge",
    "Sponge orange": "sponge", "Xenia": "soft coral", "Sinularia": "soft coral",
    "Litophyton sp.": "soft coral", "Sarcophyton": "soft coral",
    "Nephthea soft coral": "soft coral", "Palythoa": "zoanthid", "Ascidiacea": "other animals",
    "Ascidian": "other animals", "Clam": "other animals", "Tridacna sp. (clam)": "other animals",
}  # fmt: skip
COLUMNS = Columns(Method.LINE, {
    "site": "place", "transect": "transect", "date": "date", "observer": "observer",
    "name": "label", "intercept_cm": "intercept_cm", "note": "genus",
}, meanings=MEANINGS)  # fmt: skip
# Where the table's genus and ours part, and why.
KNOWN = {
    # Wallace et al. 2007 raised Isopora, by species: a genus name alone can't tell it.
    ("Acropora palifera", "Isopora", "Acropora"): 1,
    # An octocoral with a skeleton, counted here among those that are named to genus.
    ("Tubipora musica", "", "Tubipora"): 2,
    # Left blank in the table, which names Favites on its 5 other rows of that species.
    ("favites pentagona", "", "Favites"): 1,
}


def rows() -> list[dict[str, str]]:
    """The rows of the table, with one name for a site and an invented day and observer.

    The table gives neither a day nor an observer of a transect.
    """
    with TABLE.open(encoding="utf-8", newline="") as stream:
        found = list(csv.DictReader(stream))
    return [
        {"place": f"{row['country']} {row['site']}", "date": "2017-07-01", "observer": "O", **row}
        for row in found
    ]


def text() -> str:
    """The table that is read."""
    out = io.StringIO(newline="")
    table = rows()
    writer = csv.DictWriter(out, list(table[0]))
    writer.writeheader()
    writer.writerows(table)
    return out.getvalue()


@cache
def slates() -> tuple[ImportedSlate, ...]:
    """All slates of the survey."""
    words = SaidResolver(support.library().reference, ("indo_pacific",), MEANINGS)
    return read_slates(text(), TABLE.name, COLUMNS, words.resolve, Effort(length_cm=1000.0))


def test_every_transect_is_read_to_its_end() -> None:
    """48 sites with 6 transects each are read, every intercept, to the end of a 10 m tape."""
    found = slates()
    assert len(found) == 288
    assert set(Counter(slate.site for slate in found).values()) == {6}
    assert sum(len(slate.lines) for slate in found) == len(rows())
    assert {slate.lines[-1].to_cm for slate in found} == {1000.0}


def test_genera_are_those_of_the_table() -> None:
    """Genera agree with the table's on every row but the few that are told above."""
    parted: Counter[tuple[str, str, str]] = Counter()
    for slate in slates():
        for line in slate.lines:
            genus, theirs = (line.label if line.kind == GENUS else ""), line.note
            if genus != theirs:
                parted[line.said, theirs, genus] += 1
    print("\nparted:", parted)
    assert parted == KNOWN


def test_tapes_that_ran_backwards_are_kept_for_the_checks() -> None:
    """The 20 rows that the table marks as out of order are read as they stand, and no others."""
    odd = [row["order_error"] for row in rows()]
    back = {
        number - 2
        for slate in slates()
        for number, line in zip(slate.rows, slate.lines, strict=True)
        if (line.to_cm or 0.0) <= (line.from_cm or 0.0)
    }
    assert back == {at for at, mark in enumerate(odd) if mark == "1"}
    assert len(back) == 20


def test_cover_of_hard_coral_is_as_published() -> None:
    """Mean cover of hard coral over the transects is 41 %, its standard deviation 20.

    The figures are those that the data are described with, in whole percent.
    """
    covers = [
        sum(amount_of(Method.LINE, one) for one in slate.lines if is_living_coral(one.kind)) / 10
        for slate in slates()
    ]
    print("\ncover:", statistics.mean(covers), statistics.stdev(covers))
    assert statistics.mean(covers) == pytest.approx(41.0, abs=0.5)
    assert statistics.stdev(covers) == pytest.approx(20.0, abs=0.5)


def test_words_without_a_meaning_are_told_once_each() -> None:
    """Without meanings the table is refused, each word once, with its rows counted."""
    words = SaidResolver(support.library().reference, ("indo_pacific",))
    bare = Columns(Method.LINE, COLUMNS.roles)
    with pytest.raises(InputError) as caught:
        read_slates(text(), TABLE.name, bare, words.resolve, Effort(length_cm=1000.0))
    found = [fault.found for fault in caught.value.faults]
    assert len(found) == len(MEANINGS)
    carbonate = sum(row["label"] == "Carbonate" for row in rows())
    assert f"'Carbonate', on {carbonate} rows" in found
