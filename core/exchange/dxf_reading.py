"""Outlines read from DXF: polylines with their bulges, splines, arcs, circles, ellipses and lines.

Blocks are resolved. Loose ends on one layer that meet within 0.01 mm are joined. What stands on a
layer that is frozen or switched off is left out unless asked for. The scale comes from $INSUNITS.
Read by ezdxf, imported when first used: it takes half a second.
"""

from __future__ import annotations

import io
import logging
import re
from collections import Counter
from collections.abc import Mapping
from typing import TYPE_CHECKING

from core.exchange.chaining import Row, chained
from core.exchange.closed import (
    MOST_PIECES,
    Gathering,
    Imported,
    Named,
    must_be_small,
    paths_were,
)
from core.exchange.dxf import APP_ID, WRITTEN_BY
from core.exchange.dxf_blocks import Blocks, Placed
from core.exchange.dxf_curves import DRAWN, followed, row_of
from core.exchange.faults import ExchangeError, ScaleUnknownError
from core.exchange.naming import named_by
from core.exchange.spline import SplineError
from core.kinds import Kind

if TYPE_CHECKING:
    from ezdxf.document import Drawing

# $INSUNITS by the DXF reference of R2010, from memory.
_MM = {1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0, 9: 0.0254, 10: 914.4, 13: 0.001, 14: 100.0}
_LONGEST_WORD = 255
_REMOVED = re.compile(r"(?:Removed|Deleted entity) ([A-Z]+)\(#([0-9A-F]+)\) (?:with )?([^.]*)")


def outlines_from_dxf(
    data: bytes, *, kind: Kind | None = None, mm_per_unit: float | None = None, unseen: bool = False
) -> Imported:
    """The outlines in the model space of a DXF file. ``kind`` is for all of them; else as the layer's
    name says, or ``other``. ``unseen``: those on layers that are frozen or switched off too.

    ``mm_per_unit`` stands in place of what the file says of its units. ScaleUnknownError where neither
    says it, UnseenError where nothing is to be seen; ExchangeError for whatever else is wrong.
    """
    must_be_small(data)
    drawing, removed = _opened(data)
    scale = mm_per_unit if mm_per_unit is not None else _MM.get(_units(drawing))
    if scale is None:
        raise ScaleUnknownError(
            "the file does not say in which unit it is drawn ($INSUNITS); "
            "give --mm-per-unit, for example 1, or 25.4 for inches"
        )
    return _Reading(kind, unseen).of(drawing, scale, removed)


