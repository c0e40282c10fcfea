"""The four tables of a colony archive: their columns, and the words of our own in them."""

from __future__ import annotations

from types import MappingProxyType

from corallum.exchange.archive.eml import EML
from corallum.exchange.archive.meta import Described, TableShape
from corallum.exchange.archive.pack import Member
from corallum.exchange.archive.terms import (
    EXTENDED_MEASUREMENT,
    IDENTIFICATION,
    MULTIMEDIA,
    OCCURRENCE,
    uri_of,
)

__all__ = [
    "COLONIES", "DESCRIBED", "IDENTIFICATIONS", "MARK", "MEASUREMENTS", "MEDIA", "MEMBERS",
    "VERIFICATION",
]  # fmt: skip

MARK = "corallum colony archive 1"
"""What tells such an archive from any other, in the properties of its colonies."""

COLONIES = (
    "occurrenceID", "basisOfRecord", "occurrenceStatus", "kingdom", "scientificName",
    "scientificNameID", "taxonRank", "family", "nameAccordingTo", "verbatimIdentification",
    "identificationQualifier", "identificationVerificationStatus", "identificationRemarks",
    "identifiedBy", "dateIdentified", "previousIdentifications", "recordedBy", "eventDate",
    "eventID", "locationID", "locality", "decimalLatitude", "decimalLongitude",
    "geodeticDatum", "coordinateUncertaintyInMeters", "minimumDepthInMeters",
    "maximumDepthInMeters", "dataGeneralizations", "informationWithheld", "organismID",
    "organismName", "organismScope", "individualCount", "associatedMedia", "occurrenceRemarks",
    "dynamicProperties",
)  # fmt: skip
IDENTIFICATIONS = (
    "occurrenceID", "identificationID", "verbatimIdentification", "identificationQualifier",
    "scientificName", "scientificNameID", "taxonRank", "family", "identifiedBy", "dateIdentified",
    "identificationReferences", "identificationVerificationStatus", "identificationRemarks",
)  # fmt: skip
MEASUREMENTS = (
    "occurrenceID", "measurementID", "measurementType", "measurementValue", "measurementUnit",
    "measurementUnitID", "measurementAccuracy", "measurementMethod", "measurementDeterminedBy",
    "measurementDeterminedDate", "measurementRemarks",
)  # fmt: skip
MEDIA = (
    "occurrenceID", "identifier", "type", "format", "description", "created", "creator",
    "license", "rightsHolder", "hashFunction", "hashValue", "comments",
)  # fmt: skip

# Which column holds the id of the colony: the first of each.
MEMBERS = tuple(
    Member(file, names)
    for file, names in (
        ("occurrence.txt", COLONIES), ("identification.txt", IDENTIFICATIONS),
        ("extendedmeasurementorfact.txt", MEASUREMENTS), ("multimedia.txt", MEDIA),
    )
)  # fmt: skip


def _shape(row_type: str, member: Member) -> TableShape:
    """Describe one table."""
    return TableShape(row_type, member.file, tuple(uri_of(name) for name in member.names))


DESCRIBED = Described(
    _shape(OCCURRENCE, MEMBERS[0]),
    (
        _shape(IDENTIFICATION, MEMBERS[1]),
        _shape(EXTENDED_MEASUREMENT, MEMBERS[2]),
        _shape(MULTIMEDIA, MEMBERS[3]),
    ),
    EML,
)

# The list that identificationVerificationStatus is taken from, by kind of determination.
VERIFICATION = MappingProxyType({
    "model": "by program, not verified",
    "reading": "by second reader",
    "override": "verified by lead",
    "undone": "taken back",
    "none": "not identified",
})  # fmt: skip
