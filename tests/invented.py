"""An invented programme for tests: a reserve, people and colonies that do not exist."""

from __future__ import annotations

import io
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
from PIL import Image

from corallum.actions.colonies import AddEvidence, StartColony, add_evidence, start_colony
from corallum.actions.people import AddPerson, add_person, list_people
from corallum.actions.programmes import CreateProgramme, create_programme
from corallum.records.colony_record import ColonyRecord
from corallum.store.programme import Programme

NOW = datetime(2026, 3, 14, 9, 30, tzinfo=UTC)
# A massive plocoid colony that the shipped reference does not settle.
LOOKS = {
    "growth_form": "massive",
    "corallite_arrangement": ["plocoid", "cerioid"],
    "calice_diameter_mm": {"value": 7.5, "n": 5, "method": "ruler"},
    "columella": {"state": "spongy", "sure": False},
}


class Team:
    """A programme with a lead, two observers and a reader, and a clock that ticks."""

    def __init__(self, folder: Path, seed: int = 1) -> None:
        self.rng = np.random.default_rng(seed)
        self.ticks = 0
        command = CreateProgramme("Invented reserve", ("red_sea",), "Lead")
        self.programme: Programme = create_programme(folder, command, self.now(), self.rng)
        self.lead = list_people(self.programme)[0].id
        self.observer = self._person("Observer 1", "observer")
        self.second = self._person("Observer 2", "observer")
        self.reader = self._person("Reader", "reader")

    def now(self) -> datetime:
        """One second after the last time it was asked."""
        self.ticks += 1
        return NOW + timedelta(seconds=self.ticks)

    def by(self, person: str | None = None) -> tuple[datetime, np.random.Generator, str]:
        """What every action takes after its command; the first observer by default."""
        return self.now(), self.rng, person or self.observer

    def _person(self, name: str, role: str) -> str:
        return add_person(self.programme, AddPerson(name, role), *self.by(self.lead)).id

    def colony(self, looks: dict[str, object] | None = None, **about: object) -> ColonyRecord:
        """A colony with what was seen of it."""
        command = StartColony(**about)  # type: ignore[arg-type]
        record = start_colony(self.programme, command, *self.by())
        for character, value in (LOOKS if looks is None else looks).items():
            record = self.see(record.id, character, value)
        return record

    def see(self, colony: str, character: str, value: object) -> ColonyRecord:
        """Report one character."""
        command = AddEvidence(colony, "report", character, value)
        return add_evidence(self.programme, command, *self.by())


def picture(seed: int = 1, size: tuple[int, int] = (64, 48), kind: str = "JPEG") -> bytes:
    """A picture of noise, each seed another."""
    noise = np.random.default_rng(seed).integers(0, 255, (size[1], size[0], 3), dtype=np.uint8)
    stream = io.BytesIO()
    Image.fromarray(noise).save(stream, kind)
    return stream.getvalue()
