"""Columns of the tables of places, people and surveys."""

from __future__ import annotations

from corallum.exchange.tables_out.columns import Column, PlainTable
from corallum.records.programme import EVENT_KINDS, Role
from corallum.records.survey import SCATTERS, Decision, Method
from corallum.reference.genera import REGIONS

__all__ = ["SURVEY_TABLES", "effort_columns", "who"]

_METHODS = tuple(one.value for one in Method)
_KINDS = ("genus", "unidentified", "other", "unreadable")


def who(name: str, meaning: str, *, blank: bool = False) -> Column:
    """Return a column that holds the number of a person."""
    return Column(name, meaning, "whole number", blank=blank, span="person in people.csv")


def effort_columns(of: str) -> tuple[Column, ...]:
    """Return the columns of what is searched on one transect."""
    return (
        Column("length_cm", f"Length of the tape, {of}.", "number", "centimetre", blank=True,
               span="above 0"),
        Column("interval_cm", f"Between points on the tape, {of}.", "number", "centimetre",
               blank=True, span="above 0"),
        Column("width_cm", f"Width of the belt, both sides of the tape together, {of}.", "number",
               "centimetre", blank=True, span="above 0"),
        Column("frames", f"Photos or quadrats on a transect, {of}.", "whole number", blank=True,
               span="1 or more"),
        Column("points", f"Points on a transect, or on each photo, {of}.", "whole number",
               blank=True, span="1 or more"),
        Column("frame_area_m2", f"Area of one quadrat, {of}.", "number", "square metre",
               blank=True, span="above 0"),
    )  # fmt: skip


_PLACES = (
    PlainTable("sites", "Places that are visited, one a row.", (
        Column("site", "Id of the site."),
        Column("name", "Its name."),
        Column("region", "Region of the reference.", allowed=REGIONS),
        Column("latitude_deg", "North of the equator, WGS84, as exactly as was asked for.",
               "number", "degree", blank=True, span="-90 to 90"),
        Column("longitude_deg", "East of Greenwich, WGS84, as exactly as was asked for.",
               "number", "degree", blank=True, span="-180 to 180"),
        Column("uncertainty_m", "How far rounding moved the position at most; blank where it "
               "did not.", "whole number", "metre", blank=True, span="1 or more"),
        Column("coordinates", "What was done to the position; blank where nothing was.",
               blank=True),
        Column("note", "Anything else; blank where positions are not exact.", blank=True),
    )),
    PlainTable("events", "Surveys and what they are made of, one a row.", (
        Column("event", "Id of the event."),
        Column("kind", "What it is.", allowed=EVENT_KINDS),
        Column("part_of", "Event that it is a part of.", blank=True, span="event in events.csv"),
        Column("site", "Where.", blank=True, span="site in sites.csv"),
        Column("name", "Its name."),
        Column("date", "When.", "date", blank=True),
        Column("note", "Anything else; blank where positions are not exact.", blank=True),
    )),
)  # fmt: skip

