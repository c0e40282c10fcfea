"""What a table of slates is refused for: each kind of fault, and what lies just beside it."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import Any

import pytest

from corallum.exchange.survey_tables import (
    read_slates,
)
from corallum.records.survey import Method
from slate_tables import (
    HEAD,
    LINE,
    PLAN,
    ROW,
    altered,
    faults,
    of,
    read,
    resolver,
    table,
)

# Single faults, in full: expected, found, where, what to do.
NUMBER = "expected a number in cm, found "
DAY = "s.csv, row 2, date: expected a day as YYYY-MM-DD, found "
ONE_FAULT = [
    pytest.param({"to": "3.2 m"}, f"s.csv, row 2, to: {NUMBER}'3.2 m', a number with its unit. "
                 "Write the number alone, and set one unit for the column.", id="unit"),
    pytest.param({"depth": "10ft"}, "s.csv, row 2, depth: expected a number in m, found '10ft', a "
                 "number with its unit. Write the number alone, and set one unit for the column.",
                 id="feet in the cell"),
    pytest.param({"depth": "10'"}, "s.csv, row 2, depth: expected a number in m, found \"10'\", a "
                 "number with its unit. Write the number alone, and set one unit for the column.",
                 id="sign of feet"),
    pytest.param({"to": "12,5"}, "s.csv, row 2, to: expected a number in cm with a decimal point, "
                 "found '12,5'. Write a point before decimals, and nothing between thousands.",
                 id="decimal comma"),
    pytest.param({"to": "NaN"}, f"s.csv, row 2, to: {NUMBER}'NaN', which is no number. "
                 "Leave it blank, or mend it.", id="nan"),
    pytest.param({"to": "-inf"}, f"s.csv, row 2, to: {NUMBER}'-inf', which is no number. "
                 "Leave it blank, or mend it.", id="infinite"),
    pytest.param({"to": "1e99"}, "s.csv, row 2, to: expected a number in cm up to 1e+07, found "
                 "'1e99'. Check it, and its unit.", id="huge"),
    pytest.param({"to": "٣"}, f"s.csv, row 2, to: {NUMBER}'٣'. Write a number.", id="digits"),
    pytest.param({"from": "-3"}, "s.csv, row 2, from: expected a number in cm that is not "
                 "negative, found '-3'. Write it without the sign if it is right.", id="negative"),
    pytest.param({"to": ""}, "s.csv, row 2, to: expected a number, found nothing. Fill it in, or "
                 "leave the whole row out.", id="blank"),
    pytest.param({"site": ""}, "s.csv, row 2, site: expected a site, found nothing. Fill it in on "
                 "every row.", id="no site"),
    pytest.param({"name": ""}, "s.csv, row 2, name: expected a name of what was met, found "
                 "nothing. Fill it in, or leave the whole row out.", id="no name"),
    pytest.param({"date": "45306"}, f"{DAY}'45306', a serial day of a spreadsheet, which would be "
                 "2024-01-15. Set dates to excel, or format the cells as YYYY-MM-DD and save "
                 "again.", id="serial day"),
    pytest.param({"date": "03/04/2025"}, f"{DAY}'03/04/2025', which may be 2025-04-03 or "
                 "2025-03-04. Set dates to day_first or month_first, or write YYYY-MM-DD.",
                 id="ambiguous"),
    pytest.param({"date": "13/04/2025"}, f"{DAY}'13/04/2025', which may be 2025-04-13. Set dates "
                 "to day_first, or write YYYY-MM-DD.", id="day first"),
    pytest.param({"date": "2025-02-30"}, "s.csv, row 2, date: expected a day of the calendar, "
                 "found '2025-02-30'. Check the day and the month.", id="no such day"),
    pytest.param({"date": "31/31/2025"}, "s.csv, row 2, date: expected a day of the calendar, "
                 "found '31/31/2025'. Check the day and the month.", id="no day in any order"),
    pytest.param({"date": "3/4/25"}, f"{DAY.removesuffix(', found ')}, the year in four digits, "
                 "found '3/4/25'. Write the year in full.", id="short year"),
    pytest.param({"date": "0025-04-03"}, "s.csv, row 2, date: expected a year from 1900 to 2199, "
                 "found '0025-04-03'. Check the year.", id="odd year"),
    pytest.param({"date": "spring"}, f"{DAY}'spring'. Write one day, such as 2025-04-03.",
                 id="no date"),
    pytest.param({"name": "Poritez lobata"}, "s.csv, row 2, name: expected a name that is known, "
                 "found 'Poritez lobata'. Did you mean Porites or ", id="unknown name"),
    pytest.param({"name": "Favia pallida"}, "s.csv, row 2, name: expected a genus of today, found "
                 "'Favia pallida', an older name that was split. Say which: set its meaning to ",
                 id="split name"),
    pytest.param({"observer": "x" * 121}, "s.csv, row 2, observer: expected 1 to 120 characters "
                 f"on one line, found '{'x' * 36}.... Shorten or mend it.", id="long"),
]  # fmt: skip


@pytest.mark.parametrize(("cells", "wanted"), ONE_FAULT)
def test_a_fault_says_what_to_do(cells: dict[str, str], wanted: str) -> None:
    """Each kind of fault is one line: what was expected, found, where, and what to do."""
    (found,) = faults(altered(**cells))
    assert found.startswith(wanted)


def test_faults_of_all_rows_are_told_at_once() -> None:
    """Nothing is read where anything is wrong; the hundred first faults are told, the rest counted.

    A word that stands on several rows is told once.
    """
    row = ROW.replace("12.5", "x").replace("Porites", "Nixia")
    found = faults("\n".join([HEAD, *[row] * 150]))
    assert len(found) == 101
    assert found[99] == f"s.csv, row 101, to: {NUMBER}'x'. Write a number."
    assert found[100] == "s.csv: expected no faults, found 51 more. Mend these first."
    few = faults("\n".join([HEAD, ROW, *[ROW.replace("Porites", "Nixia")] * 3]))
    (only,) = few
    assert only.startswith("s.csv, row 3, name: expected a name that is known, found 'Nixia', on 3")


def test_a_column_of_the_wrong_thing_is_told_quickly() -> None:
    """A column of thousands of words that no reference knows is left after some hundred."""
    rows = [ROW.replace("Porites", f"Station {n}") for n in range(5000)]
    found = faults("\n".join([HEAD, *rows]))
    assert found[0] == (
        "s.csv, name: expected at most 200 words that can't be read, found more, so that the rest "
        "was left unread. Is it the right column?"
    )


PLAIN = {role: role for role in ("site", "transect", "date", "observer", "name")}


@pytest.mark.parametrize(
    ("change", "wanted"),
    [
        pytest.param({"roles": {**LINE.roles, "nix": "a"}}, "roles: expected a role of a column, "
                     "found 'nix'", id="unknown role"),
        pytest.param({"roles": {**LINE.roles, "count": "a"}}, "roles: expected a role that a line "
                     "intercept uses, found 'count'", id="role of another method"),
        pytest.param({"roles": {**LINE.roles, "note": "site"}}, "roles: expected one role of the "
                     "column 'site', found site and note", id="two roles"),
        pytest.param({"roles": {**LINE.roles, "note": "nix"}}, "row 1: expected a column nix, "
                     "found site, transect, date", id="no such header"),
        pytest.param({"roles": {k: v for k, v in LINE.roles.items() if k != "name"}}, "columns: "
                     "expected a column for name, found none", id="no name"),
        pytest.param({"roles": {k: v for k, v in LINE.roles.items() if k != "to_cm"}}, "columns: "
                     "expected either from_cm and to_cm, or reading_cm, or intercept_cm, found "
                     "from_cm", id="half an intercept"),
        pytest.param({"roles": {**LINE.roles, "parent_event": "of"}}, "columns: expected a column "
                     "for event, found none", id="parents without events"),
        pytest.param({"method": Method.PHOTO, "roles": {"x": "x", "frame": "frame", **PLAIN}},
                     "columns: expected a column for y, found none", id="half a place"),
        pytest.param({"method": Method.PHOTO, "roles": PLAIN}, "columns: expected a column for "
                     "frame or parent_event, found none", id="no frame"),
        pytest.param({"method": Method.QUADRAT_COVER, "roles": {"frame": "frame", **PLAIN}},
                     "columns: expected a column for cover_percent, found none", id="no percent"),
        pytest.param({"length_unit": "fathom"}, "length_unit: expected one of cm, m, mm, in, found "
                     "'fathom'", id="unit"),
        pytest.param({"dates": "lunar"}, "dates: expected one of iso, day_first, month_first, "
                     "excel, found 'lunar'", id="dates"),
    ],
)  # fmt: skip
def test_columns_that_do_not_fit_are_faults(change: dict[str, Any], wanted: str) -> None:
    """Roles that are unknown, missing or there twice are told before any row."""
    assert faults(f"{HEAD}\n{ROW}", replace(LINE, **change))[0].startswith(f"s.csv, {wanted}")


@pytest.mark.parametrize(
    ("header", "unit", "wanted"),
    [
        pytest.param("depth (ft)", "m", "speaks of ft. Set the depth unit to ft.", id="ft"),
        pytest.param("Depth_feet", "m", "speaks of ft. Set the depth unit to ft.", id="feet"),
        pytest.param("minimumDepthInMeters", "ft", "speaks of m. Set the depth unit to m.",
                     id="metres"),
        pytest.param("depth cm", "m", "speaks of cm. Convert the column to m.", id="neither"),
        pytest.param("depth (ft)", "ft", "", id="as set"),
        pytest.param("shift depth", "m", "", id="ft within a word"),
    ],
)  # fmt: skip
def test_a_header_of_another_unit_is_a_fault(header: str, unit: str, wanted: str) -> None:
    """A header that speaks of another unit than the one that is set is told, once."""
    columns = replace(LINE, roles={**LINE.roles, "depth": header}, depth_unit=unit)
    text = f"{HEAD.replace('depth', header)}\n{ROW}"
    if not wanted:
        assert len(read(text, columns)) == 1
        return
    assert [line.partition("which ")[2] for line in faults(text, columns)] == [wanted]


# One foot is .3048 m and one inch 2.54 cm exactly (international yard and pound agreement, 1959).
def test_units_are_exact() -> None:
    """Ten feet are 3.048 m, one inch is 2.54 cm, 3.2 m are 320 cm and 35 mm are 3.5 cm."""
    feet = read(altered(depth="10", to="10", date="2025-04-03"),
                replace(LINE, depth_unit="ft", length_unit="in"))[0]  # fmt: skip
    assert (feet.depth_m, feet.lines[0].to_cm) == (3.048, 25.4)
    assert read(altered(to="3.2"), replace(LINE, length_unit="m"))[0].lines[0].to_cm == 320.0
    belt = of(Method.BELT, "diameter_cm", diameter_unit="mm")
    text = table(belt, "Porites,35").replace("diameter_cm", "wide")
    belt = replace(belt, roles={**belt.roles, "diameter_cm": "wide"})
    assert read(text, belt)[0].lines[0].diameter_cm == 3.5


# ECMA-376 part 1, 18.17.4: 1 is 1900-01-01, and 60 the 29 February that 1900 did not have;
# 45306 is 2024-01-15, counted by hand: 45292 days to 2024-01-01 (124 years of 365 days, 31
# leap days by then with the false one, and 1).
@pytest.mark.parametrize(
    ("cell", "day"),
    [
        pytest.param("1", dt.date(1900, 1, 1), id="first"),
        pytest.param("59", dt.date(1900, 2, 28), id="before the false leap day"),
        pytest.param("61", dt.date(1900, 3, 1), id="after the false leap day"),
        pytest.param("45306", dt.date(2024, 1, 15), id="of our day"),
        pytest.param("45306.75", dt.date(2024, 1, 15), id="with a time of day"),
        pytest.param("60", None, id="the false leap day"),
        pytest.param("0", None, id="none"),
        pytest.param("-5", None, id="negative"),
        pytest.param("9999999", None, id="far"),
        pytest.param("2024-01-15", None, id="no serial"),
    ],
)  # fmt: skip
def test_serial_days_of_a_spreadsheet(cell: str, day: dt.date | None) -> None:
    """A serial day is read in the 1900 system, its false leap day refused."""
    columns = replace(LINE, dates="excel")
    if day is None:
        assert faults(altered(date=cell), columns)[0].startswith("s.csv, row 2, date: expected a s")
    else:
        assert read(altered(date=cell), columns)[0].date == day


@pytest.mark.parametrize(
    ("dates", "cell", "day"),
    [
        pytest.param("day_first", "3/4/2025", dt.date(2025, 4, 3), id="day first"),
        pytest.param("month_first", "3/4/2025", dt.date(2025, 3, 4), id="month first"),
        pytest.param("day_first", "03.04.2025", dt.date(2025, 4, 3), id="points"),
        pytest.param("day_first", "2025-04-03", dt.date(2025, 4, 3), id="year first"),
        pytest.param("iso", "2025-04-03T10:15:00Z", dt.date(2025, 4, 3), id="with a time"),
        pytest.param("day_first", "4/13/2025", None, id="month first where day first is set"),
        pytest.param("month_first", "13/4/2025", None, id="day first where month first is set"),
        pytest.param("day_first", "3/4.2025", None, id="mixed"),
        pytest.param("iso", "2025-04-03/2025-04-05", None, id="several days"),
        pytest.param("iso", "2025-4-3", None, id="short"),
    ],
)  # fmt: skip
def test_days_are_read_in_the_order_that_is_set(dates: str, cell: str, day: dt.date | None) -> None:
    """A day is read in the order that is set, and in no other."""
    columns = replace(LINE, dates=dates)
    if day is None:
        assert "date: expected a day as" in faults(altered(date=cell), columns)[0]
    else:
        assert read(altered(date=cell), columns)[0].date == day


def test_names_of_the_programme_are_asked_for() -> None:
    """A site or observer that the programme does not know is told once, with the nearest."""
    text = "\n".join([HEAD, ROW, ROW.replace("T1", "T2")])
    assert len(read(text, site=["Inner"], observer=["Observer 1", "Observer 2"])) == 2
    assert faults(text, site=["Innes", "Outer"], observer=[]) == [
        "s.csv, row 2, site: expected a site that the programme knows, found 'Inner', on 2 rows. "
        "Did you mean Innes?",
        "s.csv, row 2, observer: expected an observer that the programme knows, found "
        "'Observer 1', on 2 rows. Add the observer to the programme, or check the spelling.",
    ]


def test_a_meaning_settles_a_split_or_unknown_word() -> None:
    """What the columns say of a word is used, whether the resolver was told of it or not."""
    meanings = {"Favia": "Dipsastraea", "carbonate": "rock"}
    columns = replace(LINE, meanings=meanings)
    text = "\n".join(
        [HEAD, ROW.replace("Porites", "Favia sp."), ROW.replace("Porites", "Carbonate")]
    )
    for resolve in (resolver(), resolver(meanings)):
        (slate,) = read_slates(text, "s.csv", columns, resolve, PLAN)
        assert [(one.said, one.label, one.note) for one in slate.lines] == [
            ("Favia sp.", "Dipsastraea", "older name Favia"), ("Carbonate", "rock", ""),
        ]  # fmt: skip
    family = replace(LINE, meanings={**meanings, "Favia": "Merulinidae"})
    assert read(text, family)[0].lines[0].label == "Merulinidae"
    wrong = faults(text, replace(LINE, meanings={**meanings, "carbonate": "nix"}))
    assert wrong[0].startswith(
        "s.csv, row 3, name: expected a name that is known, found 'Carbonate"
    )
