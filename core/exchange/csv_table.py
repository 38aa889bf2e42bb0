"""The readings as a table for a spreadsheet (RFC 4180: commas, CRLF, quotes where needed)."""

from __future__ import annotations

import csv
import io
from typing import Literal

from core.design import DisplayUnits
from core.stability.readings import Readings
from core.units import GRAMS_PER_OZ, MM_PER_IN

COLUMNS = ("key", "reading", "value", "unit", "verdict", "missing", "formula", "source")
Decimal = Literal["point", "comma"]
"""The decimal mark of a spreadsheet. Where it is a comma, fields are parted by semicolons: what such a
spreadsheet writes and reads itself (common practice, no source)."""
_INCHES = {"mm": ("in", MM_PER_IN), "mm2": ("in2", MM_PER_IN**2), "g": ("oz", GRAMS_PER_OZ)}


def csv_bytes(readings: Readings, units: DisplayUnits = "mm", decimal: Decimal = "point") -> bytes:
    """One row a reading, in the order of the catalogue, under a row of headings.

    Values in full precision in the units of the design: mm, mm2, g, or in, in2, oz; besides deg, s,
    1/rad, and parts of one with the unit "1"; empty where ``missing`` says why. UTF-8 with a byte-order
    mark, by which spreadsheets know it (common practice, no source).
    """
    held = io.StringIO()
    writer = csv.writer(held, delimiter=";" if decimal == "comma" else ",")
    writer.writerow(COLUMNS)
    for key, reading in readings.table.items():
        unit, size = (reading.unit, 1.0) if units == "mm" else _INCHES.get(reading.unit, (reading.unit, 1.0))
        value = "" if reading.value is None else repr(float(reading.value) / size)
        writer.writerow((
            key, reading.label, value.replace(".", ",") if decimal == "comma" else value, unit,
            reading.verdict or "", reading.missing or "", reading.formula, reading.source,
        ))
    return held.getvalue().encode("utf-8-sig")
