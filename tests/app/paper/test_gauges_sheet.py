"""Gauges on paper, measured in the PDF itself by its own reader: circles fitted, angles of every mark."""

from __future__ import annotations

import datetime
import math
import subprocess
import sys
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from driving import sample
from msgspec.structs import replace
from pdf_lines import Drawn, circle, lines_of

from app.__main__ import main
from app.kit.cautions import CAUTIONS, WORKSHOP
from app.paper.gauges_sheet import gauges_sheet
from app.paper.pages import pdf
from core.design import EMPTY, Design, Node, Outline, Station, Tailplane, Wing

TODAY = datetime.date(2031, 3, 9)
SAMPLES = ("marsh-harrow-52", "tallow-twin", "long-meadow-2000")
SET, FINE, NAMED = 0.6, 0.13, 0.2

pytestmark = pytest.mark.usefixtures("qapp")


def rudder(chord: float) -> Outline:
    return Outline("rudder", "rudder", (
        Node(700, 0), Node(700 + chord, 0), Node(700 + chord, 120), Node(700, 120)
    ))


def tail(chord: float, degrees: float = -1.5) -> Tailplane:
    return Tailplane("tail", (Station(0, 600, chord), Station(200, 600, chord)), incidence_deg=degrees)


def opened(design: Design, paper: str = "a4") -> pypdfium2.PdfDocument:
    return pypdfium2.PdfDocument(pdf(gauges_sheet(design, paper=paper, today=TODAY)))  # type: ignore[arg-type]


def words_of(page: pypdfium2.PdfPage) -> str:
    return " ".join(page.get_textpage().get_text_bounded().split())


def arcs(lines: list[Drawn]) -> list[tuple[float, float, float, bool]]:
    """(x, y, radius, broken) of each open run of many places that lies on a circle to a few micrometres."""
    found = []
    for line in lines:
        if len(line.points) > 30 and not line.closed:
            x, y, radius = circle(line.points)
            off = np.abs(np.hypot(*(line.points - (x, y)).T) - radius)
            assert off.max() < 0.002
            found.append((x, y, radius, line.broken))
    return found


def radial(lines: list[Drawn], x: float, y: float, radius: float) -> list[tuple[float, float]]:
    """(angle from +x in degrees, pen) of each mark that begins on that circle and points away from (x, y)."""
    found = []
    for line in lines:
        if len(line.points) != 2 or line.broken:
            continue
        from_centre = line.points - (x, y)
        near, far = np.hypot(*from_centre.T)
        if abs(near - radius) < 0.003 and far - near > 2.0:
            turns = np.arctan2(from_centre[:, 1], from_centre[:, 0])
            # Along the radius to within the reader's last figures.
            assert abs(np.sin(turns[1] - turns[0])) * far < 0.005
            found.append((math.degrees(turns[1]), line.pen))
    return found


