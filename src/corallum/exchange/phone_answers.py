"""The answer that the page for a phone showed, out of a saved record."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime

from corallum.exchange.phone_fields import FieldReader
from corallum.records.answer import Verdict

__all__ = ["PhoneAnswer", "parse_answer"]

_KEYS = {"at", "upto", "verdict", "candidates", "limits", "reference", "version"}
_VERDICT = {"status", "genera", "name", "probability", "rank", "needs"}
_STATUSES = ("settled", "open", "not_separable_in_water", "not_in_reference")
_RANKS = ("genus", "family", "order", "none")
_NEEDS = ("nothing", "look", "second_reader", "voucher")
_HASH = re.compile(r"[0-9a-f]{64}")
_MOST_VERSION = 80
_MOST_NAME = 200


@dataclass(frozen=True, slots=True)
class PhoneAnswer:
    """What was shown, after how many entries, and by which reference (its hash)."""

    at: datetime
    upto: int
    verdict: Verdict
    reference: str
    version: str


def parse_answer(fields: FieldReader, item: object, entries: int) -> PhoneAnswer | None:
    """Read one answer; faults are kept by ``fields``."""
    if not isinstance(item, dict) or item.keys() != _KEYS:
        fields.fault("", f"an object of {', '.join(sorted(_KEYS))}", item)
        return None
    at, upto = fields.moment("at", item["at"]), item["upto"]
    if isinstance(upto, bool) or not isinstance(upto, int) or not 0 < upto <= entries:
        fields.fault("upto", f"a number of entries, from 1 to {entries}", upto)
    hash_ = item["reference"]
    if not isinstance(hash_, str) or not _HASH.fullmatch(hash_):
        fields.fault("reference", "the hash of a reference", hash_)
    version = fields.text("version", item["version"])[:_MOST_VERSION]
    verdict = _verdict(fields.inside("verdict"), item["verdict"])
    if at is None or verdict is None:
        return None
    return PhoneAnswer(at, upto, verdict, hash_, version)


def _verdict(fields: FieldReader, item: object) -> Verdict | None:
    """Read a verdict."""
    if not isinstance(item, dict) or item.keys() != _VERDICT:
        fields.fault("", f"an object of {', '.join(sorted(_VERDICT))}", item)
        return None
    genera = fields.items("genera", item["genera"])
    if not genera or not all(name is None or isinstance(name, str) for name in genera):
        fields.fault("genera", "a list of genera, null for something else", genera)
    return Verdict(
        fields.one_of("status", item["status"], _STATUSES),
        tuple(name if isinstance(name, str) else None for name in genera),
        fields.text("name", item["name"])[:_MOST_NAME],
        fields.share("probability", item["probability"]),
        fields.one_of("rank", item["rank"], _RANKS),
        fields.one_of("needs", item["needs"], _NEEDS),
    )
