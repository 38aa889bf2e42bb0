"""The entities of a DXF's model space with its blocks resolved, each with where it lies and if it is seen.

Bounded on all sides: how deep blocks stand in each other, and how many entities come out of them.
Nothing is opened that the file points at.
"""

from __future__ import annotations

import cmath
import math
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from core.exchange.closed import Piece
from core.exchange.dxf_curves import STUMBLES
from core.exchange.faults import ExchangeError

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.entities.dxfentity import DXFEntity
    from ezdxf.entities.insert import Insert

DEEPEST = 16
MOST_FROM_BLOCKS = 20_000


class Affine(NamedTuple):
    """Where a plane goes: its origin, and what a step along x and along y becomes."""

    origin: complex
    x: complex
    y: complex

    def place(self, p: complex) -> complex:
        """Where ``p`` goes."""
        return self.origin + p.real * self.x + p.imag * self.y

    def piece(self, piece: Piece) -> Piece:
        """Where a piece goes: the control points of its curve go with it."""
        a, b, c, d = piece
        return self.place(a), self.place(b), self.place(c), self.place(d)

    def after(self, inner: Affine) -> Affine:
        """First ``inner``, then this."""
        turn = Affine(0j, self.x, self.y)
        return Affine(self.place(inner.origin), turn.place(inner.x), turn.place(inner.y))

    @property
    def stretch(self) -> float:
        """What the most stretched length is multiplied by."""
        return abs(self.x - 1j * self.y) / 2 + abs(self.x + 1j * self.y) / 2


@dataclass(frozen=True)
class Placed:
    """An entity that is no block, and where it comes to lie."""

    entity: DXFEntity
    affine: Affine
    layer: str
    unseen: str
    """Why it is not seen there, "frozen"; empty where it is."""
    where: str


class Blocks:
    """Goes through a drawing once; ``left_out`` then counts what could not be resolved, by reason."""

    def __init__(self, drawing: Drawing) -> None:
        self._drawing = drawing
        self._from_blocks = 0
        self.left_out: Counter[str] = Counter()

    def entities(self, mm_per_unit: float) -> Iterator[Placed]:
        """All that is drawn; ExchangeError where blocks make too much of it."""
        level = Affine(0j, complex(mm_per_unit), complex(0, mm_per_unit))
        for number, entity in enumerate(self._drawing.modelspace(), 1):
            layer = _layer(entity)
            where = f"{entity.dxftype()} (entity {number}, layer {layer[:40]!r})"
            yield from self._one(entity, level, layer, "", where, ())

    def _one(
        self, entity: DXFEntity, affine: Affine, layer: str, unseen: str, where: str, above: tuple[str, ...]
    ) -> Iterator[Placed]:
        from ezdxf.entities.insert import Insert

        why = self._unseen(entity, layer)
        if not isinstance(entity, Insert):
            yield Placed(entity, affine, layer, unseen or why, where)
            return
        # What is drawn in a block keeps its own layer; a layer switched off takes along only what has none.
        frozen = unseen or ("" if why == "switched off" else why)
        name = str(entity.dxf.get("name", ""))
        shown = f"block {name[:40]!r}"
        if name in above:
            self.left_out[f"{shown}, which contains itself"] += 1
            return
        if len(above) >= DEEPEST:
            self.left_out[f"{shown}, more than {DEEPEST} blocks deep"] += 1
            return
        block = self._drawing.blocks.get(name) if name in self._drawing.blocks else None
        head = None if block is None else block.block
        if block is None or head is None:
            self.left_out[f"{shown}, which the file does not hold"] += 1
            return
        if head.is_xref or head.is_xref_overlay:
            self.left_out[f"{shown}, which is another file: nothing is fetched"] += 1
            return
        if not len(block):
            return
        for at in self._grid(entity, where):
            for inner in block:
                self._count(1, where)
                own = _layer(inner)
                yield from self._one(
                    inner, affine.after(at), layer if own == "0" else own, frozen,
                    f"{inner.dxftype()} in {shown}", (*above, name),
                )

    def _grid(self, insert: Insert, where: str) -> Iterable[Affine]:
        """Where the block goes; several times where the insertion stands in rows and columns."""
        rows, columns = insert.dxf.row_count, insert.dxf.column_count
        rows = max(1, rows) if insert.dxf.row_spacing else 1
        columns = max(1, columns) if insert.dxf.column_spacing else 1
        if rows * columns > 1:
            self._count(rows * columns, where)
        try:
            base = _affine(insert)
            turn = cmath.exp(1j * math.radians(insert.dxf.rotation))
            ocs = insert.ocs()
            places = []
            # By the rows and columns of the insertion, turned with it and not scaled (DXF reference, INSERT).
            for row in range(rows):
                for column in range(columns):
                    offset = turn * complex(column * insert.dxf.column_spacing, row * insert.dxf.row_spacing)
                    moved = ocs.to_wcs((offset.real, offset.imag, 0))
                    places.append(base._replace(origin=base.origin + complex(moved[0], moved[1])))
            return places
        except STUMBLES:
            self.left_out[f"block {str(insert.dxf.get('name', ''))[:40]!r}, placed in no sound way"] += 1
            return ()

    def _count(self, more: int, where: str) -> None:
        self._from_blocks += more
        if self._from_blocks > MOST_FROM_BLOCKS:
            raise ExchangeError(
                f"{where}: more than {MOST_FROM_BLOCKS} entities come out of blocks; keep to the side view"
            )

    def _unseen(self, entity: DXFEntity, layer: str) -> str:
        if entity.dxf.is_supported("invisible") and entity.dxf.get("invisible", 0):
            return "hidden"
        if layer not in self._drawing.layers:
            return ""
        held = self._drawing.layers.get(layer)
        return "frozen" if held.is_frozen() else "switched off" if held.is_off() else ""


def _affine(insert: Insert) -> Affine:
    matrix = insert.matrix44()
    o, x, y = (matrix.transform(p) for p in ((0, 0, 0), (1, 0, 0), (0, 1, 0)))
    at = complex(o.x, o.y)
    return Affine(at, complex(x.x, x.y) - at, complex(y.x, y.y) - at)


def _layer(entity: DXFEntity) -> str:
    """The entity's layer; that of an entity of no known kind is "0"."""
    # ``get`` raises for a record whose kind the library does not know.
    return str(entity.dxf.get("layer", "0")) if entity.dxf.is_supported("layer") else "0"
