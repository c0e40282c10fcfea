"""What all colonies of an archive share: names of people, places as they are told, and taxa."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from corallum.errors import InputError
from corallum.exchange.coordinates import EXACT, CoordinateRule
from corallum.exchange.open_names import OpenName, parse_open_name
from corallum.records.programme import Event, Site

__all__ = ["ColonyContext", "GenusFacts", "TaxonName"]

# A set of genera of more than one order has no closer name: stony corals and hydrocorals.
_ALL = "Cnidaria"


@dataclass(frozen=True, slots=True)
class GenusFacts:
    """Family and order of a genus, and its number in a register of names."""

    family: str
    order: str
    aphia: str = ""


@dataclass(frozen=True, slots=True)
class TaxonName:
    """A name without signs, its rank, family and identifier, and the doubt that goes with it."""

    name: str
    rank: str
    family: str = ""
    id: str = ""
    doubt: str = ""


@dataclass(frozen=True, slots=True)
class ColonyContext:
    """What is shared.

    Parameters
    ----------
    programme : str
        Name of the programme.
    people : mapping of str to str
        Names by id.
    sites : mapping of str to Site
        By id.
    events : mapping of str to Event
        By id.
    depths : mapping of str to float
        Depth of transects, m.
    genera : mapping of str to GenusFacts
        As the reference has them.
    according_to : str
        Which version of the reference.
    rule : CoordinateRule
        How exactly positions are told; notes only where they are exact.
    licence, owner : str
        Of the photos; may be empty.
    packed : str
        Which photos are in the archive: none, small or original.
    """

    programme: str
    people: Mapping[str, str]
    sites: Mapping[str, Site]
    events: Mapping[str, Event]
    depths: Mapping[str, float] = field(default_factory=dict)
    genera: Mapping[str, GenusFacts] = field(default_factory=dict)
    according_to: str = ""
    rule: CoordinateRule = EXACT
    licence: str = ""
    owner: str = ""
    packed: str = "none"

    def note(self, text: str) -> str:
        """Return a note as it may be told."""
        return text if self.rule.exact else ""

    def taxon(self, name: str, genera: Sequence[str | None]) -> TaxonName:
        """Return the closest plain name of what was said.

        Parameters
        ----------
        name : str
            As it was said, in open nomenclature or otherwise.
        genera : sequence of str or None
            That were meant; None is something else.
        """
        try:
            said = parse_open_name(name)
        except InputError:
            said = OpenName("stony coral")
        known = [self.genera[one] for one in genera if one is not None and one in self.genera]
        if len(genera) == 1 and genera[0] is not None:
            facts = known[0] if known else GenusFacts("", "")
            rank = "species" if said.epithet else "genus"
            plain = said.plain if said.name == genera[0] else genera[0]
            id_ = f"urn:lsid:marinespecies.org:taxname:{facts.aphia}" if facts.aphia else ""
            doubt = said.doubt
            return TaxonName(plain, rank, facts.family, "" if said.epithet else id_, doubt)
        families = {one.family for one in known}
        orders = {one.order for one in known}
        if len(known) < len(genera) or not known or len(orders) > 1 or "" in orders:
            return TaxonName(_ALL, "phylum")
        if len(families) == 1:
            family = families.pop()
            return TaxonName(family, "family", family, doubt=said.doubt)
        return TaxonName(orders.pop(), "order")