class _Reading:
    """Goes through a drawing once."""

    def __init__(self, kind: Kind | None, unseen: bool) -> None:
        self._gathering = Gathering(kind)
        self._take_unseen = unseen
        self._loose: dict[tuple[str, str], list[Row]] = {}
        self._others: Counter[str] = Counter()
        self._total = 0
        self._through = 0
        # By (entity, how much it is stretched where that matters): a block that stands a thousand times
        # is read once.
        self._rows: dict[tuple[int, float], Row | None] = {}
        self._refused: set[int] = set()

    def of(self, drawing: Drawing, scale: float, removed: Mapping[str, str]) -> Imported:
        gathering = self._gathering
        gathering.ours = APP_ID in drawing.appids or WRITTEN_BY in drawing.header.custom_vars.properties
        blocks = Blocks(drawing)
        unseen: Counter[tuple[str, str]] = Counter()
        for placed in blocks.entities(scale):
            row = self._row(placed)
            if not row:
                continue
            own = _own(placed)
            if own is None:
                self._loose.setdefault((placed.layer, placed.unseen), []).append(row)
            elif placed.unseen and not self._take_unseen:
                unseen[placed.layer, placed.unseen] += 1
            else:
                gathering.add(row, own, placed.where)
        for (layer, why), rows in self._loose.items():
            if why and not self._take_unseen:
                unseen[layer, why] += len(chained(rows))
            else:
                self._joined(layer, chained(rows))
        self._say(unseen, blocks.left_out, removed)
        return gathering.done()

    def _row(self, placed: Placed) -> Row | None:
        entity = placed.entity
        what = entity.dxftype()
        if what not in DRAWN:
            self._others[what[:40]] += 1
            return None
        if id(entity) in self._refused:
            return None
        stretch = placed.affine.stretch
        key = (id(entity), stretch if followed(entity) else 0.0)
        try:
            if key not in self._rows:
                self._rows[key] = row_of(entity, stretch or 1.0)
                if what == "SPLINE" and self._rows[key] and not entity.control_points:  # type: ignore[attr-defined]
                    self._through += 1
        except SplineError as error:
            self._refused.add(id(entity))
            self._gathering.notes.append(_refused(what, str(entity.dxf.get("handle", "?")), str(error)))
            return None
        except ExchangeError as error:
            raise ExchangeError(f"{placed.where}: {error}") from None
        row = self._rows[key]
        if row is None:
            self._others[what] += 1
            return None
        # What a spline costs that is followed anew, even where few edges come of it.
        cost = entity.control_point_count() * (1 + entity.dxf.degree // 4) if key[1] else 0  # type: ignore[attr-defined]
        self._total += max(len(row), cost)
        if self._total > MOST_PIECES:
            raise ExchangeError(f"{placed.where}: more than {MOST_PIECES} edges in all; simplify the drawing")
        return [placed.affine.piece(piece) for piece in row]

    def _joined(self, layer: str, rows: list[Row]) -> None:
        named = named_by(layer) or Named(layer, layer if layer != "0" else "", layer)
        where = f"layer {layer[:40]!r}"
        made = sum([self._gathering.add(row, named, where) for row in rows])
        if made > 1 and named.count not in ("", "1"):
            self._gathering.notes.append(f"{where} holds {made} outlines, each counted {named.count} times")

    def _say(
        self, unseen: Counter[tuple[str, str]], blocks: Counter[str], removed: Mapping[str, str]
    ) -> None:
        notes = self._gathering.notes
        self._gathering.unseen = sum(unseen.values())
        for (layer, why), count in unseen.items():
            notes.append(f"layer {layer[:40]!r}: {paths_were(count)} left out, being {why} there")
        notes += [_refused("SPLINE", handle, why) for handle, why in removed.items()]
        if self._through:
            notes.append(f"{self._through} SPLINE without control points drawn through fit points; check it")
        for words, count in blocks.items():
            notes.append(f"{count} × {words}, left out")
        for what, count in self._others.items():
            notes.append(f"{count} {what} left out; turn what is to be read into polylines or splines")


def _refused(what: str, handle: str, why: str) -> str:
    return f"{what} with handle {handle} was left out: {why[:120]}; turn it into a polyline there"


def _opened(data: bytes) -> tuple[Drawing, dict[str, str]]:
    """The drawing, and by their handles the splines that the library removed, and why."""
    from ezdxf import recover
    from ezdxf.lldxf.const import DXFError

    # What ezdxf logs of a broken file would stand on standard error beside our own sentence.
    logger = logging.getLogger("ezdxf")
    if not logger.handlers:
        logger.addHandler(logging.NullHandler())
    if b"SECTION" not in data:
        raise ExchangeError("not a DXF file; name one, or export the drawing anew")
    try:
        drawing, audit = recover.read(io.BytesIO(data))
    except (DXFError, OSError, ValueError, TypeError, LookupError, AttributeError, ArithmeticError,
            RecursionError, AssertionError):
        # A broken file can stumble anywhere in a reader of a hundred kinds of record.
        raise ExchangeError("not a whole DXF file; export the drawing anew") from None
    removed = {}
    for fixed in audit.fixes:
        match = _REMOVED.match(fixed.message)
        if match and match[1] == "SPLINE":
            removed[match[2]] = match[3]
    return drawing, removed


def _units(drawing: Drawing) -> int:
    try:
        return int(drawing.header.get("$INSUNITS", 0))
    except (TypeError, ValueError):
        return 0


def _own(placed: Placed) -> Named | None:
    """What our own export wrote beside an outline; None for the drawings of others."""
    if not placed.entity.has_xdata(APP_ID):
        return None
    words = [str(tag.value)[:_LONGEST_WORD] for tag in placed.entity.get_xdata(APP_ID) if tag.code == 1000]
    # Up to 0.7 the layer alone said the kind.
    if len(words) == 4:
        layer = named_by(placed.layer)
        words.append(layer.kind if layer else placed.layer)
    if len(words) != 5:
        return None
    return Named(words[0], words[3], words[4], words[1], words[2])
