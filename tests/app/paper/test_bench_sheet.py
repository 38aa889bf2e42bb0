"""The bench sheet: one page, true to scale, its text to be found, its figures those of the readings."""

from __future__ import annotations

import datetime
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
import pytest
from driving import sample
from msgspec.structs import replace
from numpy.typing import NDArray
from PySide6.QtCore import QRectF
from PySide6.QtGui import QImage, QPageSize, QPainter
from PySide6.QtPrintSupport import QPrinter

from app.kit.cautions import CAUTIONS
from app.kit.marks import draw_cla
from app.paper.bench_sheet import (
    Places,
    bench_sheet,
    paint_bench_sheet,
    sources_words,
)
from app.paper.frame import ratio_words, round_ratio
from app.paper.grouped import cell, columns, given, own_rows, rows_of, wanting_words
from app.paper.heads import titled
from app.paper.ink import ON_PAPER, Ink
from app.paper.pages import pdf, print_sheet
from app.paper.signs import state_sign
from app.paper.tables import area_rows
from core.bench.from_wing import cg_from_wing_words
from core.design import Design, Mark, Node, Outline, Scan, Station, Tailplane, Weight, Wing
from core.stability.answer import answer
from core.stability.catalogue import GROUPS
from core.stability.firmness import firmness
from core.stability.in_place import shortly
from core.stability.readings import ReadingsEngine
from core.stability.wording import figure, percent
from core.units import format_area, format_number

ROOT = Path(__file__).resolve().parents[3]
TODAY = datetime.date(2031, 3, 9)
DPI = 300
LANDSCAPE = {"a4": (297.0, 210.0), "letter": (279.4, 215.9)}

pytestmark = pytest.mark.usefixtures("qapp")


def box(outline_id: str, kind: str, x0: float, z0: float, x1: float, z1: float, **more: Any) -> Outline:
    corners = ((x0, z0), (x1, z0), (x1, z1), (x0, z1))
    return Outline(outline_id, kind, tuple(Node(x, z) for x, z in corners), **more)  # type: ignore[arg-type]


PLANK = Design(
    1, "Plain Plank", notes="First flown in fine finish.",
    outlines=(
        box("body", "fuselage", 0, -40, 1000, 40, label="Fuselage"),
        box("fin", "fin", 860, 40, 960, 190, label="Fin"),
        box("wheels", "wheel", 200, -110, 260, -50, label="Wheels", count=2),
    ),
    wings=(Wing("wing", (Station(0, 250, 200, 60), Station(500, 250, 160, 90)), label="Wing"),),
    tailplanes=(
        Tailplane("tailplane", (Station(0, 850, 120, 45), Station(200, 850, 120, 45)), label="Tailplane"),
    ),
    cg_mark=Mark(310, 5),
)


def written(tmp_path: Path, design: Design, paper: str = "a4") -> tuple[pypdfium2.PdfDocument, Path]:
    path = tmp_path / "sheet.pdf"
    engine = ReadingsEngine()
    readings = engine.read(design)
    sheet = bench_sheet(design, readings, engine.counted_areas(design), paper=paper, today=TODAY)  # type: ignore[arg-type]
    path.write_bytes(pdf(sheet))
    return pypdfium2.PdfDocument(path), path


def text_of(document: pypdfium2.PdfDocument) -> str:
    page = document[0].get_textpage().get_text_bounded()
    return " ".join(page.split())


def all_text(document: pypdfium2.PdfDocument) -> str:
    return " ".join(" ".join(page.get_textpage().get_text_bounded().split()) for page in document)


def places_of(design: Design, paper: str = "a4") -> Places:
    engine = ReadingsEngine()
    readings = engine.read(design)
    width, height = LANDSCAPE[paper]
    image = QImage(100, 100, QImage.Format.Format_Grayscale8)
    # Letters as wide as in the PDF.
    image.setDotsPerMeterX(round(1200 / 0.0254))
    image.setDotsPerMeterY(round(1200 / 0.0254))
    painter = QPainter(image)
    try:
        return paint_bench_sheet(
            painter, QRectF(0, 0, width, height), design, readings, engine.counted_areas(design), today=TODAY
        )
    finally:
        painter.end()


