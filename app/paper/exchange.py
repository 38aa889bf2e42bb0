"""What leaves for other programs and what comes from them: which bytes for which kind of file."""

from __future__ import annotations

from core.design import Design
from core.exchange.closed import Imported
from core.kinds import Kind
from core.stability.readings import read_twice

EXPORTS = ("svg", "dxf", "csv", "png", "svg-picture")
IMPORTS = (".svg", ".dxf")


def exported(design: Design, to: str) -> bytes:
    """The file of kind ``to``, one of EXPORTS. ExchangeError where there is nothing to write.

    ``svg`` and ``dxf`` hold the outlines at full size, ``png`` and ``svg-picture`` a picture of the
    profile with its marks, to show around.
    """
    if to == "csv":
        from core.exchange.csv_table import csv_bytes

        return csv_bytes(read_twice(design))
    if to == "png":
        from app.paper.profile_picture import png_picture

        return png_picture(design)
    if to == "svg-picture":
        from app.paper.profile_picture import svg_picture

        return svg_picture(design)
    if to == "dxf":
        from core.exchange.dxf import dxf_bytes

        return dxf_bytes(design)
    from core.exchange.svg import svg_bytes

    return svg_bytes(design)


def read_outlines(ending: str, data: bytes, kind: Kind | None, mm_per_unit: float | None) -> Imported:
    """The outlines of a drawing whose name ends in ``ending``, one of IMPORTS.

    ``kind`` None: as the file says, or ``other``. ScaleUnknownError where ``mm_per_unit`` has to be
    given; ExchangeError for everything else.
    """
    if ending == ".dxf":
        from core.exchange.dxf_reading import outlines_from_dxf

        return outlines_from_dxf(data, kind=kind, mm_per_unit=mm_per_unit)
    from core.exchange.svg_reading import outlines_from_svg

    return outlines_from_svg(data, kind=kind, mm_per_unit=mm_per_unit)
