"""NEXUS files for tests: a small one in any spelling, and what is read out of it."""

from __future__ import annotations

from functools import cache

import pytest

from corallum.errors import InputError
from corallum.exchange.nexus.matrix import Matrix
from corallum.exchange.nexus.read import read_matrix
from corallum.exchange.reference_tables import Reading
from corallum.store.reference_folder import shipped_reference


@cache
def shipped() -> dict[str, str]:
    """The shipped tables."""
    return shipped_reference()


def read(text: str) -> tuple[Matrix, Reading]:
    """Read a file."""
    reading = Reading("other.nex")
    return read_matrix(text, reading), reading


def faults_of(text: str) -> list[str]:
    """Faults of a file, a line each."""
    with pytest.raises(InputError) as caught:
        read(text)
    return [str(fault) for fault in caught.value.faults]


def file(rows: str, format_: str = "DATATYPE=STANDARD", more: str = "", nchar: int = 4) -> str:
    """Write a file with a block DATA."""
    return (
        f"#NEXUS\nBEGIN DATA;\nDIMENSIONS NTAX=2 NCHAR={nchar};\nFORMAT {format_};\n{more}"
        f"MATRIX\n{rows}\n;\nEND;\n"
    )
