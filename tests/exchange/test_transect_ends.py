"""Ends of transects out of a table."""

from __future__ import annotations

import pytest

from corallum.errors import InputError
from corallum.exchange.transect_ends import TransectEnds, read_transect_ends

HEAD = "survey,site,transect,from_latitude,from_longitude,to_latitude,to_longitude\n"


def test_both_ends_are_read() -> None:
    """A row holds the names of a transect, and latitude and longitude of both ends."""
    found = read_transect_ends(f"{HEAD}Spring,Site 1,T1,0.1,35.1,0.2,-35\n", "ends.csv")

    assert found == (TransectEnds("Spring", "Site 1", "T1", ((0.1, 35.1), (0.2, -35.0)), 2),)


def test_every_fault_is_told_by_row_and_column() -> None:
    """Degrees off the earth, blanks and a transect that stands twice, all at once."""
    text = (
        f"{HEAD}Spring,Site 1,T1,0.1,35.1,0.2,35.2\n"
        "Spring,Site 1,T1,0.1,35.1,0.2,35.2\n"
        "Spring,,T2,91,35.1,0.2,east\n"
    )
    with pytest.raises(InputError) as error:
        read_transect_ends(text, "ends.csv")

    assert [str(fault) for fault in error.value.faults] == [
        "ends.csv, row 3: expected each transect once, found the transect of row 2. Mend it.",
        "ends.csv, row 4, column from_latitude: expected degrees from -90 to 90, found '91'. "
        "Mend it.",
        "ends.csv, row 4, column to_longitude: expected degrees from -180 to 180, found 'east'. "
        "Mend it.",
        "ends.csv, row 4: expected survey, site and transect, found a blank cell. Mend it.",
    ]


def test_a_table_without_rows_is_refused() -> None:
    """A header alone tells of no transect."""
    with pytest.raises(InputError, match="expected rows under the header"):
        read_transect_ends(HEAD, "ends.csv")