_PEOPLE = (
    PlainTable("people", "Who reads, adds and decides, one a row.", (
        Column("person", "Number, in the order in which they were added.", "whole number",
               span="1 or more"),
        Column("name", "Their name; blank unless names were asked for.", blank=True),
        Column("role", "What they may do.", allowed=tuple(map(str, Role))),
        Column("errors", "Whose errors are assumed for what they report.",
               allowed=("unknown", "trained", "new")),
        Column("active", "Whether they still act.", "yes or no"),
        Column("added_at", "When they were added, UTC.", "moment"),
    )),
    PlainTable("qualifications", "Tests of observers, one a row.", (
        Column("qualification", "Id of the test."),
        who("person", "Who was tested."),
        Column("practice_set", "Items of the test.", span="practice_set in practice_sets.csv"),
        Column("genera", "For which genera; blank is all of the region.", "list", blank=True),
        Column("outcome", "What came of it.", allowed=("open", "passed", "failed", "stopped")),
        Column("good", "Share of right answers that shall pass.", "number", span="0 to 1"),
        Column("good_failed", "Chance that such an observer fails.", "number", span="0 to 1"),
        Column("poor", "Share of right answers that shall fail.", "number", span="0 to 1"),
        Column("poor_passed", "Chance that such an observer passes.", "number", span="0 to 1"),
        Column("days", "How long it holds.", "number", "day"),
        Column("started_at", "When it began, UTC.", "moment"),
        Column("ended_at", "When it ended, UTC.", "moment", blank=True),
        Column("expires_on", "Until when it holds.", "date", blank=True),
    )),
    PlainTable("practice_sets", "Sets of items to practise on or be tested with, one a row.", (
        Column("practice_set", "Id of the set."),
        Column("title", "Its title; of a set for one person blank unless names were asked for.",
               blank=True),
        Column("purpose", "What it is for."),
        Column("region", "Where its colonies are said to be from.", allowed=REGIONS),
        who("made_for", "For whom; blank is anybody.", blank=True),
        Column("items", "How many.", "whole number", span="0 or more"),
        Column("reference_hash", "Reference that drew the items, SHA-256."),
        Column("made_at", "When it was made, UTC.", "moment"),
        Column("open", "Whether it takes answers.", "yes or no"),
    )),
    PlainTable("practice_answers", "Answers to items of sets, one a row.", (
        Column("answer", "Number of the entry in the history.", "whole number"),
        Column("practice_set", "Set.", span="practice_set in practice_sets.csv"),
        Column("item", "Number of the item in it, from 1.", "whole number", span="1 or more"),
        Column("genus", "What the item is."),
        who("person", "Who answered."),
        Column("answered_at", "When, UTC.", "moment"),
        Column("said", "Genera that were said; blank is not in the reference.", "list",
               blank=True),
        Column("confidence", "That it is among them.", "number", span="0 to 1"),
        Column("seconds", "Taken to answer.", "number", "second", blank=True),
        Column("score", "Mark.", "number", span="0 to 1"),
        Column("right", "Whether it counts as right.", "yes or no"),
        Column("qualification", "Test that it is part of.", blank=True,
               span="qualification in qualifications.csv"),
    )),
    PlainTable("permits", "Permits under which samples may be taken, one a row.", (
        Column("permit", "Id of the permit."),
        Column("number", "Its number."),
        Column("holder", "Who holds it; blank unless names were asked for.", blank=True),
        Column("expires_on", "Last day.", "date"),
        Column("covers", "What it covers.", blank=True),
        Column("note", "Anything else.", blank=True),
    )),
)  # fmt: skip

