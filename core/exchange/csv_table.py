"""The readings as a table for a spreadsheet (RFC 4180: commas, CRLF, quotes where needed)."""

from __future__ import annotations

import csv
import io

from core.stability.readings import Readings

COLUMNS = ("key", "reading", "value", "unit", "verdict", "missing", "formula", "source")


def csv_bytes(readings: Readings) -> bytes:
    """One row a reading, in the order of the catalogue, under a row of headings.

    Values in full precision with a point: mm, mm2, g, deg, 1/rad, or parts of one with the unit "1";
    empty where ``missing`` says why. UTF-8 with a byte-order mark, by which spreadsheets know it
    (common practice, no source).
    """
    held = io.StringIO()
    writer = csv.writer(held)
    writer.writerow(COLUMNS)
    for key, reading in readings.table.items():
        writer.writerow((
            key, reading.label, "" if reading.value is None else repr(float(reading.value)), reading.unit,
            reading.verdict or "", reading.missing or "", reading.formula, reading.source,
        ))
    return held.getvalue().encode("utf-8-sig")
