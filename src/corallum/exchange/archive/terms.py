"""Terms of open standards by their short names, and the addresses that stand for them.

Darwin Core and Audiovisual Core (Biodiversity Information Standards), Dublin Core terms, and
the extended measurement or fact of the ocean biodiversity network. A name that is in none is
a slip.
"""

from __future__ import annotations

from types import MappingProxyType

__all__ = [
    "EVENT",
    "EXTENDED_MEASUREMENT",
    "IDENTIFICATION",
    "MULTIMEDIA",
    "OCCURRENCE",
    "TERMS",
    "short_name",
    "uri_of",
]

_DWC = "http://rs.tdwg.org/dwc/terms/"
_DCTERMS = "http://purl.org/dc/terms/"
_AC = "http://rs.tdwg.org/ac/terms/"
_IOBIS = "http://rs.iobis.org/obis/terms/"

# Types of rows.
EVENT = f"{_DWC}Event"
OCCURRENCE = f"{_DWC}Occurrence"
IDENTIFICATION = f"{_DWC}Identification"
MULTIMEDIA = f"{_AC}Multimedia"
EXTENDED_MEASUREMENT = f"{_IOBIS}ExtendedMeasurementOrFact"

_NAMES = {
    _DWC: """
        associatedMedia associatedOccurrences basisOfRecord catalogNumber class collectionCode
        coordinatePrecision coordinateUncertaintyInMeters country countryCode dataGeneralizations
        dateIdentified datasetName decimalLatitude decimalLongitude degreeOfEstablishment
        disposition dynamicProperties eventDate eventID eventRemarks eventTime eventType family
        fieldNotes fieldNumber footprintWKT genus geodeticDatum georeferenceRemarks habitat
        higherClassification identificationID identificationQualifier identificationReferences
        identificationRemarks identificationVerificationStatus identifiedBy identifiedByID
        individualCount informationWithheld institutionCode island kingdom lifeStage locality
        locationID locationRemarks materialEntityID maximumDepthInMeters measurementAccuracy
        measurementDeterminedBy measurementDeterminedDate measurementID measurementMethod
        measurementRemarks measurementType measurementUnit measurementValue minimumDepthInMeters
        nameAccordingTo nomenclaturalCode occurrenceID occurrenceRemarks occurrenceStatus order
        organismID organismName organismQuantity organismQuantityType organismRemarks
        organismScope parentEventID parentMeasurementID phylum previousIdentifications
        recordNumber recordedBy recordedByID sampleSizeUnit sampleSizeValue samplingEffort
        samplingProtocol scientificName scientificNameAuthorship scientificNameID taxonID
        taxonRank taxonRemarks typeStatus verbatimCoordinates verbatimDepth
        verbatimIdentification verbatimLabel verbatimLocality vernacularName waterBody year month
        day
    """,
    _DCTERMS: """
        accessRights bibliographicCitation license modified references rightsHolder type
        identifier format title description created creator language source
    """,
    _AC: "comments hashFunction hashValue",
    _IOBIS: "measurementTypeID measurementUnitID measurementValueID",
}

# Address of each term by its short name.
TERMS = MappingProxyType(
    {name: f"{space}{name}" for space, names in _NAMES.items() for name in names.split()}
)
_SHORT = {uri: name for name, uri in TERMS.items()}


def uri_of(name: str) -> str:
    """Return the address of a term.

    Raises
    ------
    KeyError
        Where no standard here has it: the program asks for a term of its own making.
    """
    return TERMS[name]


def short_name(uri: str) -> str:
    """Return the short name of a term: its own address where it is none of these."""
    return _SHORT.get(uri, uri)
