"""The setting-up sheet: true to scale, nothing in the margins, its figures those of the core."""

from __future__ import annotations

import datetime
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from driving import sample
from msgspec.structs import replace
from numpy.typing import NDArray
from PySide6.QtCore import QMarginsF, QSizeF
from PySide6.QtGui import QPageLayout, QPageSize
from PySide6.QtPrintSupport import QPrinter

from app.__main__ import main
from app.kit.cautions import CAUTIONS
from app.paper.pages import pdf, print_sheet
from app.paper.setting_up_rows import fine_length, sections_of
from app.paper.setting_up_sheet import setting_up_sheet
from core.bench.linkage import PullPull, Throw, horn_for, pull_pull_of, throw_of
from core.bench.pairs import pair_settings
from core.bench.pin import pin_of
from core.bench.setting_up import StringCheck, string_check
from core.bench.throws import EdgeThrow, elevator_throws, rudder_throws
from core.bench.tolerances import string_tolerance
from core.bench.weighing import Compared, compared
from core.design import EMPTY, Bench, Design, Scan
from core.design_bench import Linkage, ScaleReading, Weighing
from core.redesign.design_edits import change_outlines, set_apart
from core.units import format_angle, format_fine, format_mass

TODAY = datetime.date(2031, 3, 9)
DPI = 300
SIZES = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
SAMPLES = ("marsh-harrow-52", "tallow-twin", "long-meadow-2000")
WIRES = Linkage("wires", 15.0, 18.0, 80.0, "Rudder wires", horn_set_back=4.0, pull_pull=True)
PUSHROD = Linkage(
    "rod", 12.0, 15.0, 43.0, "Elevator pushrod", "elevator", 40.0, crank_in=15.0, crank_out=12.0
)
AILERON = Linkage("aileron", 12.0, 16.0, 40.0, "Aileron", "aileron", horn_set_back=5.0)
STUCK = Linkage("stuck", 40.0, 10.0, 40.0, "Too long an arm", "other")
READY = Weighing(
    "ready", (ScaleReading(490.5, 230), ScaleReading(493.2, 230), ScaleReading(205.3, 930)), "Ready to fly"
)
BARE = Weighing("bare", (ScaleReading(310, 230), ScaleReading(90, 930)), "Bare airframe")
BEGUN = Weighing("begun", (), "Begun")

pytestmark = pytest.mark.usefixtures("qapp")


def laden(slug: str = "long-meadow-2000") -> Design:
    bench = Bench((WIRES, PUSHROD, AILERON, STUCK), (BARE, READY, BEGUN))
    return replace(sample(slug).design, bench=bench)


def opened(design: Design, paper: str = "a4") -> pypdfium2.PdfDocument:
    return pypdfium2.PdfDocument(pdf(setting_up_sheet(design, paper=paper, today=TODAY)))  # type: ignore[arg-type]


def text_of(document: pypdfium2.PdfDocument) -> str:
    return " ".join(" ".join(page.get_textpage().get_text_bounded().split()) for page in document)


def raster(page: pypdfium2.PdfPage, dpi: int) -> NDArray[np.uint8]:
    picture: NDArray[np.uint8] = page.render(scale=dpi / 72, grayscale=True).to_numpy()
    return picture.reshape(picture.shape[:2])


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("slug", SAMPLES)
def test_a_sample_is_two_pages_at_most_with_their_margins_white(slug: str, paper: str) -> None:
    document = opened(sample(slug).design, paper)
    assert len(document) <= 2
    # Qt rounds A4 to whole points, 0.2 mm.
    assert [side * 25.4 / 72 for side in document[0].get_size()] == pytest.approx(SIZES[paper], abs=0.2)
    margins_are_white(document)


def margins_are_white(document: pypdfium2.PdfDocument) -> None:
    for page in document:
        ink = raster(page, 100) < 250
        for axis, far in ((1, page.get_height()), (0, page.get_width())):
            at = np.nonzero(ink.any(axis=axis))[0] * 25.4 / 100
            assert at.min() >= 9.5 and at.max() <= far * 25.4 / 72 - 9.5


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_much_goes_on_to_a_second_page(paper: str) -> None:
    document = opened(laden(), paper)
    assert len(document) == 2
    margins_are_white(document)
    for number, page in enumerate(document, 1):
        words = " ".join(page.get_textpage().get_text_bounded().split())
        assert f"page {number} of 2" in words and CAUTIONS[-1] in words


