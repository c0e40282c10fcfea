"""One small programme for each test, opened as the lead at this machine."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from starlette.testclient import TestClient

from corallum.actions.people import AddPerson, add_person, list_people
from corallum.actions.programmes import CreateProgramme, create_programme
from corallum.store.programme import Programme
from corallum.web.app import create_app
from web.opened import LOCAL, NOW, OWN, Pages


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
