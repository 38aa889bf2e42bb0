"""The readings as CSV, read back by the standard library's own reader."""

from __future__ import annotations

import csv
import io

from core.design import Design, Mark, Node, Outline
from core.exchange.csv_table import COLUMNS, csv_bytes
from core.stability.readings import ReadingsEngine

BODY = Outline("body", "fuselage", (Node(0, -50), Node(1000, -50), Node(1000, 50), Node(0, 50)))


def test_every_reading_has_a_row_with_value_and_unit() -> None:
    readings = ReadingsEngine().read(Design(1, "Plank", outlines=(BODY,), cg_mark=Mark(300, 10)))
    data = csv_bytes(readings)
    assert data.startswith(b"\xef\xbb\xbf") and b"\r\n" in data
    head, *rows = csv.reader(io.StringIO(data.decode("utf-8-sig"), newline=""))
    assert tuple(head) == COLUMNS
    assert [row[0] for row in rows] == list(readings.table)
    by_key = {row[0]: dict(zip(head, row, strict=True)) for row in rows}
    assert float(by_key["side_area"]["value"]) == 1000 * 100 and by_key["side_area"]["unit"] == "mm2"
    assert float(by_key["cla_aft_of_cg"]["value"]) == 500 - 300
    assert by_key["cla_fraction"]["value"] == "" and "fin" in by_key["cla_fraction"]["missing"]
    for row in by_key.values():
        assert (row["value"] == "") == (row["missing"] != "")
        # A cell that begins so would be run as a formula.
        assert not any(cell.startswith(("=", "+", "@", "\t")) for cell in row.values())
