"""Which column holds what: kept as an object, checked, and guessed from headers."""

from __future__ import annotations

from dataclasses import asdict, replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from corallum.errors import InputError
from corallum.exchange.survey_tables import (
    ROLES,
    Columns,
    columns_from_object,
    columns_to_object,
    guess_columns,
)
from corallum.records.survey import Method
from slate_tables import (
    written_slates,
)

# Columns, kept and guessed.


@given(written_slates())
@settings(max_examples=20)
def test_columns_come_back_as_they_were(case: tuple[Columns, str, object]) -> None:
    """Kept as an object and read again, columns are the same."""
    columns = replace(case[0], meanings={"Favia": "Dipsastraea"})
    kept = columns_from_object(columns_to_object(columns), "kept")
    assert asdict(kept) == asdict(columns)


@pytest.mark.parametrize(
    ("value", "places"),
    [
        pytest.param([], [""], id="list"),
        pytest.param(None, [""], id="nothing"),
        pytest.param({}, ["method", "roles"], id="empty"),
        pytest.param({"method": "belt", "roles": {"nix": "a"}, "far": 1}, ["", "roles"],
                     id="unknown keys"),
        pytest.param({"method": ["belt"], "roles": {"site": 5}}, ["method", "roles, 'site'"],
                     id="types"),
        pytest.param({"method": "belt", "roles": {}, "dates": None, "depth_unit": {}},
                     ["depth_unit", "dates"], id="units"),
        pytest.param({"method": "belt", "roles": {"site": "a", "note": "a"}, "meanings": {"x": ""}},
                     ["meanings, 'x'", "roles"], id="twins"),
    ],
)  # fmt: skip
def test_an_object_that_is_no_columns_is_refused(value: object, places: list[str]) -> None:
    """Every key and value that is not known is told at once."""
    with pytest.raises(InputError) as caught:
        columns_from_object(value, "kept")
    assert [fault.place for fault in caught.value.faults] == places


def test_columns_are_guessed_from_common_headers() -> None:
    """Headers of the trade and terms of Darwin Core are known, whatever their case and blanks."""
    dwc = ["eventID", "parentEventID", "eventDate", "verbatimIdentification", "scientificName",
           "locality", "recordedBy", "minimumDepthInMeters", "organismQuantity"]  # fmt: skip
    assert guess_columns(dwc, Method.BELT) == {
        "event": "eventID", "parent_event": "parentEventID", "date": "eventDate",
        "name": "verbatimIdentification", "site": "locality", "observer": "recordedBy",
        "depth": "minimumDepthInMeters", "count": "organismQuantity",
    }  # fmt: skip
    own = ["Site Name", "TRANSECT_NO", "Date", "Diver", "Genus", "Start (cm)", "End (cm)", "length"]
    assert guess_columns(own, Method.LINE) == {
        "site": "Site Name", "transect": "TRANSECT_NO", "date": "Date", "observer": "Diver",
        "name": "Genus", "from_cm": "Start (cm)", "to_cm": "End (cm)",
    }  # fmt: skip
    assert guess_columns(list(ROLES), Method.QUADRAT_COVER)["cover_percent"] == "cover_percent"


HEADERS = st.sampled_from([*ROLES, "length", "eventID", "Depth (m)", "", "🪸"]) | st.text(
    max_size=9
)


@given(st.lists(HEADERS), st.sampled_from(list(Method)))
def test_a_guess_gives_no_column_two_roles(header: list[str], method: Method) -> None:
    """Whatever the header, guesses are roles of the method, and columns that are there, once."""
    found = guess_columns(header, method)
    assert found.keys() <= ROLES.keys()
    assert set(found.values()) <= set(header)
    assert len(set(found.values())) == len(found)