def raster(document: pypdfium2.PdfDocument, page: int = 0) -> NDArray[np.uint8]:
    return np.asarray(document[page].render(scale=DPI / 72).to_pil().convert("L"))


def bar_ink(picture: NDArray[np.uint8], bar: QRectF) -> NDArray[np.intp]:
    """Columns with ink at the bar's upper edge, up to 5 mm past its end, where nothing else stands."""
    row = picture[round((bar.top() + 0.05) / 25.4 * DPI)]
    return np.nonzero(row[: round((bar.right() + 5.0) / 25.4 * DPI)] < 160)[0]


def mm(pixels: float) -> float:
    return pixels * 25.4 / DPI


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_one_landscape_page_of_the_right_size(tmp_path: Path, paper: str) -> None:
    document, _ = written(tmp_path, PLANK, paper)
    assert len(document) == 1
    # Qt rounds A4 to whole points, 0.2 mm.
    assert [side * 25.4 / 72 for side in document[0].get_size()] == pytest.approx(LANDSCAPE[paper], abs=0.2)


# With everything that the further readings need.
WHOLE = replace(
    PLANK, outlines=(*PLANK.outlines, box("rudder", "rudder", 960, 40, 1000, 190, label="Rudder")),
    weights=(Weight("all", 1200, 310),), cg_from="weights", fuselage_width=70.0,
)


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("units", ["mm", "in64"])
def test_the_text_holds_the_figures_of_all_groups(tmp_path: Path, units: Any, paper: str) -> None:
    design = replace(WHOLE, display_units=units)
    text = text_of(written(tmp_path, design, paper)[0])
    readings = ReadingsEngine().read(design)
    for group in GROUPS:
        assert group.title.upper() in text
        for key in own_rows(group):
            reading = readings[key]
            said = cell(key, readings, units) or reading.missing
            assert f"{reading.label} {said}" in text, key
            if reading.value is not None:
                assert said.startswith(figure(key, readings, units)), key
    # On the scale of firmness: both witnesses by name, and the ends of the band.
    found = firmness(readings)
    assert found is not None and list(found.witnesses) in (["charts", "lattice"], ["lattice", "charts"])
    for name, value in found.witnesses.items():
        assert f"{name} {format_number(value, 3)}" in text
    for words in (format_number(found.low, 3), format_number(found.high, 3), "swaps ends", "usual 0.03–0.15"):
        assert words in text, words
    assert "Not given" not in text and "…" not in text
    margin, fraction = (readings.value(key) for key in ("static_margin", "cla_fraction"))
    assert margin is not None and fraction is not None
    for words in (f"neutral point, margin {percent(margin, 0)}", "yaw neutral point"):
        assert words in text, words
    assert text.count(f"CLA {percent(fraction)}") == 2, "at the mark and on the rule"


def test_the_text_holds_the_answer_and_what_to_mind(tmp_path: Path) -> None:
    readings = ReadingsEngine().read(PLANK)
    text = text_of(written(tmp_path, PLANK)[0])
    said = answer(PLANK, readings)
    assert re.fullmatch(r"± \d+\.\d %", said.spread)
    for words in (f"{said.figure.removesuffix(' %')} {said.spread}", said.sentence, said.state_words,
                  "Plain Plank", "9 March 2031", "100 mm",
                  "First flown in fine finish.", "scale 1:5", "fin centre", "CG 310.0 mm",
                  "aim 22–28 %", "counted twice or more", "2 × wheel"):
        assert words in text, words
    for caution in CAUTIONS:
        assert caution in text


def test_only_groups_whose_inputs_exist_are_shown(tmp_path: Path) -> None:
    bare = replace(PLANK, wings=(), tailplanes=())
    text = text_of(written(tmp_path, bare)[0])
    for title in ("SIDE AREA", "VERTICAL TAIL"):
        assert title in text
    for title in ("WING", "YAW", "AFTER A GUST", "RUDDER", "SPIRAL", "PITCH", "WEIGHT"):
        assert title not in text, title
    assert ("Not given: Wing, Yaw, After a gust, Spiral, Pitch – enter the wing; Rudder – trace the rudder; "
            "Weight – enter the weights.") in text
    assert "Fin volume V_v enter the wing" in text


