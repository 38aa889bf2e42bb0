"""The commands that carry a design to other programs and outlines back: export, import.

Exit statuses and errors as in ``app.commands``.
"""

from __future__ import annotations

from pathlib import Path

from app.commands import (
    COMMAND_LINE,
    CONTENT,
    DONE,
    CommandError,
    _not_usable,
    _opened,
    must_be_readable,
    one_line,
    say,
)
from app.sentences import as_sentence
from core.design import FORMAT, KINDS, Design, Kind
from core.design_check import problems
from core.design_file import DesignFileError, write, write_bytes
from core.exchange.closed import MOST_BYTES, Imported
from core.exchange.faults import ExchangeError, ScaleUnknownError
from core.stability.readings import ReadingsEngine
from core.stability.wording import answer
from core.units import UnitError, parse_number

EXPORTS = ("svg", "dxf", "csv", "png")
_PX_PER_MM = 8
_WIDE, _TALLEST, _EDGE, _HEAD, _AIR = 240.0, 140.0, 8.0, 19.0, 7.0
IMPORTS = (".svg", ".dxf")


def export(name: str, to: str, out: str) -> int:
    """Write the design in ``name`` to the file ``out`` as ``to``, one of EXPORTS."""
    opened = _opened(name)
    target = _other_file(out, name)
    try:
        data = _exported(opened.design, to)
    except ExchangeError as error:
        raise CommandError([f"{one_line(name)}: {one_line(str(error))}"], CONTENT) from None
    try:
        write_bytes(target, data)
    except DesignFileError as error:
        raise CommandError([f"{one_line(out)}: {one_line(str(error))}"], COMMAND_LINE) from None
    return DONE


def _kind(text: str | None) -> Kind | None:
    if text is None:
        return None
    for kind in KINDS:
        if kind == text:
            return kind
    raise CommandError(
        [f"sternpost import: --kind: found {text[:40]!r}; give one of {', '.join(KINDS)}"], COMMAND_LINE
    )


def import_outlines(name: str, out: str, kind: str | None, mm_per_unit: str | None) -> int:
    """Write to ``out`` a new design with the outlines read from the drawing ``name``.

    ``kind`` (None: as the file says, or ``other``) is for all of them; ``mm_per_unit`` stands in place
    of what the file says of its scale, and is asked for (exit 2) where it says nothing.
    """
    for_all = _kind(kind)
    scale: float | None = None
    if mm_per_unit is not None:
        try:
            scale = parse_number(mm_per_unit, low=1e-6, high=1e6, what="Millimetres a unit")
        except UnitError as error:
            raise CommandError(
                [f"sternpost import: --mm-per-unit: {one_line(str(error))}"], COMMAND_LINE
            ) from None
    if Path(name).suffix.lower() not in IMPORTS:
        raise CommandError(
            [f"{one_line(name)}: not a drawing that is read here; name an .svg or .dxf file"], COMMAND_LINE
        )
    must_be_readable(name)
    target = _other_file(out, name)
    try:
        with Path(name).open("rb") as stream:
            data = stream.read(MOST_BYTES + 1)
        found = _imported(Path(name).suffix.lower(), data, for_all, scale)
    except ScaleUnknownError as error:
        raise CommandError([f"{one_line(name)}: {one_line(str(error))}"], COMMAND_LINE) from None
    except ExchangeError as error:
        raise CommandError([f"{one_line(name)}: {one_line(str(error))}"], CONTENT) from None
    except OSError as error:
        raise CommandError([_not_usable(name, error)], COMMAND_LINE) from None
    design = Design(FORMAT, one_line(Path(name).stem) or "Untitled", outlines=found.outlines)
    faults = problems(design)
    if faults:
        raise CommandError([f"{one_line(name)}: {one_line(faults[0])}"], CONTENT)
    try:
        write(target, design, {})
    except DesignFileError as error:
        raise CommandError([f"{one_line(out)}: {one_line(str(error))}"], COMMAND_LINE) from None
    count = len(found.outlines)
    said = "1 outline was read" if count == 1 else f"{count} outlines were read"
    say(one_line(as_sentence(words)) for words in (said, *found.notes))
    return DONE