def throw_page(design: Design, paper: str) -> list[Drawn]:
    """The lines of all pages; each gauge is found by its arcs, whose places differ."""
    return [line for page in opened(design, paper) for line in lines_of(page)]


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize(("units", "unit", "step"), [
    ("mm", 1.0, 1.0), ("in", 25.4, 0.05), ("in64", 25.4, 1 / 32),
])
def test_every_mark_of_a_throw_gauge_is_true(paper: str, units: str, unit: float, step: float) -> None:
    chord, throw = 60.0, 25.0
    design = replace(EMPTY, outlines=(rudder(chord),), display_units=units)
    lines = throw_page(design, paper)
    found = arcs(lines)
    path, degree, distance = sorted(found, key=lambda arc: arc[2])
    # One centre; the broken arc is the trailing edge's path, of the chord's own radius.
    assert np.ptp([arc[0] for arc in found]) < 0.005 and np.ptp([arc[1] for arc in found]) < 0.005
    assert path[3] and path[2] == pytest.approx(chord, abs=0.002)
    assert degree[2] == pytest.approx(chord + 1.0, abs=0.002)
    x, y, _, _ = path
    # Neutral: the broken line through the hinge that is the longest.
    straight = [line for line in lines if line.broken and len(line.points) == 2]
    axis = max(straight, key=lambda line: line.length)
    far = axis.points[np.argmax(np.hypot(*(axis.points - (x, y)).T))]
    neutral = math.degrees(math.atan2(far[1] - y, far[0] - x))
    (dx, dy), (ex, ey) = axis.points[1] - axis.points[0], np.array((x, y)) - axis.points[0]
    assert abs(dx * ey - dy * ex) / axis.length < 0.005
    by_degree = [(a - neutral, pen) for a, pen in radial(lines, x, y, degree[2])]
    marks = sorted(a for a, pen in by_degree if pen < 0.5)
    assert np.array(marks) == pytest.approx(np.arange(-30, 31), abs=0.01)
    assert sorted(a for a, pen in by_degree if pen > 0.5) == pytest.approx([-throw, throw], abs=0.01)
    by_distance = [(a - neutral, pen) for a, pen in radial(lines, x, y, distance[2])]
    moved = np.array(sorted(chord * math.sin(math.radians(a)) / unit for a, pen in by_distance if pen < 0.5))
    count = math.floor(chord * 0.5 / unit / step + 1e-9)
    assert moved == pytest.approx(np.arange(-count, count + 1) * step, abs=0.01 / unit)
    assert sorted(a for a, pen in by_distance if pen > 0.5) == pytest.approx([-throw, throw], abs=0.01)


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize(("chord", "degrees"), [(30.0, 0.0), (190.0, 2.5), (180.0, -3.0)])
def test_every_mark_of_an_incidence_gauge_is_true(paper: str, chord: float, degrees: float) -> None:
    wing = Wing("wing", (Station(0, 100, chord), Station(500, 120, chord)), incidence_deg=degrees)
    document = opened(replace(EMPTY, wings=(wing,)), paper)
    assert len(document) <= 2
    lines = [line for page in document for line in lines_of(page)]
    ((x, y, radius, broken),) = arcs(lines)
    assert not broken and radius == pytest.approx(90.0, abs=0.002)
    broken_lines = [line for line in lines if line.broken and len(line.points) == 2]
    (plumb,) = (b for b in broken_lines if np.hypot(*(b.points - (x, y)).T).min() < 0.005)
    (along,) = (b for b in broken_lines if b is not plumb)
    # The chord's own length, and square to the thread at nought.
    assert along.length == pytest.approx(chord, abs=0.002)
    way = along.points[1] - along.points[0]
    assert abs(way @ (plumb.points[1] - plumb.points[0])) < 0.01 * chord
    # The notch's lower lip hangs below the chord's line, at its front.
    cut = max((line for line in lines if line.closed and line.pen > 0.25), key=lambda line: line.length)
    off = (cut.points - along.points[0]) @ (np.array((-way[1], way[0])) / along.length)
    toward = np.sign((np.array((x, y)) - along.points[0]) @ np.array((-way[1], way[0])))
    below = cut.points[np.argmin(off * toward)]
    first = int(np.argmin(np.hypot(*(along.points - below).T)))
    front, back = along.points[first], along.points[1 - first]
    assert (off * toward).min() < -5.0
    aft = (back - front) / np.hypot(*(back - front))
    down = plumb.points[np.argmax(np.hypot(*(plumb.points - (x, y)).T))] - (x, y)
    down = down / np.hypot(*down)
    marks = []
    for line in lines:
        if len(line.points) == 2 and not line.broken:
            from_pivot = line.points - (x, y)
            near, far = np.hypot(*from_pivot.T)
            if abs(near - radius) < 0.003 and far - near > 2.0:
                marks.append((math.degrees(math.atan2(from_pivot[1] @ aft, from_pivot[1] @ down)), line.pen))
    assert np.array(sorted(a for a, pen in marks if pen < 0.5)) == pytest.approx(
        np.arange(-20, 21) / 2 if len(marks) == 42 else np.arange(-10, 11), abs=0.01
    )
    # Nose up, the thread swings aft: the set mark lies there.
    assert [a for a, pen in marks if pen > 0.5] == pytest.approx([degrees], abs=0.01)


def page_box(page: pypdfium2.PdfPage, dpi: int = 80) -> tuple[float, float, float, float]:
    picture = page.render(scale=dpi / 72, grayscale=True).to_numpy()
    ink = picture.reshape(picture.shape[:2]) < 250
    rows, columns = (np.nonzero(ink.any(axis=axis))[0] * 25.4 / dpi for axis in (1, 0))
    return columns.min(), rows.min(), columns.max(), rows.max()


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("units", ["mm", "in64"])
@pytest.mark.parametrize("slug", SAMPLES)
def test_the_samples_pages_keep_to_the_paper_and_say_all(slug: str, units: str, paper: str) -> None:
    document = opened(replace(sample(slug).design, display_units=units), paper)
    for number, page in enumerate(document, 1):
        left, top, right, bottom = page_box(page)
        wide, tall = page.get_width() * 25.4 / 72, page.get_height() * 25.4 / 72
        assert left >= 9.4 and top >= 9.4 and right <= wide - 9.4 and bottom <= tall - 9.4
        told = words_of(page)
        assert f"page {number} of {len(document)}" in told and "9 March 2031" in told
        for caution in (*CAUTIONS, *WORKSHOP):
            assert caution in told
        assert ("4 in long" if units != "mm" else "100 mm long") in told
    whole = " ".join(words_of(page) for page in document)
    assert "INCIDENCE." in whole and "THROWS." in whole and "…" not in whole