def test_groups_share_columns_without_being_broken() -> None:
    for groups in (GROUPS, GROUPS[:2], GROUPS[2:], ()):
        found = columns(groups, 15, 4)
        assert sorted(g.key for c in found for g in c) == sorted(g.key for g in groups)
        assert all(rows_of(column) <= 15 for column in found) and len(found) <= 4
        for column in found:
            assert column == sorted(column, key=GROUPS.index)


def test_the_kinds_of_source_are_told() -> None:
    readings = ReadingsEngine().read(WHOLE)
    words = sources_words(readings)
    known = [r for r in readings.table.values() if r.value is not None]
    for source in {r.source for r in known}:
        assert f"{source}." in words
    counts = [int(n) for n in re.findall(r"(\d+) figures: ", words)]
    named = sum(1 for r in known if r.label in words)
    last = words.rsplit("All others: ", 1)[1].removesuffix(".")
    assert sum(counts) + named + sum(1 for r in known if r.source == last) == len(known)
    assert sources_words(ReadingsEngine().read(Design(1, ""))) == ""


def test_signs_are_those_of_the_window() -> None:
    """The bob's tip lies on the point; wedges point to their side; a disc stands for "within"."""

    def drawn(sign: Any, *arguments: Any) -> NDArray[np.bool_]:
        image = QImage(400, 400, QImage.Format.Format_Grayscale8)
        image.setDotsPerMeterX(20_000)
        image.setDotsPerMeterY(20_000)
        image.fill(255)
        painter = QPainter(image)
        ink = Ink(painter)
        sign(ink, *arguments)
        ink.done()
        painter.end()
        return np.frombuffer(image.constBits(), dtype=np.uint8).reshape(400, -1)[:, :400] < 128

    # 20 pixels a millimetre.
    dark = drawn(lambda ink: draw_cla(ink.painter, (10.0, 12.0), ON_PAPER, 2.3))
    rows, across = np.nonzero(dark)
    assert rows.max() / 20 == pytest.approx(12.0, abs=0.2)
    assert across[rows == rows.max()].mean() / 20 == pytest.approx(10.0, abs=0.1)
    sides = {}
    for verdict in ("below", "within", "above"):
        dark = drawn(state_sign, 5.0, 10.0, verdict, 8.0)
        tall = dark.sum(axis=0)
        sides[verdict] = tall[:180].sum() - tall[180:].sum()
    assert sides["below"] < -500 and sides["above"] > 500 and abs(sides["within"]) < 500


def test_fonts_are_embedded_and_named_data_is_set(tmp_path: Path) -> None:
    document, path = written(tmp_path, PLANK)
    assert b"/FontFile" in path.read_bytes()
    data = document.get_metadata_dict()
    assert data["Creator"] == "Sternpost" and data["Title"] == "Plain Plank: bench sheet"


def test_nothing_but_vectors(tmp_path: Path) -> None:
    _, path = written(tmp_path, PLANK)
    assert b"/Subtype /Image" not in path.read_bytes()


@pytest.mark.parametrize(("units", "paper", "length"), [("mm", "a4", 100.0), ("in", "letter", 101.6)])
def test_the_check_bar_measures_true(tmp_path: Path, units: Any, paper: str, length: float) -> None:
    design = replace(PLANK, display_units=units)
    picture = raster(written(tmp_path, design, paper)[0])
    bar = places_of(design, paper).check_bar
    ink = bar_ink(picture, bar)
    assert mm(ink[-1] + 1 - ink[0]) == pytest.approx(length, abs=0.1)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_profile_is_drawn_to_the_stated_scale(tmp_path: Path, paper: str) -> None:
    # Alone, without marks, so that every dark pixel in the band but the words is the outline's.
    design = Design(1, "Bar", outlines=(box("body", "fuselage", 0, -40, 1000, 40),))
    document, _ = written(tmp_path, design, paper)
    places = places_of(design, paper)
    assert places.ratio == 4 and "scale 1:4" in text_of(document)
    picture = raster(document)
    middle = picture[round(places.profile.center().y() / 25.4 * DPI) - 40]
    left, right = places.profile.left() + 1.0, places.profile.right() - 1.0
    inside = middle[round(left / 25.4 * DPI): round(right / 25.4 * DPI)]
    dark = np.nonzero(inside < 100)[0]
    first, last = dark[0], dark[-1]
    line = 0.32
    assert mm(last + 1 - first) - line == pytest.approx(1000 / 4, abs=0.1)


