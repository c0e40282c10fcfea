"""Strata and their sites as a table: one site a row, every fault by row."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from corallum.errors import InputError
from corallum.exchange.strata import GivenStratum, read_strata

HEAD = "stratum,area,site"


def faults(*rows: str, head: str = HEAD) -> list[str]:
    """Faults of a table."""
    with pytest.raises(InputError) as caught:
        read_strata("\n".join([head, *rows]), "s.csv")
    return [str(fault) for fault in caught.value.faults]


def test_sites_are_put_together_by_stratum() -> None:
    """Strata and sites come in the order of the rows."""
    found = read_strata(f"{HEAD}\nslope,2.5,B\nflat,1,A\nslope,2.5,C\n", "s.csv")
    assert found == (GivenStratum("slope", 2.5, ("B", "C")), GivenStratum("flat", 1.0, ("A",)))


@pytest.mark.parametrize("area", ["0", "-1", "nan", "inf", "", "a lot", "1,5", "=1+1"])
def test_an_area_is_a_number_above_nought(area: str) -> None:
    """Anything else is told by its row and column."""
    (fault,) = faults(f'flat,"{area}",A')
    assert fault.startswith("s.csv, row 2, column area: expected a number above 0")
    assert fault.isprintable()


def test_every_fault_is_told() -> None:
    """Blank cells, two areas of one stratum and a site twice are told together."""
    found = faults("flat,1,A", ",1,B", "flat,1,", "flat,2,C", "slope,3,A")
    assert [line.split(":")[0] for line in found] == [
        "s.csv, row 3", "s.csv, row 4", "s.csv, row 5, column area", "s.csv, row 6, column site",
    ]  # fmt: skip
    assert "expected 1, as in the rows above, found 2" in found[2]


@pytest.mark.parametrize("text", ["", "\n", HEAD, "a,b,c\n1,2,3", "stratum,area\nflat,1", "\x00"])
def test_what_is_no_table_of_strata(text: str) -> None:
    """No text, a header alone and other columns are refused."""
    with pytest.raises(InputError):
        read_strata(text, "s.csv")


WORDS = st.text(st.characters(codec="utf-8", categories=["L", "N"]), min_size=1, max_size=8)


@settings(max_examples=50, deadline=None)
@given(
    names=st.lists(WORDS, min_size=1, max_size=4, unique=True),
    sites=st.lists(WORDS, min_size=8, max_size=8, unique=True),
    areas=st.lists(st.integers(1, 10**6), min_size=4, max_size=4),
)
def test_what_is_written_is_read(names: list[str], sites: list[str], areas: list[int]) -> None:
    """Any strata of any sites are read back as they were written."""
    given_ = [
        GivenStratum(name, areas[i] / 8, tuple(sites[2 * i : 2 * i + 2]))
        for i, name in enumerate(names)
    ]
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(HEAD.split(","))
    writer.writerows([one.name, one.area, site] for one in given_ for site in one.sites)
    assert read_strata(out.getvalue(), "s.csv") == tuple(given_)