def test_the_bar_measures_what_it_says() -> None:
    for units, length in (("mm", 100.0), ("in", 101.6)):
        page = opened(replace(EMPTY, outlines=(rudder(60),), display_units=units))[0]
        bar = [line for line in lines_of(page) if line.closed and line.pen < 0.12]
        (frame,) = (np.ptp(line.points, axis=0) for line in bar)
        # Drawn inside by half its pen on either side.
        assert frame[0] + 0.1 == pytest.approx(length, abs=0.002)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_a_gauge_larger_than_the_page_goes_over_several_and_loses_nothing(paper: str) -> None:
    """Every mark of the arcs is on some page, where it belongs by the joins' marks."""
    chord = 260.0
    document = opened(replace(EMPTY, outlines=(rudder(chord),), left_out=("wing", "tailplane")), paper)
    pages = [page for page in document if "pages" in words_of(page)]
    assert len(pages) > 1 and len(pages) == len(document) - 1
    seen: dict[int, set[int]] = {}
    for at, page in enumerate(pages):
        wide, tall = page.get_width() * 25.4 / 72, page.get_height() * 25.4 / 72
        lines = lines_of(page)
        path, degree, _ = sorted(arcs(lines), key=lambda arc: arc[2])
        assert path[2] == pytest.approx(chord, abs=0.003)
        for angle, pen in radial(lines, degree[0], degree[1], degree[2]):
            turn = math.radians(angle)
            x, y = degree[0] + degree[2] * math.cos(turn), degree[1] + degree[2] * math.sin(turn)
            if 10.0 <= x <= wide - 10.0 and 20.0 <= y <= tall - 43.0 and pen < 0.5:
                seen.setdefault(round(angle * 10), set()).add(at)
        assert "joins" in words_of(page)
        left, _, right, bottom = page_box(page)
        assert left >= 9.4 and right <= wide - 9.4 and bottom <= tall - 9.4
    # Half degrees at this size, from −30 to 30.
    assert len(seen) == 121


def test_neighbours_have_the_same_marks_at_their_joins() -> None:
    """Laid mark on mark, the arcs of two pages have one centre."""
    design = replace(EMPTY, outlines=(rudder(260.0),), left_out=("wing", "tailplane"))
    pages = {}
    for page in opened(design):
        told = words_of(page)
        if "of" in told and "joins" in told:
            lines = lines_of(page)
            marks = [line.points.mean(axis=0) for line in lines if line.closed and 0.15 < line.pen < 0.25]
            x, y, _, _ = min(arcs(lines), key=lambda arc: arc[2])
            pages[told] = [np.round(mark - (x, y), 2) for mark in marks]
    assert len(pages) >= 2
    every = [tuple(mark) for marks in pages.values() for mark in marks]
    # Each mark, told from the hinge, is on two pages at least.
    for mark in every:
        near = [other for other in every if math.dist(mark, other) < 0.05]
        assert len(near) >= 2


def test_what_cannot_be_made_is_on_the_first_page() -> None:
    (page,) = opened(EMPTY)
    told = words_of(page)
    for kind in ("wing", "tailplane"):
        assert f"No incidence gauge for the {kind}: enter the {kind}." in told
    assert "No throw gauge for the rudder: trace the rudder." in told


def test_long_names_stay_inside() -> None:
    long = "A name that goes on and on " * 8
    design = replace(
        EMPTY, title=long, outlines=(replace(rudder(60), label=long),),
        tailplanes=(replace(tail(150), label=long),),
    )
    for page in opened(design):
        left, _, right, bottom = page_box(page)
        assert left >= 9.4 and right <= 210 - 9.4 and bottom <= 297 - 9.4


def test_more_words_than_a_page_holds_go_on_to_the_next() -> None:
    none = tuple(Wing(f"wing-{i}", ()) for i in range(120))
    document = opened(replace(EMPTY, wings=none, outlines=(rudder(60),), left_out=("tailplane",)))
    told = " ".join(words_of(page) for page in document)
    assert len(document) >= 2 and all(f"gauge for wing-{i}:" in told for i in range(120))
    for page in document:
        assert page_box(page)[3] <= 297 - 9.4
        assert CAUTIONS[-1] in words_of(page)


SAMPLE = Path(__file__).resolve().parents[3] / "sample_designs" / "tallow-twin.sternpost"


def test_the_command_writes_without_a_screen(tmp_path: Path) -> None:
    out = tmp_path / "gauges.pdf"
    done = subprocess.run(
        [sys.executable, "-m", "app", "gauges", str(SAMPLE), "-o", str(out), "--paper", "letter"],
        capture_output=True, text=True, timeout=60, cwd=SAMPLE.parents[1], check=False,
    )
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    assert pypdfium2.PdfDocument(out)[0].get_width() == pytest.approx(612.0)


@pytest.mark.parametrize(("words", "status", "told"), [
    (("missing.sternpost", "-o", "x.pdf"), 2, "there is no such file"),
    ((str(SAMPLE), "-o", str(SAMPLE)), 2, "this is the file that is read"),
    ((str(SAMPLE), "-o", "x.pdf", "--paper", "a3"), 2, "invalid choice"),
])
def test_the_command_says_what_is_wrong(
    capsys: pytest.CaptureFixture[str], words: tuple[str, ...], status: int, told: str
) -> None:
    assert main(["gauges", *words]) == status
    assert told in capsys.readouterr().err
