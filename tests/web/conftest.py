"""Pages without a browser: one small programme for all tests that only read."""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from starlette.testclient import TestClient

from corallum.actions.colonies import StartColony, start_colony
from corallum.actions.people import AddPerson, add_person, list_people
from corallum.actions.programmes import CreateProgramme, create_programme
from corallum.store.programme import Programme
from corallum.web.app import create_app

NOW = datetime(2026, 3, 14, 9, 30, tzinfo=UTC)
LOCAL = "http://127.0.0.1:8420"
# What a browser sends with a form of the page itself.
OWN = {"sec-fetch-site": "same-origin"}


@dataclass
class Pages:
    """A programme, a client of its pages, and who is in it."""

    programme: Programme
    client: TestClient
    people: dict[str, str]

    def colony(self) -> str:
        """Start a colony and return its id."""
        return start_colony(
            self.programme, StartColony(), NOW, np.random.default_rng(), self.people["Lead"]
        ).id


def picture(width: int = 320, height: int = 240) -> bytes:
    """Return a PNG of noise."""
    grey = np.random.default_rng(1).integers(0, 255, (height, width), dtype=np.uint8)
    out = io.BytesIO()
    Image.fromarray(grey).save(out, "PNG")
    return out.getvalue()


@pytest.fixture
def programme(tmp_path: Path) -> Iterator[Programme]:
    """Make a programme with a lead, an observer and a reader."""
    rng = np.random.default_rng(3)
    command = CreateProgramme("Invented", ("indo_pacific",), "Lead")
    made = create_programme(tmp_path / "p", command, NOW, rng)
    lead = list_people(made)[0].id
    for name, role in (("Observer 1", "observer"), ("Guest", "reader")):
        add_person(made, AddPerson(name, role), NOW, rng, lead)
    yield made
    made.close()


@pytest.fixture
def pages(programme: Programme) -> Pages:
    """Open the pages as the lead at this machine."""
    client = TestClient(
        create_app(programme), base_url=LOCAL, headers=OWN, raise_server_exceptions=False
    )
    people = {person.name: person.id for person in list_people(programme)}
    return Pages(programme, client, people)
