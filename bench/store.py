"""A programme of 100,000 colonies: every list, the start page, one record, one tap.

The colonies are invented and written in bulk; their history is sealed as always.
"""

from __future__ import annotations

import json
import os
import sys
import tempfile
import time
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import sqlalchemy as sa

from corallum.actions.backups import make_backup, verify_programme
from corallum.actions.colonies import (
    AddEvidence,
    ColonyFilter,
    add_evidence,
    get_colony,
    list_colonies,
)
from corallum.actions.colony_answers import SaveDetermination, answer_colony, save_determination
from corallum.actions.people import list_people
from corallum.actions.places import AddSite, add_site
from corallum.actions.programmes import CreateProgramme, create_programme
from corallum.actions.second_opinions import list_vouchers, waiting_readings
from corallum.actions.unit_of_work import new_id
from corallum.actions.waiting import waiting_work
from corallum.store import schema
from corallum.store.history import seal_of, time_text
from corallum.store.programme import Programme
from measure import median_seconds

__all__ = ["bench_store"]

SEED = 41
COLONIES = 100_000
WANTED_MS = 300
NOW = datetime(2026, 6, 1, 8, 0, tzinfo=UTC)
GENERA = ("Acropora", "Favites", "Dipsastraea", "Porites", "Goniastrea", "Platygyra", "Pavona")
STATUSES = ("settled", "open", "not_separable_in_water", "overridden", "not_determined")
REPORTS = (
    ("growth_form", '{"states": ["massive"], "sure": true}'),
    ("corallite_arrangement", '{"states": ["plocoid"], "sure": true}'),
    ("calice_diameter_mm", '{"method": "ruler", "n": 5, "sure": true, "value": 7.5}'),
)


def _fill(programme: Programme, colonies: int, rng: np.random.Generator) -> None:
    """Write colonies in bulk."""
    lead = list_people(programme)[0].id
    sites = [
        add_site(programme, AddSite(f"Site {i}", "red_sea"), NOW, rng, lead).id for i in range(40)
    ]
    made = _rows(programme, colonies, (lead, sites), rng)
    with programme.write() as connection:
        connection.exec_driver_sql("PRAGMA defer_foreign_keys = ON")
        for piece in made:
            for table, rows in piece:
                connection.execute(table.insert(), rows)


def _rows(
    programme: Programme, colonies: int, who: tuple[str, list[str]], rng: np.random.Generator
) -> Iterator[list[tuple[sa.Table, list[dict[str, Any]]]]]:
    """Yield rows of all tables, a thousand colonies at a time."""
    lead, sites = who
    newest = sa.select(schema.history.c.id, schema.history.c.hash)
    with programme.read() as connection:
        last = connection.execute(newest.order_by(schema.history.c.id.desc()).limit(1)).one()
    id_, seal = last
    for start in range(0, colonies, 1000):
        lines: list[dict[str, Any]] = []
        log: list[dict[str, Any]] = []
        entries: list[dict[str, Any]] = []
        for number in range(start + 1, start + 1001):
            line = _line(number, lead, sites, rng)
            lines.append(line)
            rows: list[tuple[str, str, str]] = [
                ("region", "", '"red_sea"'), ("observer", "", f'"{lead}"'),
                ("site", "", f'"{line["site"]}"'), ("seen_on", "", f'"{line["seen_on"]}"'),
                *(("report", subject, report) for subject, report in REPORTS),
            ]  # fmt: skip
            for i in range(len(rows) + 1):
                id_ += 1
                kind, subject, report = rows[i - 1] if i else ("", "", "")
                row = {"colony": line["id"], "kind": kind, "subject": subject, "report": report,
                       "measurement": None}  # fmt: skip
                started = {"table": "colony", "row": {"id": line["id"], "number": number}}
                detail = {"table": "entry", "row": row} if i else started
                values = {
                    "id": id_, "at": time_text(NOW), "person": lead,
                    "verb": "start" if i < 5 else "report", "colony": line["id"],
                    "detail": json.dumps(detail, sort_keys=True), "undoes": None, "previous": seal,
                }  # fmt: skip
                seal = values["hash"] = seal_of(values)
                log.append(values)
                if i:
                    entries.append({"history": id_, **row})
        yield [(schema.colony, lines), (schema.history, log), (schema.entry, entries)]


