"""What leaves for other programs and what comes from them: which bytes for which kind of file."""

from __future__ import annotations

from collections.abc import Callable

from core.design import Design
from core.exchange.closed import Imported
from core.exchange.csv_table import Decimal, csv_bytes
from core.kinds import Kind
from core.stability.readings import Readings, read_twice

EXPORTS = ("svg", "dxf", "csv", "png", "svg-picture")
ENDINGS = {to: f".{to.removesuffix('-picture')}" for to in EXPORTS}
"""What a file of each ends in."""
PARTS_EXPORTS = ("svg", "dxf")
IMPORTS = (".svg", ".dxf")


def exported(
    design: Design, to: str, decimal: Decimal = "point", read: Callable[[Design], Readings] = read_twice
) -> bytes:
    """The file of kind ``to``, one of EXPORTS. ExchangeError where there is nothing to write.

    ``svg`` and ``dxf`` hold the outlines at full size, ``png`` and ``svg-picture`` a picture of the
    profile with its marks, to show around. ``decimal`` is the mark in a ``csv``; ``read`` gives the
    readings of what bears any.
    """
    if to == "csv":
        return csv_bytes(read(design), design.display_units, decimal)
    if to == "png":
        from app.paper.profile_picture import png_picture

        return png_picture(design, read(design))
    if to == "svg-picture":
        from app.paper.profile_picture import svg_picture

        return svg_picture(design, read(design))
    if to == "dxf":
        from core.exchange.dxf import dxf_bytes

        return dxf_bytes(design)
    from core.exchange.svg import svg_bytes

    return svg_bytes(design)


def exported_parts(design: Design, to: str, kerf: float = 0.0) -> tuple[bytes, tuple[str, ...]]:
    """The parts of all builds, for a laser or a knife, as ``to``, one of PARTS_EXPORTS; and what is not in
    the file, a sentence each. ``kerf`` in mm. ExchangeError where there is nothing to write.
    """
    from core.exchange.parts_out import dxf_of, laid_out, svg_of
    from core.parts.built import all_built

    laid = laid_out(design, all_built(design), kerf)
    return (dxf_of if to == "dxf" else svg_of)(design, laid), laid.notes


def read_outlines(
    ending: str, data: bytes, kind: Kind | None, mm_per_unit: float | None, *, unseen: bool = False
) -> Imported:
    """The outlines of a drawing whose name ends in ``ending``, one of IMPORTS.

    ``kind`` None: as the file says, or ``other``; ``unseen``: what is switched off in it too.
    ScaleUnknownError where ``mm_per_unit`` has to be given, UnseenError where all of it is switched
    off; ExchangeError for everything else.
    """
    if ending == ".dxf":
        from core.exchange.dxf_reading import outlines_from_dxf

        return outlines_from_dxf(data, kind=kind, mm_per_unit=mm_per_unit, unseen=unseen)
    from core.exchange.svg_reading import outlines_from_svg

    return outlines_from_svg(data, kind=kind, mm_per_unit=mm_per_unit, unseen=unseen)
