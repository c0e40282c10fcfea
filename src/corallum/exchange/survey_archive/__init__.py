"""A survey as an archive of Darwin Core: events, occurrences and measurements, out and in again."""
