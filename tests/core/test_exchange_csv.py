"""The readings as CSV, read back by the standard library's own reader."""

from __future__ import annotations

import csv
import io

import pytest

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


def rows_of(data: bytes, delimiter: str) -> dict[str, dict[str, str]]:
    head, *rows = csv.reader(io.StringIO(data.decode("utf-8-sig"), newline=""), delimiter=delimiter)
    return {row[0]: dict(zip(head, row, strict=True)) for row in rows}


def test_decimal_commas_and_semicolons_hold_the_same_figures() -> None:
    readings = ReadingsEngine().read(Design(1, "Plank", outlines=(BODY,), cg_mark=Mark(300.125, 10)))
    points, commas = rows_of(csv_bytes(readings), ","), rows_of(csv_bytes(readings, decimal="comma"), ";")
    assert list(points) == list(commas)
    assert commas["cla_aft_of_cg"]["value"] == "199,875"
    for key, row in commas.items():
        assert "." not in row["value"]
        assert row == {**points[key], "value": points[key]["value"].replace(".", ",")}


def test_a_design_in_inches_has_its_figures_in_inches_and_ounces() -> None:
    """1 in = 25.4 mm, 1 oz = 28.349523125 g (NIST SP 811, Appendix B)."""
    readings = ReadingsEngine().read(Design(1, "Plank", outlines=(BODY,), cg_mark=Mark(300, 10)))
    inches, mm = (rows_of(csv_bytes(readings, units), ",") for units in ("in", "mm"))
    assert rows_of(csv_bytes(readings, "in64"), ",") == inches
    assert inches["side_area"]["unit"] == "in2" and inches["cla_aft_of_cg"]["unit"] == "in"
    assert float(inches["side_area"]["value"]) == pytest.approx(1e5 / 25.4**2, rel=1e-12)
    assert float(inches["cla_aft_of_cg"]["value"]) == pytest.approx(200 / 25.4, rel=1e-12)
    for key, row in inches.items():
        assert row["unit"] not in ("mm", "mm2", "g")
        if mm[key]["unit"] not in ("mm", "mm2", "g"):
            assert row == mm[key]
