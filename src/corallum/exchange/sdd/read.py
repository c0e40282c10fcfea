"""A reference out of an SDD document: ours gives its tables back, any other its matrix.

In a file of another make there is no prior, no look-alike and no caution of a genus, and
nothing of how observers err: those tables are empty, and what the model needs besides
(frequency words, settings, methods) is that of the shipped reference.
"""

from __future__ import annotations

from collections.abc import Mapping

from corallum.errors import Fault, InputError
from corallum.exchange.reference_tables import (
    COLUMNS,
    Reading,
    default_rows,
    table_rows,
    tables_from_rows,
)
from corallum.exchange.sdd.document import open_dataset
from corallum.exchange.sdd.elements import OWN, Element, own_row, tag
from corallum.exchange.sdd.read_taxa import read_sources, read_taxa
from corallum.exchange.sdd.read_terms import Terms, index_objects, own_tables, read_terms
from corallum.exchange.sdd.read_values import settle_ranges

__all__ = ["read_sdd"]


def read_sdd(raw: bytes, reading: Reading, shipped: Mapping[str, str]) -> dict[str, str]:
    """Read an SDD 1.1 document as the tables of a reference.

    Parameters
    ----------
    raw : bytes
        The file.
    reading : Reading
        Knows the name of the file; takes what is left out.
    shipped : mapping of str to str
        Text of the shipped tables, for what the file does not say.

    Returns
    -------
    dict of str to str
        Text by name of table, not yet checked against each other.

    Raises
    ------
    InputError
        With every fault of the document at once, by line and element.
    """
    dataset = open_dataset(raw, reading)
    is_own = dataset.find(f"{{{OWN}}}reference") is not None
    given = own_tables(dataset) if is_own else {}
    if is_own:
        shares = _own_shares(dataset, reading)
        for table in given:
            if table not in COLUMNS:
                reading.leave("tables of another name")
    else:
        defaults = default_rows(shipped)
        reading.rows |= {table: [dict(row) for row in rows] for table, rows in defaults.items()}
        shares = {
            row.cells["word"]: float(row.cells["probability"])
            for row in table_rows(shipped, "words")
        }
    terms = Terms(index_objects(dataset, reading), is_own, shares)
    read_terms(dataset, terms, reading)
    sources = read_sources(dataset, terms, reading)
    if not reading.faults or terms.characters:
        read_taxa(dataset, terms, sources, reading)
    reading.raise_faults()
    if not is_own:
        settle_ranges(terms, reading)
    for table, rows in given.items():
        reading.rows.setdefault(table, []).extend(rows)
    return tables_from_rows(reading.rows)


def _own_shares(dataset: Element, reading: Reading) -> dict[str, float]:
    """Return the share of each frequency word of a file of ours."""
    found = {}
    for element in dataset.iter(tag("Modifier")):
        text = own_row(element).get("probability")
        word = element.findtext(f"{tag('Representation')}/{tag('Label')}")
        if text is None or not word:
            continue
        try:
            found[str(word)] = float(text)
        except ValueError:
            place = f"line {element.sourceline}, element Modifier"
            reading.fault(place, "a number in probability", repr(text), "Mend it.")
    reading.raise_faults()
    if not found:
        fault = Fault(reading.file, "", "the frequency words with their shares", "none",
                      "Export the reference again.")  # fmt: skip
        raise InputError([fault])
    return found
