"""One drag of an edge: along its normal, with the smooth run that it belongs to, alone, or bent."""

from __future__ import annotations

from dataclasses import dataclass

from app.canvas.hits import Hit
from app.canvas.snapping import Snap, snap
from app.canvas.tools.hand import Pointer
from app.canvas.view import View
from core.design import Design, Outline
from core.geometry.ring import point_on
from core.redesign import outline_edits as edits
from core.redesign.belonging import is_shared, joined, with_partners
from core.redesign.design_edits import with_outlines
from core.redesign.stretching import Stretch, smooth_run, stretch_of
from core.stability.side_area import form_of
from core.units import format_length


@dataclass(frozen=True)
class Dragged:
    """What a drag shows: the design, the figure beside the cursor, and what it caught."""

    design: Design
    figure: str
    caught: Snap | None = None


class EdgeDrag:
    """Starts from the design as it was when the button went down."""

    def __init__(self, start: Design, found: Hit, pressed: Pointer) -> None:
        self._start, self._found, self._pressed = start, found, pressed
        self._outline = start.outline(found.outline)
        in_run = bool(smooth_run(self._outline, found.index))
        self._alone = pressed.alt and in_run and not pressed.shift
        self._bend = pressed.alt and not self._alone
        self._stretch: Stretch | None = None
        self._asked = self._alone
        self.name = f"{'bend' if self._bend else 'drag'} {self._outline.kind} edge"

    def to(self, at: Pointer, view: View) -> Dragged:
        """The drag with the pointer there."""
        dx, dz = at.x - self._pressed.x, at.z - self._pressed.z
        if self._bend:
            bent = edits.bend_edge(self._outline, self._found.index, self._found.t, dx, dz)
            return Dragged(with_partners(self._start, {bent.id: bent}), "bend")
        if not self._asked:
            self._stretch, self._asked = stretch_of(self._start, *self._place()), True
        stretch = self._stretch
        px, pz = (float(v) for v in point_on(form_of(self._outline).ring, self._found.index, self._found.t))
        nx, nz = stretch.way if stretch else edits.edge_normal(self._outline, self._found.index)
        along = stretch.pulled(dx, dz) if stretch else dx * nx + dz * nz
        caught = None
        if not at.ctrl:
            mates = () if self._alone else (o.id for o in joined(self._start, self._outline))
            place = snap(
                self._start, view, px + along * nx, pz + along * nz, leave_out=(self._outline.id, *mates)
            )
            if place.to == "node":
                caught = place
                toward = place.x - px, place.z - pz
                along = stretch.pulled(*toward) if stretch else toward[0] * nx + toward[1] * nz
        if stretch:
            made = with_partners(self._start, stretch.made(along))
        else:
            moved = edits.move_edge(self._outline, self._found.index, along)
            together = with_outlines if self._alone else with_partners
            made = together(self._start, {moved.id: moved})
        return Dragged(made, self._figure(along), caught)

    def _place(self) -> tuple[str, int, float]:
        return self._outline.id, self._found.index, self._found.t

    def _figure(self, along: float) -> str:
        """What grows, and by how much; of a hinge what the other loses too."""
        def grows(what: str, by: float) -> str:
            return f"{what} {format_length(by, self._start.display_units, signed=True)}"

        if self._stretch is not None:
            return grows(self._stretch.what, along)
        said = [grows(self._outline.kind, along)]
        if not self._alone and is_shared(self._start, self._outline, self._found.index):
            said += [grows(kind, -along) for kind in _kinds(joined(self._start, self._outline))]
        return ", ".join(said)


def _kinds(outlines: list[Outline]) -> list[str]:
    return list(dict.fromkeys(o.kind for o in outlines))