_SURVEYS = (
    PlainTable("surveys", "Plans of surveys, one a row.", (
        Column("survey", "Id of its event.", span="event in events.csv"),
        Column("name", "Its name."),
        Column("method", "How transects are read.", allowed=_METHODS),
        Column("transects_per_site", "As planned.", "whole number", span="1 or more"),
        *effort_columns("as planned"),
        Column("observers", "Numbers of those who dive.", "list", blank=True,
               span="person in people.csv"),
        Column("second_share", "Share of the records to be read again.", "number", span="0 to 1"),
        Column("follows", "Survey that it is compared with.", blank=True,
               span="survey in surveys.csv"),
        Column("same_transects", "Whether the transects of that survey are laid again.",
               "yes or no"),
        Column("sites_drawn", "Whether sites were drawn to stand for their stratum.",
               "yes or no"),
        Column("scatter", "How points lie on photos.", allowed=SCATTERS),
        Column("seed", "Of what is drawn at random for it.", "whole number"),
        Column("note", "Anything else.", blank=True),
    )),
    PlainTable("strata", "Parts of the reef that are sampled by themselves, a site a row.", (
        Column("survey", "Of which survey.", span="survey in surveys.csv"),
        Column("stratum", "Its name."),
        Column("area", "Of the stratum, in any one unit for all strata of a survey.", "number",
               span="above 0"),
        Column("site", "A site of it.", span="site in sites.csv"),
    )),
    PlainTable("slates", "What one observer wrote on one transect, a slate a row.", (
        Column("slate", "Number of the entry in the history.", "whole number"),
        Column("survey", "Of which survey.", span="survey in surveys.csv"),
        Column("transect", "Event of the transect.", span="event in events.csv"),
        Column("method", "How it was read.", allowed=_METHODS),
        who("observer", "Who read it."),
        Column("date", "Of the dive.", "date"),
        Column("depth_m", "Of the transect.", "number", "metre", blank=True, span="0 to 1000"),
        *effort_columns("as read"),
        Column("replaces", "Slate that this one mends.", "whole number", blank=True,
               span="slate in slates.csv"),
        Column("stands", "Whether no other slate mends it.", "yes or no"),
        Column("source", "typed, or the file that it came from."),
        Column("note", "Anything else.", blank=True),
        who("written_by", "Who wrote it."),
        Column("written_at", "When, UTC.", "moment"),
    )),
    PlainTable("lines", "What stands on slates, a line a row.", (
        Column("slate", "Of which slate.", "whole number", span="slate in slates.csv"),
        Column("line", "Number on the slate, from 1.", "whole number", span="1 or more"),
        Column("said", "What was met, as it was written."),
        Column("label", "What that is today: a genus, a family, stony coral, other cover, or "
               "unreadable."),
        Column("kind", "What kind of thing that is.", allowed=_KINDS),
        Column("form", "Growth form, where it was written.", blank=True),
        Column("from_cm", "Where it begins along the tape.", "number", "centimetre", blank=True),
        Column("to_cm", "Where it ends.", "number", "centimetre", blank=True),
        Column("frame", "Number of the photo or quadrat.", "whole number", blank=True),
        Column("point", "Number of the point.", "whole number", blank=True),
        Column("x", "Place of the point across its photo.", "number", "share of the width",
               blank=True, span="0 to 1"),
        Column("y", "Place of the point down its photo.", "number", "share of the height",
               blank=True, span="0 to 1"),
        Column("diameter_cm", "Largest diameter of the colony.", "number", "centimetre",
               blank=True),
        Column("off_line_cm", "Distance of the colony's centre from the tape.", "number",
               "centimetre", blank=True),
        Column("count", "Colonies that the line stands for.", "whole number"),
        Column("cover_percent", "Cover of a quadrat.", "number", "percent", blank=True,
               span="0 to 100"),
        Column("colony_mark", "Mark of the colony, the same where it was crossed twice.",
               blank=True),
        Column("photo", "SHA-256 of the photo that shows it.", blank=True,
               span="photo in photos.csv"),
        Column("note", "Anything else.", blank=True),
        Column("stands", "Whether it counts: its slate stands, and it was not left out.",
               "yes or no"),
    )),
    PlainTable("flags", "What was decided on lines and slates that looked wrong, one a row.", (
        Column("decision_number", "Number of the entry in the history.", "whole number"),
        Column("slate", "Which slate.", "whole number", span="slate in slates.csv"),
        Column("line", "Which line; blank is the slate.", "whole number", blank=True),
        Column("rule", "Check that found it."),
        Column("decision", "What was decided.", allowed=tuple(map(str, Decision))),
        Column("note", "Why.", blank=True),
        who("decided_by", "By whom."),
        Column("decided_at", "When, UTC.", "moment"),
    )),
    PlainTable("drawn_records", "Lines drawn at random to be read again, one a row.", (
        Column("draw", "Number of the entry in the history.", "whole number"),
        Column("survey", "Of which survey.", span="survey in surveys.csv"),
        Column("share", "That was wanted.", "number", span="0 to 1"),
        who("asked_of", "Who shall read; blank is anybody but the observer.", blank=True),
        Column("slate", "Which slate.", "whole number", span="slate in slates.csv"),
        Column("line", "Which line of it.", "whole number", span="1 or more"),
    )),
    PlainTable("second_readings", "What a second reader said of a line, unseen, one a row.", (
        Column("reading", "Number of the entry in the history.", "whole number"),
        Column("slate", "Which slate.", "whole number", span="slate in slates.csv"),
        Column("line", "Which line of it.", "whole number", span="1 or more"),
        Column("said", "As it was written."),
        Column("label", "What that is today."),
        Column("kind", "What kind of thing that is.", allowed=_KINDS),
        Column("note", "Anything else.", blank=True),
        who("read_by", "By whom."),
        Column("read_at", "When, UTC.", "moment"),
    )),
    PlainTable("transect_photos", "Photos of transects, one a row.", (
        Column("transect", "Event of the transect.", span="event in events.csv"),
        Column("frame", "Number of the photo on it.", "whole number", span="1 or more"),
        Column("photo", "SHA-256 of the photo.", span="photo in photos.csv"),
    )),
    PlainTable("point_readings", "What was said of points on photos, the newest word of each "
               "person, one a row.", (
        Column("point_reading", "Number of the entry in the history.", "whole number"),
        Column("transect", "Event of the transect.", span="event in events.csv"),
        Column("frame", "Number of the photo on it.", "whole number", span="1 or more"),
        Column("point", "Number of the point on it.", "whole number", span="1 or more"),
        Column("said", "What lies under it."),
        who("said_by", "By whom."),
    )),
)  # fmt: skip

SURVEY_TABLES = (*_PLACES, *_PEOPLE, *_SURVEYS)
