"""What becomes of a scan that looks like a photograph: straightened, or declared flat."""

from __future__ import annotations

from app.canvas.canvas import Canvas
from app.panels.hand_strip import HandStrip
from app.panels.scans import ScansPanel
from app.scans.shelf import Shelf
from app.work.document import Document
from core.design import Scan
from core.redesign.design_edits import change_scan
from core.redesign.scan_edits import declare_flat
from core.stability.photographs import HOW_TO_STRAIGHTEN


class Photographs:
    """Asks when one comes in, and does what the list of scans and the strip are told."""

    def __init__(
        self, document: Document, canvas: Canvas, shelf: Shelf, strip: HandStrip, scans: ScansPanel
    ) -> None:
        self._document, self._canvas, self._shelf, self._strip = document, canvas, shelf, strip
        scans.straighten_wanted.connect(self._straighten)
        scans.flat_wanted.connect(self.declare_flat)
        strip.straighten.flat_wanted.connect(self.declare_flat)

    def scan_opened(self, scan: Scan) -> None:
        """Take the hand that goes with a scan that has just come in, but not from a gesture under way."""
        if scan.photograph and self._canvas.hand.busy:
            self._strip.say(f"{scan.file} looks like a photograph: {HOW_TO_STRAIGHTEN}")
        elif scan.photograph:
            self._canvas.take_hand("straighten")
        else:
            self._ask_for_scale(scan)

    def _ask_for_scale(self, scan: Scan) -> None:
        if scan.scale_from == "none" and len(self._document.committed.scans) == 1:
            self._canvas.take_hand("scale")

    def _straighten(self, scan_id: str) -> None:
        if self._document.committed.scan(scan_id).hidden:
            self._document.apply("show scan", lambda d: change_scan(d, scan_id, hidden=False), "scans")
        self._canvas.take_hand("straighten")
        self._canvas.setFocus()

    def declare_flat(self, scan_id: str) -> None:
        """The builder knows it to be flat; its own dpi is believed then, where it gives one."""
        self._canvas.take_hand("edit")
        design = self._document.committed
        picture = self._shelf.picture_of(design.scan(scan_id))
        dpi = None if picture is None else picture.dpi
        sizes = self._shelf.sizes(design)
        self._document.apply("declare scan flat", lambda d: declare_flat(d, scan_id, sizes, dpi), "scans")
        scan = self._document.committed.scan(scan_id)
        if scan.scale_from == "dpi":
            self._canvas.fit()
        self._ask_for_scale(scan)
        self._canvas.setFocus()
