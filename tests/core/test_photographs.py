"""Which edits make a scan flat that looks like a photograph, and which do not."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from cameras import CAMERAS, PICTURE, pairs
from making import box, design_of, trainer
from msgspec.structs import replace

from core.design import EMPTY, Design, Mark, Matrix, Scan
from core.design_file import decode, encode
from core.redesign.design_edits import add_scan, change_scan, change_tone, delete_scan
from core.redesign.scan_edits import (
    declare_flat,
    level,
    mirror_scan,
    move_scan,
    set_datum,
    set_scale,
    turn_quarter,
)
from core.redesign.scan_plane import Distance, KnownRectangle, join, set_stretch, straighten
from core.stability.answer import answer
from core.stability.photographs import unstraightened
from core.stability.readings import ReadingsEngine
from core.stability.wording import next_step

UPRIGHT: Matrix = ((0.254, 0.0, 0.0), (0.0, -0.254, 762.0), (0.0, 0.0, 1.0))
PHOTO = Scan("photo", "photo.jpg", to_mm=UPRIGHT, scale_from="none", photograph=True)
SHEET = np.array(((0.0, 0.0), (841.0, 0.0), (841.0, 594.0), (0.0, 594.0)))
SIZES = {"photo": PICTURE, "flat": PICTURE}
DESIGN = design_of(box("f", "fin", 100, 50, 160, 120), scans=(PHOTO,), cg_mark=Mark(40, 60))


def names(design: Design) -> list[str]:
    return [scan.id for scan in unstraightened(design)]


def test_hidden_ones_count_and_scans_taken_out_do_not() -> None:
    flat = Scan("flat", "flat.png")
    design = add_scan(DESIGN, flat)
    assert names(design) == ["photo"] and unstraightened(EMPTY) == ()
    assert names(change_scan(design, "photo", hidden=True)) == ["photo"]
    assert names(delete_scan(design, "photo")) == []


def test_four_corners_make_it_flat() -> None:
    known = KnownRectangle(pairs(CAMERAS[0].pixels(SHEET)), 841.0, 594.0)
    two = add_scan(DESIGN, replace(PHOTO, id="flat"))
    laid, _ = straighten(two, "photo", known, SIZES)
    assert names(two) == ["photo", "flat"] and names(laid) == ["flat"]


@pytest.mark.parametrize("edit", [
    lambda d: set_scale(d, "photo", (10, 10), (110, 10), 400.0, SIZES),
    lambda d: set_stretch(
        d, "photo", Distance((10, 10), (110, 10), 120.0), Distance((10, 10), (10, 110), 118.0), SIZES
    ),
    lambda d: level(d, "photo", (10, 10), (110, 14), SIZES),
    lambda d: turn_quarter(d, "photo", 1, SIZES),
    lambda d: mirror_scan(d, "photo", SIZES),
    lambda d: set_datum(d, 40, 60),
    lambda d: move_scan(d, "photo", 40, 60),
    lambda d: change_tone(d, "photo", level=True),
    lambda d: join(
        add_scan(d, Scan("flat", "flat.png", to_mm=UPRIGHT)), "photo", "flat",
        (((10, 10), (20, 10)), ((110, 10), (120, 12))), SIZES,
    ).design,
    lambda d: decode(encode(d)),
])
def test_nothing_else_does(edit: Callable[[Design], Design]) -> None:
    assert names(edit(DESIGN)) == ["photo"]


def test_what_is_declared_flat_stays_where_it_was() -> None:
    flat = declare_flat(DESIGN, "photo", SIZES)
    assert flat == replace(DESIGN, scans=(replace(PHOTO, photograph=False),))


def test_declared_flat_it_is_placed_by_its_own_dpi_with_what_was_traced() -> None:
    """25.4 mm to the inch: at 127 dpi a pixel is 0.2 mm."""
    flat = declare_flat(turn_quarter(DESIGN, "photo", 1, SIZES), "photo", SIZES, dpi=127.0)
    scan = flat.scan("photo")
    assert scan.scale_from == "dpi" and not scan.photograph
    assert np.hypot(scan.to_mm[0][0], scan.to_mm[1][0]) == pytest.approx(0.2)
    assert np.hypot(scan.to_mm[0][1], scan.to_mm[1][1]) == pytest.approx(0.2)
    straight = declare_flat(DESIGN, "photo", SIZES, dpi=127.0)
    assert straight.outlines[0].nodes[0].x == pytest.approx(100 * 0.2 / 0.254)


@pytest.mark.parametrize("scale_from", ["points", "dpi"])
def test_a_scale_that_was_set_is_not_touched(scale_from: str) -> None:
    scaled = change_scan(DESIGN, "photo", scale_from=scale_from)
    flat = declare_flat(scaled, "photo", SIZES, dpi=127.0)
    assert flat == change_scan(scaled, "photo", photograph=False)


def test_a_dpi_that_no_file_could_hold_is_left_alone() -> None:
    far = replace(DESIGN, cg_mark=Mark(900_000, 60))
    assert declare_flat(far, "photo", SIZES, dpi=10.0).scan("photo").scale_from == "none"


def test_readings_and_the_next_step_say_so() -> None:
    read = ReadingsEngine().read
    warnings = read(DESIGN).warnings
    assert any(w.startswith('scans[0] "photo.jpg": looks like a photograph') for w in warnings)
    assert not any("photograph" in w for w in read(declare_flat(DESIGN, "photo", SIZES)).warnings)
    empty = design_of(scans=(PHOTO,))
    step = next_step(empty, read(empty))
    assert "photograph" in step and "four corners" in step and "needs none" not in step
    flat = declare_flat(empty, "photo", SIZES)
    assert next_step(flat, read(flat)).startswith("Set the scale of the scan.")


def test_until_then_the_answer_is_incomplete_and_says_why() -> None:
    read = ReadingsEngine().read
    photo = trainer(scans=(PHOTO,))
    found = answer(photo, read(photo))
    assert found.state == "incomplete" and any("photo.jpg looks like a photograph" in w for w in found.words)
    flat = declare_flat(photo, "photo", SIZES)
    assert not any("photograph" in w for w in answer(flat, read(flat)).words)