@pytest.mark.parametrize(("slug", "length"), [("tallow-twin", 100.0), ("marsh-harrow-52", 101.6)])
def test_the_check_bar_is_true(slug: str, length: float) -> None:
    """Its first and last ink across, in the row where it stands: the lowest long dark run."""
    picture = raster(opened(sample(slug).design)[0], DPI)
    left = picture[:, : round(115 / 25.4 * DPI)] < 128
    first = round(10 / 25.4 * DPI)
    # The bar's left end is a filled piece, the rule over the foot but a line: look for 1.5 mm of ink down.
    column = left[:, first + 6]
    runs = [at for at in range(len(column) - 20) if column[at : at + 18].all()]
    row = left[runs[-1] + 2]
    columns = np.nonzero(row)[0]
    assert (columns[-1] - columns[0] + 1) * 25.4 / DPI == pytest.approx(length, abs=0.1)


@pytest.mark.parametrize("units", ["mm", "in", "in64"])
def test_how_far_a_pair_stands_apart_is_listed_and_drawn(units: str) -> None:
    design = replace(sample("tallow-twin").design, display_units=units)
    plain = change_outlines(design, [o.id for o in design.outlines], apart=None)
    told = format_fine(330.0, design.display_units)
    without, words = text_of(opened(plain)), text_of(opened(set_apart(plain, ["fins"], 330.0)))
    assert "Fins: apart" not in without
    # On the view from above, and in its row.
    assert words.count(told) == without.count(told) + 2
    assert "Fins: apart at the leading edges, and at the trailing edges" in words
    (pair,) = pair_settings(set_apart(plain, ["fins"], 330.0))
    assert f"each {format_fine(165.0, design.display_units)} off the centre line" in words
    assert f"{fine_length(pair.within, design.display_units)} apart" in words


def test_a_pair_wider_than_the_tailplane_stays_on_the_paper() -> None:
    design = set_apart(sample("tallow-twin").design, ["fins"], 900.0)
    document = opened(design, "letter")
    margins_are_white(document)


@pytest.mark.parametrize("units", ["mm", "in", "in64"])
def test_the_figures_are_those_of_the_core(units: str) -> None:
    design = replace(laden(), display_units=units)
    words = text_of(opened(design))
    tailplane, pin = design.tailplanes[0], pin_of(design)
    strings, apart = string_check(tailplane, pin), string_tolerance(tailplane, pin)
    assert isinstance(strings, StringCheck) and isinstance(apart, float)
    # On the view from above for each string, and in their row.
    assert words.count(format_fine(strings.square, design.display_units)) == 3
    assert f"{format_fine(apart, design.display_units)} apart" in words
    elevators = elevator_throws(tailplane)
    assert not isinstance(elevators, str)
    for throw in (*rudder_throws(design), *elevators):
        assert isinstance(throw, EdgeThrow)
        edge = format_fine(throw.distance, design.display_units)
        assert f"{edge} ({throw.degrees:.0f}°)" in words
    pulled = pull_pull_of(WIRES)
    assert isinstance(pulled, PullPull)
    assert f"{format_fine(pulled.worst, design.display_units)} slack" in words
    for linkage in (WIRES, PUSHROD, AILERON):
        found = throw_of(linkage)
        assert isinstance(found, Throw)
        # Ways that are as good as alike stand in one line.
        alike = abs(found.pushed - found.pulled) < 0.05
        for angle in {found.least} if alike else {found.pushed, found.pulled}:
            edge = format_fine(found.at_edge(angle), design.display_units)
            assert f"{edge} ({format_angle(angle)})" in words
    horn = horn_for(WIRES, design.flight.rudder_throw_deg)
    assert isinstance(horn, float)
    assert f"25.0° each way: a horn of {format_fine(horn, design.display_units)}" in words
    assert "servo turns further than the rod can follow" in words
    weighed = compared(design, READY)
    assert isinstance(weighed, Compared) and not isinstance(weighed.lead, str)
    for told in (
        format_mass(weighed.measured.grams, design.display_units),
        f"x {format_fine(weighed.measured.x, design.display_units)}",
        format_mass(weighed.lead.grams, design.display_units),
    ):
        assert told in words
    assert "weigh at two or three supports" in words


