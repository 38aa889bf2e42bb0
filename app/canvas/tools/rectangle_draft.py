"""What has been clicked on a photograph so far: four corners, and what else is known of it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import islice

from app.canvas.tools.known_points import Extra
from app.canvas.tools.straight_edges import Edges, StraightEdge, known_lines, with_click, without_last
from app.scans.lying_sheet import FoundSheet
from core.design import Vector
from core.redesign.outline_edits import EditError
from core.redesign.scan_plane import KnownRectangle

_SIDES = -1
_FURTHER = -2


@dataclass(frozen=True)
class RectangleDraft:
    """Corners, further points and straight edges, in pixels of the picture.

    ``added`` is what came after the corners, in turn: the index of an edge, or one of two marks.
    """

    corners: tuple[Vector, ...] = ()
    extras: tuple[Extra, ...] = ()
    edges: Edges = ()
    added: tuple[int, ...] = ()

    @staticmethod
    def of_sheet(sheet: FoundSheet) -> RectangleDraft:
        """A sheet that was found: its corners, and its sides as straight edges."""
        sides = tuple(StraightEdge(points, k) for k, points in enumerate(sheet.sides) if points)
        return RectangleDraft(sheet.corners, edges=sides, added=(_SIDES,) if sides else ())

    @property
    def points(self) -> list[Vector]:
        """All of them in the order of their numbers."""
        further = (point for extra in self.extras for point in extra.points)
        return [*self.corners, *further, *(point for edge in self.edges for point in edge.points)]

    def taking(self, pixel: Vector, *, along: bool) -> tuple[RectangleDraft, int]:
        """With one pixel more, and its index among all points; ``along``: on something straight."""
        if len(self.corners) < 4:
            return replace(self, corners=(*self.corners, pixel)), len(self.corners)
        further = 4 + sum(len(extra.points) for extra in self.extras)
        if along:
            edges, at = with_click(self.edges, pixel, self.corners)
            grown = replace(self, edges=edges, added=(*self.added, at))
            return grown, further + sum(len(edge.points) for edge in edges[: at + 1]) - 1
        last = self.extras[-1] if self.extras else None
        if last is not None and len(last.points) == 1 and last.place is None:
            extras = (*self.extras[:-1], replace(last, points=(*last.points, pixel)))
        else:
            extras = (*self.extras, Extra((pixel,)))
        return replace(self, extras=extras, added=(*self.added, _FURTHER)), further

    def moved(self, index: int, pixel: Vector) -> RectangleDraft:
        """With the point of that index elsewhere."""
        every = self.points
        every[index] = pixel
        left = iter(every)
        corners = tuple(islice(left, len(self.corners)))
        extras = tuple(replace(e, points=tuple(islice(left, len(e.points)))) for e in self.extras)
        edges = tuple(replace(e, points=tuple(islice(left, len(e.points)))) for e in self.edges)
        return replace(self, corners=corners, extras=extras, edges=edges)

    def without_last(self) -> RectangleDraft:
        """Without what came last; the sides of a sheet that was found go together."""
        if not self.added:
            return replace(self, corners=self.corners[:-1])
        *before, last = self.added
        left = replace(self, added=tuple(before))
        if last == _SIDES:
            return replace(left, edges=())
        if last != _FURTHER:
            return replace(left, edges=without_last(self.edges, last))
        extra = self.extras[-1]
        shorter = (Extra(extra.points[:1]),) if len(extra.points) == 2 else ()
        return replace(left, extras=(*self.extras[:-1], *shorter))

    def knowing(self, index: int, place: Vector | None, apart: float | None) -> RectangleDraft:
        """With what is known of a further point or two."""
        return replace(self, extras=tuple(
            replace(extra, place=place, apart=apart) if i == index else extra
            for i, extra in enumerate(self.extras)
        ))

    def known(self, width: float | None, height: float | None) -> KnownRectangle:
        """All that is settled by now. EditError for what still lacks."""
        if len(self.corners) < 4:
            raise EditError("click the four corners of something rectangular first")
        if width is None or height is None:
            raise EditError("type the width and the height of the rectangle first")
        return KnownRectangle(
            self.corners, width, height,
            tuple((e.points[0], e.place) for e in self.extras if e.place is not None),
            tuple(
                (e.points[0], e.points[1], e.apart)
                for e in self.extras if e.apart is not None and len(e.points) == 2
            ),
            known_lines(self.edges, self.corners),
        )
