"""The description of a data set, judged by a library for such descriptions.

The referee is metapype (its rules for EML 2.2.0), from PyPI.
"""

from __future__ import annotations

import datetime as dt
import re
import warnings
from dataclasses import replace

import pytest

from corallum.exchange.archive.eml import LICENCES, Box, Dataset, write_eml

with warnings.catch_warnings():
    # It reads its own version by a way that Python will drop.
    warnings.simplefilter("ignore", DeprecationWarning)
    from metapype.eml import validate
    from metapype.model import metapype_io

BARE = Dataset(
    "corallum:1", "Invented & <written>", "All of it.", "A reserve", (), dt.date(2026, 11, 26)
)
FULL = replace(
    BARE, creators=("Observer One", "Mononym"), first=dt.date(2026, 1, 2),
    last=dt.date(2026, 2, 1), place="A bank", box=Box(150.0, 151.5, -1.25, 0.0),
    taxa=(("genus", "Acropora"), ("order", "Scleractinia")), methods=("Tapes.", "Names."),
    notes=("A note.",), invented=True,
)  # fmt: skip


LINK = re.compile(r"<ulink.*?<citetitle>(.*?)</citetitle>\s*</ulink>", re.DOTALL)


def faults(text: str) -> list[object]:
    """What the referee says against a description.

    It knows no link in a paragraph, which eml-text.xsd (ParagraphType) allows: only its words
    are judged.
    """
    found: list[object] = []
    text = LINK.sub(r"\1", text)
    validate.tree(metapype_io.from_xml(text, clean=True), found)
    return found


@pytest.mark.parametrize("licence", ["", *LICENCES])
@pytest.mark.parametrize("dataset", [BARE, FULL], ids=["bare", "full"])
def test_a_description_is_one_by_the_rules(dataset: Dataset, licence: str) -> None:
    """Nothing is said against it, with a licence or without, however much of it is known."""
    assert faults(write_eml(replace(dataset, licence=licence)).decode()) == []


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("<language>en</language>", "<tongue>en</tongue>"),
        ("<westBoundingCoordinate>150.0</westBoundingCoordinate>", ""),
        ("<title>Invented &amp; &lt;written&gt;</title>", ""),
        ("<calendarDate>2026-01-02</calendarDate>", "<calendarDate>in May</calendarDate>"),
    ],
)
def test_the_referee_sees_what_is_wrong(old: str, new: str) -> None:
    """Negative control: a description that was spoiled has a fault."""
    dataset = replace(FULL, title=BARE.title)
    text = write_eml(dataset).decode()
    assert old in text
    assert faults(text.replace(old, new, 1))
