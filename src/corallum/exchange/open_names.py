"""Names in open nomenclature, taken apart: the plain name, the doubt, and how far it was taken.

Standards want the name without signs, and the doubt beside it. What is written here is read
back as the same. The signs mean what their authors say; whether one is deserved isn't judged.

References
----------
Sigovini M., Keppel E. and Tagliapietra D. 2016. Open nomenclature in the biodiversity era.
Methods in Ecology and Evolution 7:1217-1225.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from corallum.errors import Fault, InputError

__all__ = ["DOUBTS", "SIGNS", "OpenName", "parse_open_name", "write_open_name"]

DOUBTS = ("cf.", "aff.", "?")
"""To be compared with; related to, but not it; may be it. The only words of doubt."""
SIGNS = ("indet.", "stet.", "inc.")
"""Can't be taken further; left there on purpose; unsure where it belongs."""
_SPECIES = ("sp.", "spp.")

_WORDS = {
    "cf": "cf.", "aff": "aff.", "?": "?", "sp": "sp.", "spp": "spp.", "indet": "indet.",
    "stet": "stet.", "inc": "inc.",
}  # fmt: skip
_NAME = re.compile(r"[^\W\d_][^\W\d_]*(-[^\W\d_]+)*")
_MARK = re.compile(r"\d{1,4}[a-zA-Z]?|[A-Z]\d{0,4}")
_MOST = 200


@dataclass(frozen=True, slots=True)
class OpenName:
    """A name taken apart.

    Parameters
    ----------
    name : str
        A genus, a family or an order; or words without a capital, such as "stony coral".
    epithet : str
        Of the species, where one was given.
    doubt : str
        One of `DOUBTS`, or empty.
    of_species : bool
        Whether the doubt is of the epithet, not of ``name``.
    species : str
        "sp." or "spp." where a genus stands for one or several of its species, or empty.
    mark : str
        Which of several: the 1 of "sp. 1".
    sign : str
        One of `SIGNS`, or empty.
    """

    name: str
    epithet: str = ""
    doubt: str = ""
    of_species: bool = False
    species: str = ""
    mark: str = ""
    sign: str = ""

    @property
    def plain(self) -> str:
        """The name without any sign, as a field for scientific names holds it."""
        return f"{self.name} {self.epithet}".strip()


def write_open_name(name: OpenName) -> str:
    """Write a name with its signs.

    Examples
    --------
    >>> write_open_name(OpenName("Acropora", doubt="cf.", species="sp.", sign="indet."))
    'cf. Acropora sp. indet.'
    >>> write_open_name(OpenName("Acropora", "hyacinthus", "?", of_species=True))
    'Acropora hyacinthus ?'
    """
    before = name.doubt if not name.of_species else ""
    # A question mark after a genus doubts the genus: that of a species stands at its end.
    last = name.doubt == "?" and name.of_species
    epithet = [name.epithet, "?"] if last else [name.doubt if name.of_species else "", name.epithet]
    parts = [before, name.name, *epithet, name.species, name.mark, name.sign]
    return " ".join(part for part in parts if part)


def parse_open_name(text: str, where: str = "name") -> OpenName:
    """Take a name in open nomenclature apart.

    Parameters
    ----------
    text : str
        As somebody wrote it; points may be left out, and a question mark may touch its word.
    where : str
        What to call it in a fault.

    Raises
    ------
    InputError
        Where it is no such name.

    Examples
    --------
    >>> parse_open_name("cf. Acropora sp. indet.").plain
    'Acropora'
    >>> parse_open_name("Acropora aff. hyacinthus").doubt
    'aff.'
    """
    words = _apart(text) if len(text) <= _MOST else []
    found = _read(words)
    if found is None:
        expected = "a name such as Acropora sp., cf. Acropora or Merulinidae indet."
        raise InputError([Fault(where, "", expected, repr(text)[:60], "Write it so.")])
    return found


def _apart(text: str) -> list[str]:
    """Split a text into words, signs in their own spelling."""
    words = re.sub(r"(\?)", r" \1 ", text).split()
    return [_WORDS.get(word.casefold().removesuffix("."), word) for word in words]


def _read(words: list[str]) -> OpenName | None:
    """Read words from left to right: doubt, name, doubt, epithet, doubt, sp., mark, sign."""
    rest = list(words)
    before = _take(rest, DOUBTS)
    name = _names(rest, capital=True) or _names(rest, capital=False)
    after = _take(rest, DOUBTS)
    epithet = _epithet(rest, name)
    end = _take(rest, ("?",)) if epithet else ""
    species = "" if epithet else _take(rest, _SPECIES)
    mark = rest.pop(0) if species and rest and _MARK.fullmatch(rest[0]) else ""
    sign = _take(rest, SIGNS)
    # After a genus, cf. and aff. belong to the epithet that follows; a question mark never.
    of_species = bool(end or (after not in ("", "?") and epithet))
    doubts = [one for one in (before, after, end) if one]
    alone = after in ("", "?") or epithet or not (species or sign)
    vernacular = name[:1].islower() and (epithet or species)
    if not name or rest or len(doubts) > 1 or not alone or vernacular:
        return None
    return OpenName(name, epithet, "".join(doubts), of_species, species, mark, sign)


def _take(rest: list[str], allowed: tuple[str, ...]) -> str:
    """Take the next word where it is one of those allowed."""
    return rest.pop(0) if rest and rest[0] in allowed else ""


def _is_name(word: str) -> bool:
    """Whether a word is letters alone, as parts of names are."""
    return _NAME.fullmatch(word) is not None


def _names(rest: list[str], *, capital: bool) -> str:
    """Take a name with a capital, or all words without one."""
    found: list[str] = []
    while rest and _is_name(rest[0]) and rest[0][0].isupper() == capital:
        found.append(rest.pop(0))
        if capital:
            break
    return " ".join(found)


def _epithet(rest: list[str], name: str) -> str:
    """Take the epithet after a genus."""
    good = rest and _is_name(rest[0]) and rest[0] == rest[0].lower() and name[:1].isupper()
    return rest.pop(0) if good else ""
