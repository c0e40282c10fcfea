"""The three tables of a survey archive: their columns, and the words of our own in them."""

from __future__ import annotations

from types import MappingProxyType

from corallum.exchange.archive.eml import EML
from corallum.exchange.archive.meta import Described, TableShape
from corallum.exchange.archive.pack import Member
from corallum.exchange.archive.terms import (
    EVENT,
    EXTENDED_MEASUREMENT,
    OCCURRENCE,
    uri_of,
)
from corallum.records.benthos import GENUS, OTHER, UNIDENTIFIED, UNREADABLE
from corallum.records.survey import Method

__all__ = [
    "DESCRIBED",
    "EVENTS",
    "EVENT_TYPES",
    "KINDS",
    "LEFT_OUT",
    "LINE_FIELDS",
    "MARK",
    "MEASUREMENTS",
    "MEMBERS",
    "OCCURRENCES",
    "PROTOCOLS",
    "READ_AGAIN",
    "UNITS",
    "VERIFICATION",
    "WRITTEN",
]

EVENTS = (
    "eventID", "parentEventID", "eventType", "fieldNumber", "eventDate", "samplingProtocol",
    "sampleSizeValue", "sampleSizeUnit", "samplingEffort", "locationID", "locality",
    "decimalLatitude", "decimalLongitude", "geodeticDatum", "coordinateUncertaintyInMeters",
    "minimumDepthInMeters", "maximumDepthInMeters", "dataGeneralizations",
    "informationWithheld", "locationRemarks", "eventRemarks", "dynamicProperties",
)  # fmt: skip
OCCURRENCES = (
    "eventID", "occurrenceID", "basisOfRecord", "occurrenceStatus", "kingdom",
    "scientificName", "scientificNameID", "taxonRank", "family", "nameAccordingTo",
    "verbatimIdentification", "identificationQualifier", "identificationVerificationStatus",
    "identificationRemarks", "identifiedBy", "dateIdentified", "recordedBy",
    "individualCount", "organismQuantity", "organismQuantityType", "organismID",
    "organismName", "associatedMedia", "occurrenceRemarks",
)  # fmt: skip
MEASUREMENTS = (
    "eventID", "measurementID", "parentMeasurementID", "occurrenceID", "measurementType",
    "measurementValue", "measurementUnit", "measurementUnitID", "measurementAccuracy",
    "measurementMethod", "measurementDeterminedBy", "measurementDeterminedDate",
    "measurementRemarks",
)  # fmt: skip

_FILES = ("event.txt", "occurrence.txt", "extendedmeasurementorfact.txt")
MEMBERS = tuple(
    Member(file, names)
    for file, names in zip(_FILES, (EVENTS, OCCURRENCES, MEASUREMENTS), strict=True)
)


def _shape(row_type: str, member: Member) -> TableShape:
    """Describe one table; its first column is the id of the event."""
    return TableShape(row_type, member.file, tuple(uri_of(name) for name in member.names))


DESCRIBED = Described(
    _shape(EVENT, MEMBERS[0]),
    (_shape(OCCURRENCE, MEMBERS[1]), _shape(EXTENDED_MEASUREMENT, MEMBERS[2])),
    EML,
)

# What tells such an archive from any other, in the properties of its survey.
MARK = "corallum survey archive 1"

EVENT_TYPES = MappingProxyType({
    "survey": "Survey", "visit": "Site visit", "transect": "Transect", "slate": "Observation",
    "quadrat": "Quadrat", "frame": "Photo",
})  # fmt: skip

PROTOCOLS = MappingProxyType({
    Method.LINE: "line intercept transect",
    Method.POINTS: "point intercept transect",
    Method.PHOTO: "points on photos along a transect",
    Method.BELT: "belt transect, colonies counted",
    Method.QUADRAT: "quadrats along a transect, colonies counted",
    Method.QUADRAT_COVER: "quadrats along a transect, cover judged by eye",
})  # fmt: skip

# Units and their identifiers in the vocabulary P06 of the British Oceanographic Data Centre.
_P06 = "http://vocab.nerc.ac.uk/collection/P06/current"
UNITS = MappingProxyType({
    "cm": f"{_P06}/ULCM/", "%": f"{_P06}/UPCT/", "1": f"{_P06}/UUUU/", "": "",
})  # fmt: skip

# Field of a line, what it is called as a measurement, and its unit.
LINE_FIELDS = (
    ("from_cm", "intercept start", "cm"),
    ("to_cm", "intercept end", "cm"),
    ("point", "point number", ""),
    ("x", "point from left edge, share of width", "1"),
    ("y", "point from top edge, share of height", "1"),
    ("diameter_cm", "largest diameter", "cm"),
    ("off_line_cm", "distance from tape", "cm"),
    ("cover_percent", "cover of quadrat", "%"),
    ("form", "growth form", ""),
    ("count", "colonies", ""),
    ("colony", "mark of colony", ""),
    ("photo", "photo", ""),
    ("said", "entry as written", ""),
)

KINDS = MappingProxyType({
    GENUS: "genus", UNIDENTIFIED: "higher taxon", OTHER: "bottom cover",
    UNREADABLE: "not readable",
})  # fmt: skip
LEFT_OUT = "left out of the survey"
READ_AGAIN = "second reading"
WRITTEN = "entry as written"

# The list that identificationVerificationStatus is taken from.
VERIFICATION = ("not read again", "read again, same name", "read again, other name")