def test_round_scales() -> None:
    for most, words in ((1.0, "1:1"), (0.99, "1:2"), (0.4, "1:2.5"), (0.26, "1:4"), (0.19, "1:6"),
                        (0.125, "1:8"), (0.1, "1:10"), (0.012, "1:100"), (2.3, "2:1"), (3.4, "2.5:1"),
                        (12.0, "10:1")):
        ratio = round_ratio(most)
        assert ratio_words(ratio) == words
        assert 1 / ratio <= most * (1 + 1e-9)


def test_an_unset_scale_is_said_and_no_length_given(tmp_path: Path) -> None:
    design = replace(PLANK, scans=(Scan("plan", "plan.png", scale_from="none"),))
    text = text_of(written(tmp_path, design)[0])
    assert "scale not set: not to scale" in text and "1:4" not in text
    assert " mm²" not in text and "dm²" not in text
    assert answer(design, ReadingsEngine().read(design)).figure in text
    assert ("Not given: Side area, Vertical tail, Wing, Yaw – set the scale of the scan; "
            "Rudder – trace the rudder; ") in text


def test_without_a_fin_the_sheet_says_what_to_do(tmp_path: Path) -> None:
    design = replace(PLANK, outlines=PLANK.outlines[:1])
    text = text_of(written(tmp_path, design)[0])
    assert "Trace the fin and the rudder." in text and "No arm rule yet: trace the fin or the rudder." in text


def test_an_empty_design_still_makes_a_sheet(tmp_path: Path) -> None:
    text = text_of(written(tmp_path, Design(1, ""))[0])
    assert "Nothing is traced yet." in text and "Untitled" in text


def test_many_outlines_keep_the_largest_and_sum_up_the_rest(tmp_path: Path) -> None:
    bits = tuple(
        box(f"bit-{i}", "other", 20 * i, 300, 20 * i + 10, 302 + i, label=f"Bit {i}") for i in range(40)
    )
    design = replace(PLANK, outlines=PLANK.outlines + bits, title="T" * 500, notes="word " * 2000)
    engine = ReadingsEngine()
    readings = engine.read(design)
    areas = engine.counted_areas(design)
    document, _ = written(tmp_path, design)
    text = text_of(document)
    # 45 rows: the five of the aeroplane and the largest bits are shown, as many as there is room for.
    told = re.search(r"and (\d+) more, (\d+\.\d) % together: page 2", text)
    assert told is not None
    behind, count = all_text(document), int(told[1])
    rest = sum(areas[f"bit-{i}"] for i in range(count)) / readings.side.moments.area
    assert 25 <= count <= 36 and told[2] == f"{100 * rest:.1f}"
    assert f"Bit {count}" in text and f"Bit {count - 1} " not in text
    for i in range(count):
        share = percent(areas[f"bit-{i}"] / readings.side.moments.area)
        assert f"Bit {i} (other): {format_area(areas[f'bit-{i}'], 'mm')}, {share}" in behind