def test_both_ways_are_told_apart_where_they_differ() -> None:
    (section,) = (s for s in sections_of(laden()) if "Aileron" in s.title)
    assert [row.what for row in section.rows] == [
        "Full throw, rod going aft", "Full throw, rod going forward"
    ]
    found = throw_of(AILERON)
    assert isinstance(found, Throw) and found.pushed - found.pulled > 2.0


def test_an_empty_design_says_what_to_enter() -> None:
    words = text_of(opened(EMPTY))
    for told in ("Enter the wing", "Enter the tailplane", "Trace the fin", "Trace the rudder"):
        assert told in words


def test_a_scan_without_scale_is_told() -> None:
    design = replace(EMPTY, scans=(Scan("plan", "plan.png", scale_from="none"),))
    assert "Mind:" in text_of(opened(design)) and "Mind:" not in text_of(opened(EMPTY))


def test_long_words_and_many_rows_stay_inside() -> None:
    linkages = tuple(replace(WIRES, id=f"w{i}", label="A very long label " * 12) for i in range(14))
    title = "An aeroplane with a name that goes on and on " * 6
    design = replace(laden(), title=title, bench=Bench(linkages, (READY,) * 9))
    document = opened(design)
    assert len(document) >= 3
    margins_are_white(document)


def test_printing_takes_the_printers_paper(tmp_path: Path) -> None:
    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
    printer.setOutputFileName(str(tmp_path / "printed.pdf"))
    printer.setPageLayout(QPageLayout(
        QPageSize(QSizeF(215.9, 279.4), QPageSize.Unit.Millimeter), QPageLayout.Orientation.Landscape,
        QMarginsF(),
    ))
    print_sheet(printer, setting_up_sheet(laden(), paper="letter", today=TODAY))
    document = pypdfium2.PdfDocument(tmp_path / "printed.pdf")
    assert len(document) == 2
    assert [s * 25.4 / 72 for s in document[0].get_size()] == pytest.approx(SIZES["letter"], abs=0.2)
    margins_are_white(document)


# The command

SAMPLE = Path(__file__).resolve().parents[3] / "sample_designs" / "tallow-twin.sternpost"


def test_the_command_writes_without_a_screen(tmp_path: Path) -> None:
    out = tmp_path / "setting up.pdf"
    bare = {k: v for k, v in os.environ.items() if k not in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")}
    words = ["setting-up", str(SAMPLE), "-o", str(out), "--paper", "letter"]
    done = subprocess.run(
        [sys.executable, "-m", "app", *words], env=bare, capture_output=True, text=True, timeout=60,
        cwd=SAMPLE.parents[1], check=False,
    )
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    assert pypdfium2.PdfDocument(out)[0].get_width() == pytest.approx(612.0)


@pytest.mark.parametrize(("words", "status", "told"), [
    (("missing.sternpost", "-o", "x.pdf"), 2, "there is no such file"),
    ((str(SAMPLE), "-o", str(SAMPLE)), 2, "this is the file that is read"),
    ((str(SAMPLE), "-o", str(SAMPLE.parent)), 2, "this is a folder"),
    ((str(SAMPLE), "-o", "x.pdf", "--paper", "a3"), 2, "invalid choice"),
    ((str(SAMPLE),), 2, "required: -o"),
])
def test_the_command_says_what_is_wrong(
    capsys: pytest.CaptureFixture[str], words: tuple[str, ...], status: int, told: str
) -> None:
    assert main(["setting-up", *words]) == status
    said = capsys.readouterr()
    assert told in said.err and said.err.count("\n") == 1 and not said.out
