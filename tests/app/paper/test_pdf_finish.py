"""The PDF as it goes out: asked for at 100 %, valid, and the same for the same design.

Read by pdfium, which shares nothing with Qt's writer: viewer preferences by ISO 32000-1, 12.2.
"""

from __future__ import annotations

import datetime
import os
import re
import subprocess
import sys
from pathlib import Path

import pypdfium2 as pdfium
import pypdfium2.raw as raw
import pytest
from test_bench_sheet import PLANK

from app.paper import pages
from app.paper.bench_sheet import bench_sheet
from app.paper.pages import Sheet, pdf
from app.paper.pdf_finish import finished
from core.stability.readings import read_twice

ROOT = Path(__file__).resolve().parents[3]


def sheet() -> Sheet:
    return bench_sheet(PLANK, read_twice(PLANK), {}, paper="a4", today=datetime.date(2026, 5, 3))


@pytest.fixture
def as_qt_wrote_it(monkeypatch: pytest.MonkeyPatch) -> bytes:
    monkeypatch.setattr(pages, "finished", lambda data: data)
    data = pdf(sheet())
    monkeypatch.undo()
    return data


@pytest.mark.usefixtures("qapp")
def test_it_asks_for_its_own_size_and_stays_valid(as_qt_wrote_it: bytes) -> None:
    before, after = pdfium.PdfDocument(as_qt_wrote_it), pdfium.PdfDocument(pdf(sheet()))
    try:
        assert raw.FPDF_VIEWERREF_GetPrintScaling(before.raw), "the reader scales where nothing is said"
        assert not raw.FPDF_VIEWERREF_GetPrintScaling(after.raw)
        assert raw.FPDF_DocumentHasValidCrossReferenceTable(after.raw), "not one that had to be mended"
        assert len(after) == len(before) == 1 and after[0].get_size() == before[0].get_size()
        text = after[0].get_textpage().get_text_bounded()
        assert text == before[0].get_textpage().get_text_bounded() and "Plank" in text
        assert after.get_metadata_dict()["Title"] == before.get_metadata_dict()["Title"]
        assert after.get_metadata_dict()["CreationDate"] == "" != before.get_metadata_dict()["CreationDate"]
    finally:
        before.close()
        after.close()


@pytest.mark.usefixtures("qapp")
def test_another_day_and_another_lot_make_the_same_bytes(as_qt_wrote_it: bytes) -> None:
    other = re.sub(rb"\(D:\d{14}[^)]*\)", b"(D:20011231235959Z)", as_qt_wrote_it)
    other = re.sub(rb'(?<=Date=")[^"]*', lambda m: m[0][:4].replace(b"2", b"1") + m[0][4:], other)
    other = re.sub(rb"(?<=uuid:)[0-9a-f-]{36}", b"0123abcd-0123-0123-0123-0123456789ab", other)
    other = re.sub(rb"(?<=<)[0-9A-Fa-f]{72}(?=>)", b"61" * 36, other)
    assert other != as_qt_wrote_it and len(other) == len(as_qt_wrote_it)
    assert finished(other) == finished(as_qt_wrote_it) == pdf(sheet())
    larger = as_qt_wrote_it.replace(b"/Author ()", b"/Author  )")
    assert re.search(rb"/ID [^\n]*", finished(larger)) != re.search(rb"/ID [^\n]*", finished(other))


@pytest.mark.parametrize("data", [
    b"", b"%PDF-1.4\n", b"trailer\n<</Root 3 0 R>>\nstartxref\n0\n%%EOF",
    b"trailer\n<<>>\nstartxref\n99999999\n%%EOF\n",
    b"xref\n0 1\ntrailer\n<</Root 0 0 R>>\nstartxref\n0\n%%EOF\n",
])
def test_what_is_built_otherwise_is_left_as_it_is(data: bytes) -> None:
    assert finished(data) == data


def test_two_runs_of_the_program_write_the_same(tmp_path: Path) -> None:
    code = (
        "import sys, datetime; from pathlib import Path; from app.__main__ import main; main(['--version'])\n"
        "from app.paper.bench_sheet import bench_sheet; from app.paper.pages import pdf\n"
        "from core.design_file import read; from core.stability.readings import read_twice\n"
        "design = read(Path('sample_designs/long-meadow-2000.sternpost')).design\n"
        "day = datetime.date(2026, 5, 3)\n"
        "made = bench_sheet(design, read_twice(design), {}, paper='a4', today=day)\n"
        "Path(sys.argv[1]).write_bytes(pdf(made))\n"
    )
    environment = {k: v for k, v in os.environ.items() if k != "QT_HASH_SEED"}
    environment |= {"PYTHONPATH": str(ROOT), "QT_QPA_PLATFORM": "offscreen"}
    files = [tmp_path / f"{i}.pdf" for i in range(2)]
    for file in files:
        subprocess.run(
            [sys.executable, "-c", code, str(file)], cwd=ROOT, env=environment, check=True, timeout=120,
            capture_output=True,
        )
    assert files[0].read_bytes() == files[1].read_bytes()