LONG = "A name that goes on and on until nobody wants to read it any more, and then some; "
BOWTIE = Outline("bow", "other", (Node(400, 0), Node(480, 60), Node(400, 60), Node(480, 0)), label="Bow tie")
HEAVY: dict[str, Design] = {
    "plain": PLANK,
    "complete": WHOLE,
    "in fractions": replace(WHOLE, display_units="in64"),
    "nothing entered": Design(1, "Nothing", outlines=PLANK.outlines[:1]),
    "empty": Design(1, ""),
    "a long title": replace(PLANK, title=LONG * 5),
    "a title without a blank": replace(PLANK, title="Plank" * 120),
    "long notes": replace(PLANK, notes="\n".join(f"{i}: {LONG}" for i in range(80))),
    "without a scale": replace(WHOLE, scans=(Scan("p", "plan.png", scale_from="none"),)),
    "long names": replace(
        WHOLE, outlines=tuple(replace(o, label=f"{o.id} {LONG * 3}") for o in WHOLE.outlines),
        wings=tuple(replace(w, label=LONG) for w in WHOLE.wings),
    ),
    "many warnings": replace(PLANK, outlines=(*PLANK.outlines, *(
        replace(BOWTIE, id=f"bow-{i}", label=f"Bow {i} {LONG}") for i in range(9)
    ))),
    "guessed": replace(WHOLE, guessed=tuple(f"tailplanes[0].stations[{i}].z" for i in range(2))),
}


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("case", sorted(HEAVY))
def test_what_is_asked_to_be_drawn_is_drawn_whole(tmp_path: Path, case: str, paper: str) -> None:
    """Every text that goes on the sheet, letter by letter without the blanks, as read from the PDF."""
    design = HEAVY[case]
    engine = ReadingsEngine()
    readings = engine.read(design)
    areas = engine.counted_areas(design)
    document, _ = written(tmp_path, design, paper)
    found = re.sub(r"\s", "", " ".join(p.get_textpage().get_text_bounded() for p in document))
    said = answer(design, readings)
    asked = [design.title or "Untitled", design.notes, said.sentence, sources_words(readings), *CAUTIONS]
    asked += [said.state_words, said.meaning, said.advice] if said.figure else []
    asked += [said.sure, cg_from_wing_words(design)]
    asked += [note.words for notes in (said.at_odds, said.left_out, said.guessed) for note in notes]
    asked += [*readings.warnings, wanting_words(readings)]
    for group in given(readings):
        for key in own_rows(group):
            asked += [readings[key].label, cell(key, readings, design.display_units)
                      or shortly(readings[key].missing or "")]
    for row in area_rows(design, areas):
        asked.append(row.name)
        if row.counted and readings.scale_known:
            asked.append(format_area(row.area, design.display_units))
    for words in asked:
        assert re.sub(r"\s", "", words) in found, words
    for number in range(len(document)):
        no_word_on_another(document[number].get_textpage())


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("slug", ["marsh-harrow-52", "tallow-twin", "long-meadow-2000"])
def test_a_sample_is_one_page_that_keeps_its_area_band(tmp_path: Path, slug: str, paper: str) -> None:
    document, _ = written(tmp_path, sample(slug).design, paper)
    text = text_of(document)
    assert len(document) == 1 and "SIDE AREA ALONG THE LENGTH" in text and "…" not in text
    assert "the leading edge of the wing's root." in text


def test_without_a_title_it_goes_by_the_name_of_its_file() -> None:
    for title in ("", "Untitled"):
        assert titled(replace(PLANK, title=title), Path("/a/Blue Heron.sternpost")).title == "Blue Heron"
    assert titled(PLANK, Path("/a/Blue Heron.sternpost")) is PLANK
    assert titled(replace(PLANK, title=""), None).title == ""


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize(
    "case", ["plain", "crowded", "close together", "nothing entered", "complete", "without a scale"]
)
def test_no_word_lies_on_another(tmp_path: Path, case: str, paper: str) -> None:
    bits = tuple(
        box(f"bit-{i}", "other", 230 + 9 * i, -30, 300 + 9 * i, 30, label=f"Former {i}") for i in range(12)
    )
    design = {
        "plain": PLANK,
        "crowded": replace(PLANK, outlines=PLANK.outlines + bits, title="W" * 200, notes="W w " * 900),
        "close together": replace(PLANK, cg_mark=Mark(520, 0)),
        "nothing entered": Design(1, "Nothing", outlines=PLANK.outlines[:1]),
        "complete": replace(WHOLE, display_units="in64"),
        "without a scale": replace(WHOLE, scans=(Scan("plan", "plan.png", scale_from="none"),)),
    }[case]
    document = written(tmp_path, design, paper)[0]
    for number in range(len(document)):
        no_word_on_another(document[number].get_textpage())


def no_word_on_another(page: pypdfium2.PdfTextPage) -> None:
    boxes = np.array([page.get_charbox(i) for i in range(page.count_chars())])
    low = np.maximum(boxes[:, None, :2], boxes[None, :, :2])
    high = np.minimum(boxes[:, None, 2:], boxes[None, :, 2:])
    overlap = (high - low > 0.3).all(axis=2)
    # Neighbours in a word may lean over each other ("Ta").
    first, second = np.nonzero(np.triu(overlap, 2))
    assert [(page.get_text_range(int(i), 1), page.get_text_range(int(j), 1))
            for i, j in zip(first, second, strict=True)] == []


