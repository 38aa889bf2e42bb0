"""The scans: fade, lock, hide, turn, mirror, and where their scale comes from."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QFont
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QPushButton,
    QScrollArea,
    QSlider,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.kit.icon_button import icon_button
from app.kit.plain import Label
from app.kit.theme import Theme, icon
from app.panels.scan_pages import FlatButton
from app.panels.scan_tone import ToneRow
from app.scans.shelf import Shelf
from app.work.document import Change, Document
from app.work.readout import Readout
from core.design import DisplayUnits, Scan
from core.redesign.design_edits import change_scan, delete_scan
from core.redesign.scan_edits import mirror_scan, turn_quarter
from core.redesign.scan_plane import STRAIGHTENED, plane_words
from core.units import format_length

_SCALE_WORDS = {
    "points": "scale set by two points",
    "dpi": "placed by its own dpi, a full-size plan assumed",
    "none": "no scale yet: lengths are hidden",
}


def _scale_words(scan: Scan, units: DisplayUnits) -> str:
    plane = plane_words(scan) if scan.scale_from == "points" else ""
    if plane == STRAIGHTENED:
        left = "" if scan.residual_mm is None else f", {format_length(scan.residual_mm, units)} left over"
        lens = "" if scan.lens is None else ", its lens taken out"
        return f"straightened by its corners{lens}{left}"
    if scan.photograph:
        return f"looks like a photograph, {_SCALE_WORDS[scan.scale_from]}"
    return f"{_SCALE_WORDS[scan.scale_from]}{plane and ', '}{plane}"


class ScanCard(QFrame):
    """One scan and what can be done to it."""

    def __init__(self, scan: Scan, document: Document, shelf: Shelf, theme: Theme) -> None:
        super().__init__()
        self._document, self._shelf, self._id = document, shelf, scan.id
        self.setObjectName("card")
        self.setStyleSheet(f"#card {{ border-bottom: 1px solid {theme.line}; }}")
        name = Label(scan.file)
        bold = QFont(name.font())
        bold.setBold(True)
        name.setFont(bold)
        name.setWordWrap(True)
        self._state = Label()
        self._state.setWordWrap(True)
        self._state.setStyleSheet(f"color: {theme.ink_soft};")
        self._fade = QSlider(Qt.Orientation.Horizontal)
        self._fade.setRange(5, 100)
        self._fade.setAccessibleName(f"How strongly {scan.file} shows")
        self._fade.setToolTip("Fade the scan")
        self._fade.sliderPressed.connect(lambda: document.begin("fade scan"))
        self._fade.valueChanged.connect(self._faded)
        self._fade.sliderReleased.connect(lambda: document.commit("scans"))
        bar = QHBoxLayout()
        bar.setSpacing(2)
        self._eye = self._button("", "Show or hide the scan", partial(self._flip, "hidden"), theme)
        self._lock = self._button(
            "", "Lock the scan, or unlock it to drag it about under the outlines",
            partial(self._flip, "locked"), theme,
        )
        turn = self._button("redo", "Turn by 90° clockwise", self._turn, theme)
        mirror = self._button("mirror", "Mirror, for a plan drawn nose right", self._mirror, theme)
        remove = self._button("remove", "Take the scan out; what was traced stays", self._remove, theme)
        for button in (self._eye, self._lock, turn, mirror, remove):
            bar.addWidget(button)
        bar.addWidget(self._fade, 1)
        self.straighten, self.flat = QPushButton("Straighten"), FlatButton()
        self.straighten.setToolTip("Lay it flat by the four corners of something rectangular")
        self._ways_out = QWidget()
        ways = QHBoxLayout(self._ways_out)
        ways.setContentsMargins(0, 0, 0, 0)
        ways.addWidget(self.straighten)
        ways.addWidget(self.flat)
        ways.addStretch(1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(12, 8, 12, 8)
        layout.setSpacing(4)
        layout.addWidget(name)
        layout.addWidget(self._state)
        layout.addWidget(self._ways_out)
        layout.addLayout(bar)
        self._tone = ToneRow(scan, document)
        layout.addWidget(self._tone)
        self._theme = theme
        self.refresh(scan)

    def _button(self, name: str, tip: str, action: Callable[[], object], theme: Theme) -> QToolButton:
        button = icon_button(tip, action)
        if name:
            button.setIcon(icon(name, theme.ink))
        button.setFixedWidth(28)
        return button

    def refresh(self, scan: Scan) -> None:
        """Show the scan as it is now."""
        self._eye.setIcon(icon("eye-off" if scan.hidden else "eye", self._theme.ink))
        self._lock.setIcon(icon("lock" if scan.locked else "unlock", self._theme.ink))
        self._tone.refresh(scan)
        self._ways_out.setVisible(scan.photograph)
        self._fade.blockSignals(True)
        self._fade.setValue(round(scan.opacity * 100))
        self._fade.blockSignals(False)
        picture = self._shelf.picture_of(scan)
        refused = self._shelf.refused.get(scan.file)
        size = f"{picture.width} × {picture.height} pixels, " if picture else ""
        note = f". {picture.note}" if picture and picture.note else ""
        if picture and picture.detail and picture.detail.trouble:
            note += f". It stays coarse: {picture.detail.trouble}"
        if picture is not None and not refused and self._shelf.is_in_old_tone(scan):
            note += ". The new tone is being worked out"
        text = refused or f"{size}{_scale_words(scan, self._document.edited.display_units)}{note}"
        if self._state.text() != text:
            self._state.setText(text)

    def _faded(self, value: int) -> None:
        opacity = value / 100
        if self._document.busy:
            self._document.preview(change_scan(self._document.edited, self._id, opacity=opacity), "scans")
        else:
            self._document.apply("fade scan", lambda d: change_scan(d, self._id, opacity=opacity), "scans")

    def _flip(self, field: str, *_: object) -> None:
        value = not getattr(self._document.edited.scan(self._id), field)
        name = {"hidden": ("show", "hide"), "locked": ("unlock", "lock")}[field][value]
        self._document.apply(f"{name} scan", lambda d: change_scan(d, self._id, **{field: value}), "scans")

    def _turn(self) -> None:
        sizes = self._shelf.sizes(self._document.edited)
        self._document.apply("turn scan", lambda d: turn_quarter(d, self._id, -1, sizes), "scans")

    def _mirror(self) -> None:
        sizes = self._shelf.sizes(self._document.edited)
        self._document.apply("mirror scan", lambda d: mirror_scan(d, self._id, sizes), "scans")

    def _remove(self) -> None:
        self._document.apply("take scan out", lambda d: delete_scan(d, self._id), "scans")


NO_SCANS = "No scan yet. Open a picture or PDF of the plan to trace over."


class ScansPanel(QScrollArea):
    """A card for every scan, and the way to open one more."""

    straighten_wanted = Signal(str)
    flat_wanted = Signal(str)
    """(scan id), both"""

    def __init__(self, document: Document, readout: Readout, shelf: Shelf, theme: Theme) -> None:
        super().__init__()
        self._document, self._shelf, self._theme = document, shelf, theme
        self.open_button = QPushButton("Open a scan…")
        self.setWidgetResizable(True)
        self.setAccessibleName("Scans")
        self._inside = QWidget()
        self._layout = QVBoxLayout(self._inside)
        self._layout.setContentsMargins(0, 0, 0, 0)
        self._layout.setSpacing(0)
        self._cards: dict[str, ScanCard] = {}
        self.setWidget(self._inside)
        readout.listen(self._changed)
        shelf.changed.connect(self.refresh)
        shelf.failed.connect(lambda *_: self.refresh())
        self._build()

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = theme
        self._build()

    def _changed(self, change: Change) -> None:
        if [s.id for s in self._document.edited.scans] != list(self._cards):
            self._build()
        elif change.what not in ("preview", "proposal"):
            self.refresh()

    def refresh(self) -> None:
        """Show the scans as they are now."""
        for scan in self._document.edited.scans:
            if scan.id in self._cards:
                self._cards[scan.id].refresh(scan)

    def _build(self) -> None:
        while self._layout.count():
            item = self._layout.takeAt(0)
            widget = item.widget() if item else None
            if widget is not None and widget is not self.open_button:
                widget.deleteLater()
        self._cards = {}
        for scan in self._document.edited.scans:
            card = ScanCard(scan, self._document, self._shelf, self._theme)
            card.straighten.clicked.connect(partial(self.straighten_wanted.emit, scan.id))
            card.flat.clicked.connect(partial(self.flat_wanted.emit, scan.id))
            self._cards[scan.id] = card
            self._layout.addWidget(card)
        if not self._cards:
            empty = Label(NO_SCANS)
            empty.setWordWrap(True)
            empty.setContentsMargins(12, 8, 12, 8)
            empty.setStyleSheet(f"color: {self._theme.ink_soft};")
            self._layout.addWidget(empty)
        self._layout.addWidget(self.open_button, 0, Qt.AlignmentFlag.AlignHCenter)
        self._layout.setContentsMargins(0, 0, 0, 10)
        self._layout.addStretch(1)