def _line(number: int, lead: str, sites: list[str], rng: np.random.Generator) -> dict[str, Any]:
    """One invented colony as lists show it."""
    status = STATUSES[rng.choice(5, p=[0.55, 0.25, 0.08, 0.02, 0.1])]
    genus = GENERA[rng.integers(len(GENERA))]
    named = status in ("settled", "overridden")
    shown = f"{genus} sp." if named else "" if status == "not_determined" else "Merulinidae indet."
    day = date(2024, 1, 1) + timedelta(days=int(rng.integers(882)))
    return {
        "id": new_id(rng), "number": number, "name": f"colony at buoy {number % 97}",
        "genus": genus if named else None, "shown_name": shown, "status": status,
        "needs": "voucher" if status == "not_separable_in_water" else "nothing",
        "probability": 0.9, "kind": "model" if shown else "", "site": sites[number % 40],
        "event": None, "region": "red_sea", "seen_on": day.isoformat(),
        "changed_at": time_text(NOW), "observer": lead, "photo": None, "withdrawn": False,
        "words": f"{number} colony at buoy {number % 97} {shown}".casefold(),
        "waits_reading": bool(rng.random() < 0.01),
        "waits_voucher": status == "not_separable_in_water",
    }  # fmt: skip


def bench_store(colonies: int = COLONIES) -> list[str]:
    """Return lines of figures."""
    rng = np.random.default_rng(SEED)
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "programme"
        command = CreateProgramme("Invented reserve", ("red_sea",), "Lead")
        programme = create_programme(folder, command, NOW, rng)
        start = time.perf_counter()
        _fill(programme, colonies, rng)
        size = (folder / "corallum.db").stat().st_size / 1e6
        lines = [
            f"{colonies:,} colonies, {8 * colonies:,} history entries: {size:.0f} MB, made in "
            f"{time.perf_counter() - start:.0f} s"
        ]
        lines += [*_lists(programme), *_one(programme, rng), *_copies(programme, Path(place))]
        programme.close()
    return lines


def _lists(programme: Programme) -> list[str]:
    """Time every list."""
    page = list_colonies(programme, ColonyFilter(status="settled"))
    site = page.rows[0].site
    asked = {
        "all": ColonyFilter(),
        "all, last page": ColonyFilter(page=list_colonies(programme, ColonyFilter()).pages),
        "by genus": ColonyFilter(genus="Favites"),
        "by status": ColonyFilter(status="open"),
        "by site": ColonyFilter(site=site),
        "by genus and site": ColonyFilter(genus="Favites", site=site),
        "by days": ColonyFilter(since=date(2025, 1, 1), until=date(2025, 3, 1)),
        "by text, many": ColonyFilter(text="buoy 42"),
        "by text, none": ColonyFilter(text="nowhere"),
        "by everything": ColonyFilter(
            genus="Favites", status="settled", site=site, since=date(2024, 6, 1), text="buoy"
        ),
        "waiting for a reading": ColonyFilter(waits="reading"),
        "200 rows": ColonyFilter(size=200),
    }
    works = {
        f"list {name}": (lambda one=one: list_colonies(programme, one))
        for name, one in asked.items()
    }
    works["start page"] = lambda: waiting_work(programme, NOW)
    works["second readings"] = lambda: waiting_readings(programme)
    works["vouchers"] = lambda: list_vouchers(programme)
    return [
        f"{name}: {1000 * median_seconds(work, 9):.0f} ms median (wanted {WANTED_MS})"
        for name, work in works.items()
    ]


def _one(programme: Programme, rng: np.random.Generator) -> list[str]:
    """Time one colony."""
    lead = list_people(programme)[0].id
    row = list_colonies(programme, ColonyFilter()).rows[0]
    tap = AddEvidence(row.id, "report", "columella", "spongy")

    def whole_tap() -> None:
        answer_colony(programme, add_evidence(programme, tap, NOW, rng, lead))

    whole_tap()
    works = {
        "one record": (lambda: get_colony(programme, row.id), ""),
        "evidence written, synced": (lambda: add_evidence(programme, tap, NOW, rng, lead), ""),
        "answer": (lambda: answer_colony(programme, row.id), " (wanted 50)"),
        "tap: evidence written and answered": (whole_tap, ""),
        "determination kept": (
            lambda: save_determination(programme, SaveDetermination(row.id), NOW, rng, lead), "",
        ),
    }  # fmt: skip
    return [
        f"{name}: {1000 * median_seconds(work, 15):.1f} ms median{wanted}"
        for name, (work, wanted) in works.items()
    ]


def _copies(programme: Programme, place: Path) -> list[str]:
    """Time a backup and its check."""
    start = time.perf_counter()
    make_backup(programme, place / "copy", NOW)
    copied = time.perf_counter() - start
    start = time.perf_counter()
    found = verify_programme(place / "copy")
    return [
        f"backup: {copied:.1f} s; verify: {time.perf_counter() - start:.1f} s "
        f"({found.history:,} entries of the history)"
    ]


if __name__ == "__main__":
    count = int(sys.argv[1]) if len(sys.argv) > 1 else COLONIES
    os.environ.setdefault("OMP_NUM_THREADS", "2")
    for text in bench_store(count):
        print(text, flush=True)
