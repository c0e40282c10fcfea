"""Tables of slates for tests: invented, written and read."""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import pytest
from hypothesis import strategies as st

import support
from corallum.errors import InputError
from corallum.exchange.survey_tables import Columns, ImportedSlate, read_slates
from corallum.records.survey import Effort, Line, Method
from corallum.reference.said import Said, SaidResolver

LINE = Columns(Method.LINE, {
    "site": "site", "transect": "transect", "date": "date", "observer": "observer",
    "name": "name", "from_cm": "from", "to_cm": "to", "depth": "depth",
})  # fmt: skip
HEAD = "site,transect,date,observer,name,from,to,depth"
ROW = "Inner,T1,2025-04-03,Observer 1,Porites,0,12.5,5"
PLAN = Effort(length_cm=1000.0)


def resolver(meanings: Mapping[str, str] | None = None) -> Callable[[str], Said]:
    """Words against the shipped reference, in a programme of the Indo-Pacific."""
    return SaidResolver(support.library().reference, ("indo_pacific",), meanings).resolve


def read(text: str, columns: Columns = LINE, **names: Sequence[str]) -> tuple[ImportedSlate, ...]:
    """The slates of a table."""
    return read_slates(text, "s.csv", columns, resolver(), PLAN, names)


def faults(text: str, columns: Columns = LINE, **names: Sequence[str]) -> list[str]:
    """What a table is refused for, one line each."""
    with pytest.raises(InputError) as caught:
        read(text, columns, **names)
    return [str(fault) for fault in caught.value.faults]


def altered(**cells: str) -> str:
    """A table of one row with some cells altered."""
    names = HEAD.split(",")
    row = dict(zip(names, ROW.split(","), strict=True)) | cells
    out = io.StringIO(newline="")
    csv.writer(out).writerows([names, [row[name] for name in names]])
    return out.getvalue()


def of(method: Method, *roles: str, **settings_: Any) -> Columns:  # noqa: ANN401
    """Columns whose headers are the roles themselves."""
    base = ("site", "transect", "date", "observer", "name")
    return Columns(method, {role: role for role in (*base, *roles)}, **settings_)


def table(columns: Columns, *rows: str) -> str:
    """A table with a header, each row after the same transect, date and observer."""
    own = [header for role, header in columns.roles.items() if role not in ONE]
    return "\n".join([",".join([*ONE, *own]), *(f"Inner,T1,2025-04-03,O,{row}" for row in rows)])


ONE = ("site", "transect", "date", "observer")


WORDS = {
    "Porites lobata": Said("Porites", "genus"),
    "CM": Said("stony coral", "unidentified", "massive"),
    "sand": Said("sand", "other"),
    "Diaseris": Said("Cycloseris", "genus", older="Diaseris"),
}
TEXTS = st.text(st.characters(codec="utf-8", categories=["L", "N"]), min_size=1, max_size=6)
TENTHS = st.integers(0, 9999)
SETTINGS = {"iso": "%Y-%m-%d", "day_first": "%d/%m/%Y", "month_first": "%m.%d.%Y"}
# How a length in millimetres is written in each unit.
WRITTEN: dict[str, Callable[[int], str]] = {
    "mm": str,
    "cm": lambda mm: f"{mm // 10}.{mm % 10}",
    "m": lambda mm: f"{mm // 1000}.{mm % 1000:03d}",
}
OWN = {
    Method.LINE: ("from_cm", "to_cm"),
    Method.POINTS: ("point",),
    Method.PHOTO: ("frame", "point", "x", "y"),
    Method.BELT: ("diameter_cm", "off_line_cm", "count"),
    Method.QUADRAT: ("frame", "diameter_cm", "form", "colony"),
    Method.QUADRAT_COVER: ("frame", "cover_percent"),
}
NUMBERS = {
    "point": st.integers(1, 99), "frame": st.integers(1, 9), "count": st.integers(1, 50),
    "x": st.integers(0, 100).map(lambda n: n / 100), "y": st.sampled_from([0.0, 0.25, 1.0]),
    "cover_percent": st.integers(1, 100).map(float), "form": TEXTS, "colony": TEXTS,
}  # fmt: skip


@st.composite
def written_slates(draw: st.DrawFn) -> tuple[Columns, str, list[ImportedSlate]]:
    """Invented slates, and a table of them with columns of any name in any order."""
    method, dates = draw(st.sampled_from(list(Method))), draw(st.sampled_from(sorted(SETTINGS)))
    unit = draw(st.sampled_from(sorted(WRITTEN)))
    roles = [*ONE, "name", "visit", "depth", "note", *OWN[method]]
    headers = [f"c{name}" for name in draw(st.permutations(range(len(roles))))]
    columns = Columns(
        method, dict(zip(roles, headers, strict=True)), unit, unit, dates=dates
    )  # fmt: skip
    keys = st.tuples(TEXTS, TEXTS, TEXTS, TEXTS, st.dates(dt.date(1950, 1, 1), dt.date(2090, 1, 1)))
    slates, rows, number = [], [], 1
    for site, visit, transect, observer, day in draw(
        st.lists(keys, min_size=1, max_size=4, unique_by=lambda key: key[:4])
    ):
        depth = draw(st.none() | st.integers(0, 400).map(lambda n: n / 10))
        lines, numbers = [], []
        for _ in range(draw(st.integers(1, 5))):
            word = draw(st.sampled_from(sorted(WORDS)))
            values, cells, note = {}, {}, draw(st.sampled_from(["", "a, b", 'by "eye"']))
            for role in OWN[method]:
                if role in NUMBERS:
                    values[role] = draw(NUMBERS[role])
                    cells[role] = str(values[role])
                else:
                    mm = draw(TENTHS)
                    values[role], cells[role] = mm / 10, WRITTEN[unit](mm)
            said = WORDS[word]
            values["form"] = values.get("form") or said.form
            older = f"older name {said.older}" if said.older else ""
            whole = "; ".join(filter(None, [note, older]))
            lines.append(Line(word, said.label, said.kind, note=whole, **values))
            number += 1
            numbers.append(number)
            rows.append({
                "site": site, "visit": visit, "transect": transect, "observer": observer,
                "date": day.strftime(SETTINGS[dates]), "name": word, "note": note,
                "depth": "" if depth is None else str(depth), **cells,
            })  # fmt: skip
        slates.append(ImportedSlate(
            site, visit, transect, observer, day, depth, PLAN, tuple(lines), tuple(numbers), "",
        ))  # fmt: skip
    out = io.StringIO(newline="")
    order = draw(st.permutations([*roles, None]))
    writer = csv.writer(out, lineterminator=draw(st.sampled_from(["\n", "\r\n"])))
    writer.writerow(["elsewhere" if role is None else columns.roles[role] for role in order])
    writer.writerows([["1 m" if role is None else row[role] for role in order] for row in rows])
    return columns, out.getvalue(), slates
