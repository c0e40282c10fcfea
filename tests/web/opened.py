"""Pages that are opened without a browser."""

from __future__ import annotations

import io
from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np
from PIL import Image
from starlette.testclient import TestClient

from corallum.actions.colonies import StartColony, start_colony
from corallum.store.programme import Programme

__all__ = ["LOCAL", "NOW", "OWN", "Pages", "picture"]

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
