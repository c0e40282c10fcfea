"""Columns of the tables of colonies, their photos and what was said of them."""

from __future__ import annotations

from corallum.exchange.tables_out.columns import Column, PlainTable
from corallum.exchange.tables_out.survey_columns import who
from corallum.records.colony_record import STATUSES
from corallum.reference.genera import REGIONS

__all__ = ["COLONY_TABLES"]

_COLONY = "colony in colonies.csv"


def _entry(name: str, of: str) -> Column:
    """Return the column of the number by which a record is known."""
    return Column(name, f"{of} Number of the entry in the history.", "whole number")


_EFFECT = Column("in_effect", "Whether it was never undone.", "yes or no")

COLONY_TABLES = (
    PlainTable("colonies", "Colonies as they stand, one a row.", (
        Column("colony", "Id of the colony."),
        Column("number", "Its number in the programme.", "whole number", span="1 or more"),
        Column("name", "Its name, where it has one.", blank=True),
        Column("site", "Where.", blank=True, span="site in sites.csv"),
        Column("event", "In which event.", blank=True, span="event in events.csv"),
        Column("region", "Region of the reference.", allowed=REGIONS, blank=True),
        Column("seen_on", "Day of the look.", "date"),
        who("observer", "Whose errors are assumed.", blank=True),
        Column("conditions", "What acts on the colony.", "list", blank=True),
        Column("identification", "Name that stands, in open nomenclature.", blank=True),
        Column("status", "How sure that is.", allowed=STATUSES),
        Column("probability", "Of the name, where the program gave it.", "number", blank=True,
               span="0 to 1"),
        who("started_by", "Who started the record."),
        Column("started_at", "When, UTC.", "moment"),
        Column("withdrawn", "Whether the record was taken back.", "yes or no"),
    )),
    PlainTable("observations", "All that was ever said of colonies, one a row.", (
        _entry("observation", "What was said."),
        Column("colony", "Of which colony.", span=_COLONY),
        Column("kind", "What it is about.", allowed=(
            "report", "condition", "region", "observer", "site", "event", "seen_on", "name",
            "note",
        )),
        Column("subject", "Character, view or condition.", blank=True),
        Column("states", "States of a character that were seen; several are a choice.", "list",
               blank=True),
        Column("value", "Size or count, in the unit at the end of its character's id.", "number",
               "of the character", blank=True),
        Column("n", "How many were measured.", "whole number", blank=True, span="1 or more"),
        Column("method", "How it was measured.", allowed=("eye", "ruler", "photo", "published"),
               blank=True),
        Column("sure", "Whether the observer was sure.", "yes or no", blank=True),
        Column("text", "What was said of anything else; yes or no of a condition; of an observer "
               "a number.", blank=True),
        Column("taken_back", "Whether it takes back what was said before.", "yes or no"),
        Column("measurement", "Measurement that it rests on.", "whole number", blank=True,
               span="measurement in measurements.csv"),
        who("said_by", "By whom."),
        Column("said_at", "When, UTC.", "moment"),
        _EFFECT,
    )),
    PlainTable("determinations", "Opinions on colonies in their order, one a row.", (
        _entry("determination", "The opinion."),
        Column("colony", "Of which colony.", span=_COLONY),
        Column("place_in_order", "Which of the colony's opinions, from 1.", "whole number",
               span="1 or more"),
        Column("kind", "By the program, a lead, or a second reader.",
               allowed=("model", "override", "reading")),
        Column("name", "In open nomenclature."),
        Column("genera", "Set of genera; something else may be one of them.", "list"),
        Column("status", "How sure it is."),
        Column("probability", "Of the set, where the program gave it.", "number", blank=True,
               span="0 to 1"),
        Column("rank", "Of the name.", allowed=("genus", "family", "order", "several", "none")),
        Column("needs", "What would help most.", blank=True),
        Column("reason", "Why, of a person.", blank=True),
        Column("reference_hash", "Reference that it ran on, SHA-256.", blank=True),
        Column("reference_version", "Its version.", blank=True),
        Column("program", "What worked it out.", blank=True),
        Column("observer_errors", "Errors that were assumed.", blank=True),
        Column("evidence_upto", "Newest entry of the history that was known.", "whole number"),
        who("said_by", "Who signs, or asked for it to be kept."),
        Column("said_at", "When, UTC.", "moment"),
        _EFFECT,
    )),
    PlainTable("colony_readings", "Second readings of colonies, one a row.", (
        _entry("request", "What was asked."),
        Column("colony", "Of which colony.", span=_COLONY),
        who("asked_by", "By whom."),
        Column("asked_at", "When, UTC.", "moment"),
        who("asked_of", "Of whom; blank is anybody.", blank=True),
        Column("question", "What.", blank=True),
        who("answered_by", "Who answered.", blank=True),
        Column("answered_at", "When, UTC.", "moment", blank=True),
        Column("genera", "What was said.", "list", blank=True),
        Column("confidence", "That it is among them.", "number", blank=True, span="0 to 1"),
        Column("note", "Anything else.", blank=True),
    )),
    PlainTable("photos", "Photo files, one a row.", (
        Column("photo", "SHA-256 of its bytes."),
        Column("file", "Where it lies in the folder of the programme."),
        Column("media_type", "What it is."),
        Column("width_px", "As seen upright.", "whole number", "pixel"),
        Column("height_px", "As seen upright.", "whole number", "pixel"),
        Column("size_bytes", "Of the file.", "whole number", "byte"),
        Column("added_at", "When, UTC.", "moment"),
    )),
    PlainTable("colony_photos", "Photos of colonies, one a row.", (
        _entry("colony_photo", "The photo of the colony."),
        Column("colony", "Of which colony.", span=_COLONY),
        Column("photo", "SHA-256 of the photo.", span="photo in photos.csv"),
        Column("caption", "What it shows.", blank=True),
        who("added_by", "By whom."),
        Column("linked_at", "When, UTC.", "moment"),
    )),
    PlainTable("measurements", "Sizes measured on photos, one a row.", (
        _entry("measurement", "The size."),
        Column("colony", "Of which colony.", span=_COLONY),
        Column("photo", "SHA-256 of the photo.", span="photo in photos.csv"),
        Column("character", "What was measured; its unit is at the end."),
        Column("value", "Mean, in the unit of its character.", "number", "of the character"),
        Column("low", "Lower end of the 95 % interval, in the same unit.", "number",
               "of the character", blank=True),
        Column("high", "Upper end.", "number", "of the character", blank=True),
        Column("n", "How many were measured.", "whole number", span="1 or more"),
        Column("by", "By hand or by the program.", allowed=("hand", "program")),
        Column("mm_per_pixel", "Scale of the photo.", "number", "millimetre a pixel"),
        Column("relative_uncertainty", "Of the scale, one standard uncertainty.", "number",
               "share of the scale"),
        Column("marks", "What was drawn on the photo, as JSON."),
        who("measured_by", "By whom."),
        Column("measured_at", "When, UTC.", "moment"),
    )),
    PlainTable("vouchers", "Samples sent to a collection, one a row.", (
        _entry("voucher", "The sample."),
        Column("colony", "Of which colony.", span=_COLONY),
        Column("permit_number", "Under which permit.", span="number in permits.csv"),
        Column("label", "On the sample.", blank=True),
        Column("held_by", "Collection that holds it.", blank=True),
        Column("note", "Anything else.", blank=True),
        who("sent_by", "By whom."),
        Column("sent_at", "When, UTC.", "moment"),
    )),
)  # fmt: skip
