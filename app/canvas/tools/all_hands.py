"""Every hand there is, at one bench, in the order of work."""

from __future__ import annotations

from app.canvas.tools.circle import CircleHand
from app.canvas.tools.edit import EditHand
from app.canvas.tools.hand import Bench, Hand
from app.canvas.tools.join import JoinHand
from app.canvas.tools.points import CgHand, DatumHand, LevelHand, ScaleHand
from app.canvas.tools.region import RegionHand
from app.canvas.tools.station import StationHand
from app.canvas.tools.straighten import StraightenHand
from app.canvas.tools.trace import TraceHand


def all_hands(bench: Bench, edit: EditHand) -> dict[str, Hand]:
    """The hands by name; ``edit`` is the one that the canvas itself holds on to."""
    hands: tuple[Hand, ...] = (
        StraightenHand(bench), ScaleHand(bench), LevelHand(bench), JoinHand(bench), DatumHand(bench),
        TraceHand(bench), RegionHand(bench), CircleHand(bench), edit, CgHand(bench), StationHand(bench),
    )
    return {hand.name: hand for hand in hands}