def test_nothing_is_printed_on_the_margins(tmp_path: Path) -> None:
    design = replace(PLANK, title="W" * 300, notes="W" * 3000, outlines=tuple(
        replace(o, label="W" * 200) for o in PLANK.outlines))
    document = written(tmp_path, design)[0]
    assert len(document) == 2
    for number in range(2):
        picture = raster(document, number)
        edge = round(9.2 / 25.4 * DPI)
        inner = np.ones_like(picture, dtype=bool)
        inner[edge:-edge, edge:-edge] = False
        assert (picture[inner] == 255).all()


def test_hostile_words_do_no_harm(tmp_path: Path) -> None:
    design = replace(PLANK, title="a\x00b\n\u202ec\ud800", notes="<b>x</b>\r\n\x1b[31m", outlines=tuple(
        replace(o, label="\n\t\x07") for o in PLANK.outlines))
    assert "<b>x</b>" in text_of(written(tmp_path, design)[0])


def test_a_far_off_cg_does_not_shrink_the_drawing(tmp_path: Path) -> None:
    design = replace(PLANK, cg_mark=Mark(-900_000, 0))
    assert places_of(design).ratio == places_of(PLANK).ratio == 5
    assert len(written(tmp_path, design)[0]) == 1


def test_printing_is_the_same_sheet(tmp_path: Path) -> None:
    path = tmp_path / "printed.pdf"
    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
    printer.setOutputFileName(str(path))
    printer.setPageSize(QPageSize(QPageSize.PageSizeId.A4))
    engine = ReadingsEngine()
    print_sheet(printer, bench_sheet(
        PLANK, engine.read(PLANK), engine.counted_areas(PLANK), paper="letter", today=TODAY
    ))
    document = pypdfium2.PdfDocument(path)
    assert len(document) == 1
    assert text_of(document) == text_of(written(tmp_path, PLANK)[0])
    bar = places_of(PLANK).check_bar
    ink = bar_ink(raster(document), bar)
    assert mm(ink[-1] + 1 - ink[0]) == pytest.approx(100.0, abs=0.1)
    assert mm(ink[0]) == pytest.approx(bar.left(), abs=0.15)


def test_without_screen_and_application_by_the_command(tmp_path: Path) -> None:
    from core.design_file import write

    write(tmp_path / "plank.sternpost", PLANK, {})
    environment = {
        name: value for name, value in os.environ.items()
        if name not in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")
    }
    # Twice in one process: the application made for the first must be gone for the second.
    code = (
        "import sys; from app.__main__ import main; "
        "sys.exit(main(['sheet', 'plank.sternpost', '-o', 'a.pdf']) "
        "or main(['sheet', 'plank.sternpost', '-o', 'b.pdf', '--paper', 'letter']))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=tmp_path, env={**environment, "PYTHONPATH": str(ROOT)},
        capture_output=True, timeout=60, check=False,
    )
    assert (done.returncode, done.stdout, done.stderr) == (0, b"", b"")
    for name, paper in (("a.pdf", "a4"), ("b.pdf", "letter")):
        size = pypdfium2.PdfDocument(tmp_path / name)[0].get_size()
        assert [side * 25.4 / 72 for side in size] == pytest.approx(LANDSCAPE[paper], abs=0.2)


def test_an_area_that_is_not_known_is_no_nought(tmp_path: Path) -> None:
    design = Design(
        1, "Box", outlines=(box("hull", "fuselage", 0, 0, 400, 60), box("fin", "fin", 380, 60, 400, 90))
    )
    readings = ReadingsEngine().read(design).withheld("the areas are still being counted")
    path = tmp_path / "sheet.pdf"
    path.write_bytes(pdf(bench_sheet(design, readings, {}, paper="a4", today=TODAY)))
    text = all_text(pypdfium2.PdfDocument(path))
    assert "The areas are still being counted" in text
    assert not re.search(r"(?<![\d.])0 (mm2|mm²|%)", text)
    assert [row.area for row in area_rows(design, {})] == [None, None]