def _imported(ending: str, data: bytes, kind: Kind | None, mm_per_unit: float | None) -> Imported:
    if ending == ".dxf":
        from core.exchange.dxf_reading import outlines_from_dxf

        return outlines_from_dxf(data, kind=kind, mm_per_unit=mm_per_unit)
    from core.exchange.svg_reading import outlines_from_svg

    return outlines_from_svg(data, kind=kind, mm_per_unit=mm_per_unit)


def _exported(design: Design, to: str) -> bytes:
    if to == "csv":
        from core.exchange.csv_table import csv_bytes

        return csv_bytes(ReadingsEngine().read(design))
    if to == "png":
        return _picture(design)
    if to == "dxf":
        from core.exchange.dxf import dxf_bytes

        return dxf_bytes(design)
    from core.exchange.svg import svg_bytes

    return svg_bytes(design)


def _picture(design: Design) -> bytes:
    """The profile with its marks, the arm rule and the answer, as a PNG 240 mm wide at 8 pixels a mm."""
    from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QRectF
    from PySide6.QtGui import QImage, QPainter

    from app.sheets.bands import RULE_TALL, draw_arm_rule, rule_line
    from app.sheets.frame import Frame, extents_of, fit
    from app.sheets.ink import Ink
    from app.sheets.pages import application_for_fonts
    from app.sheets.profile import draw_grid, draw_profile

    readings = ReadingsEngine().read(design)
    extents = extents_of(design, readings)
    if extents is None:
        raise ExchangeError("outlines: found nothing to draw; trace an outline before exporting")
    wide = _WIDE - 2 * _EDGE
    per_mm, ratio = fit(extents, wide - 2 * _AIR, _TALLEST - 2 * _AIR, known=readings.scale_known)
    tall = max((extents[3] - extents[1]) * per_mm + 2 * _AIR, 40.0)
    area = QRectF(_EDGE, _HEAD, wide, tall)
    frame = Frame(area, (extents[0] + extents[2]) / 2, (extents[1] + extents[3]) / 2, per_mm, ratio)
    rule = area.bottom()
    bottom = rule + RULE_TALL
    with application_for_fonts():
        image = QImage(
            round(_WIDE * _PX_PER_MM), round((bottom + _EDGE) * _PX_PER_MM), QImage.Format.Format_RGB32
        )
        image.fill(0xFFFFFFFF)
        image.setDotsPerMeterX(1000 * _PX_PER_MM)
        image.setDotsPerMeterY(1000 * _PX_PER_MM)
        painter = QPainter(image)
        ink = Ink(painter)
        try:
            said = answer(design, readings)
            title = ink.cut(one_line(design.title[:200]) or "Untitled", 16.0, wide, bold=True)
            ink.text(_EDGE, 9.5, title, 16.0, bold=True)
            words = f"{said.sentence} {as_sentence(said.verdict_words)}" if said.figure else ""
            ink.text(_EDGE, 15.5, ink.cut(words, 10.0, wide), 10.0)
            draw_grid(ink, design, frame, area.top(), bottom)
            on_rule = readings["cla_fraction"].value is not None
            names = {f"outline {outline.id}": outline.name for outline in design.outlines}
            draw_profile(
                ink, design, readings, frame, names, rule_line(rule) if on_rule else rule, legend=True
            )
            draw_arm_rule(ink, design, readings, frame, rule)
            ink.pen(0.2)
            ink.stroke(QRectF(area.left(), area.top(), area.width(), bottom - area.top()))
            ink.line(area.left(), rule, area.right(), rule)
        finally:
            ink.done()
            painter.end()
        held = QByteArray()
        buffer = QBuffer(held)
        buffer.open(QIODevice.OpenModeFlag.WriteOnly)
        image.save(buffer, "PNG")  # type: ignore[call-overload]
        buffer.close()
        return bytes(held.data())


def _other_file(out: str, name: str) -> Path:
    """``out`` as a path to write to; CommandError where it is a folder or the file ``name`` itself."""
    target = Path(out)
    try:
        if not out or target.is_dir():
            shown = one_line(out) or "-o"
            raise CommandError([f"{shown}: this is a folder; name a file in it"], COMMAND_LINE)
        if target.exists() and target.samefile(name):
            raise CommandError(
                [f"{one_line(out)}: this is the file that is read; name another"], COMMAND_LINE
            )
    except (OSError, ValueError) as error:
        raise CommandError([_not_usable(out, error)], COMMAND_LINE) from None
    return target
