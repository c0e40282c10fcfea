"""Make ``priors.csv`` from the open data: species and survey shares of genera by region.

Run from the root of a checkout that has the data beside it::

    python tools/regional_shares.py ../shared/data

Genera that the data lack (hydrocorals and some without algae) get the number of
species that a diver may meet from memory, marked so.
"""

from __future__ import annotations

import csv
import sys
from collections import defaultdict
from pathlib import Path

HERE = Path(__file__).resolve().parent.parent / "src/corallum/data/reference"
PROVINCES = {
    "red_sea": {"Red Sea"},
    "western_indian_ocean": {"Africa-India"},
    "central_pacific": {"Fiji-Caroline Islands", "Tonga-Samoa", "Polynesia", "Hawaii-Line Islands"},
}
BASINS = {
    "indo_pacific": {"Indian Ocean", "Western and Central Pacific", "Eastern Pacific"},
    "eastern_pacific": {"Eastern Pacific"},
    "atlantic": {"Western Atlantic", "Eastern Atlantic"},
}
# Species that a diver may meet, by ocean; entered from memory.
FROM_MEMORY = {
    "Millepora": (12, 4), "Heliopora": (2, 0), "Tubipora": (1, 0), "Stylaster": (10, 1),
    "Distichopora": (4, 0), "Tubastraea": (6, 2), "Dendrophyllia": (5, 1), "Cladopsammia": (3, 0),
    "Rhizopsammia": (4, 1), "Balanophyllia": (6, 2), "Polycyathus": (4, 1), "Astrangia": (3, 4),
}  # fmt: skip


def read(folder: Path, name: str) -> list[dict[str, str]]:
    """Read one table."""
    with (folder / name).open(newline="", encoding="utf-8") as stream:
        return list(csv.DictReader(stream))


def species_counts(data: Path) -> dict[str, dict[str, float]]:
    """Count species by region and genus."""
    counts: dict[str, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    for row in read(data, "species_traits.csv"):
        places = set(row["ip_faunal_provinces"].split("|"))
        basins = set(row["regions"].split("|"))
        for region, names in (*PROVINCES.items(), *BASINS.items()):
            if names & (places | basins):
                counts[region][row["current_genus"]] += 1
    for genus, (pacific, atlantic) in FROM_MEMORY.items():
        for region in (*PROVINCES, "indo_pacific", "eastern_pacific"):
            part = 0.3 if region == "eastern_pacific" else 1.0 if region == "indo_pacific" else 0.6
            counts[region][genus] = pacific * part
        counts["atlantic"][genus] = atlantic
    return counts


def mean_shares(rows: list[dict[str, str]], region: str, genus: str) -> dict[str, float]:
    """Average the shares of genera over the survey's regions, each with equal weight."""
    regions = {row[region] for row in rows}
    shares: dict[str, float] = defaultdict(float)
    for row in rows:
        shares[row[genus]] += float(row["prior_share"]) / len(regions)
    return shares


def survey_shares(data: Path) -> dict[str, tuple[dict[str, float], str]]:
    """Survey shares by region, with their source."""
    pacific = mean_shares(read(data, "pacific_region_genus_priors.csv"), "region", "genus_accepted")
    atlantic = mean_shares(read(data, "atlantic_region_genus_priors.csv"), "region", "genus")
    met: dict[str, float] = defaultdict(float)
    for row in read(data, "palau_yap_line_intercepts.csv"):
        if row["genus"]:
            met[row["genus"]] += 1
    total = sum(met.values())
    west = {
        genus: (pacific.get(genus, 0.0) + met.get(genus, 0.0) / total) / 2
        for genus in {*pacific, *met}
    }
    return {
        "central_pacific": (pacific, "noaa_pacific"),
        "indo_pacific": (west, "noaa_pacific|bcodmo737508"),
        "atlantic": (atlantic, "noaa_atlantic"),
    }


def main(data: Path) -> None:
    """Write the table."""
    counts, surveys = species_counts(data), survey_shares(data)
    genera = [
        row
        for table in sorted((HERE / "genera").glob("*.csv"))
        for row in read(HERE / "genera", table.name)
    ]
    with (HERE / "priors.csv").open("w", newline="", encoding="utf-8") as stream:
        writer = csv.writer(stream, lineterminator="\n")
        writer.writerow(["region", "genus", "species", "species_share", "survey_share", "source"])
        for region in ("indo_pacific", *PROVINCES, "eastern_pacific", "atlantic"):
            listed = sorted(row["genus"] for row in genera if region in row["regions"].split("|"))
            total = sum(counts[region][genus] for genus in listed)
            survey, source = surveys.get(region, ({}, ""))
            for genus in listed:
                share = counts[region][genus] / total
                own = "memory" if genus in FROM_MEMORY else "madin2016"
                writer.writerow([
                    region, genus, f"{counts[region][genus]:g}", f"{share:.6f}",
                    f"{survey.get(genus, 0.0):.6f}" if survey else "",
                    "|".join(part for part in (own, source) if part),
                ])  # fmt: skip


if __name__ == "__main__":
    main(Path(sys.argv[1]))
