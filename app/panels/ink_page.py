"""The strip's page for the hands that take what is drawn: the kind, and how far the ink is gone by."""

from __future__ import annotations

from PySide6.QtCore import QSettings, Qt
from PySide6.QtWidgets import QCheckBox, QComboBox, QHBoxLayout, QLineEdit, QSizePolicy, QWidget

from app.canvas.canvas import Canvas
from app.canvas.tools.region import MOST_GAP_MM, RegionHand
from app.canvas.tools.trace import TraceHand
from app.kit.plain import Label, plain
from app.panels.one_line import OneLine
from app.work.document import Document
from core.units import UnitError, format_fine, parse_length

_KEPT_SNAP = "trace/snap_to_ink"


class InkPage(QWidget):
    """Kind; for tracing two buttons that stay down, for a region the widest gap that is bridged."""

    def __init__(self, document: Document, canvas: Canvas, kind: QComboBox) -> None:
        super().__init__()
        self._document, self._canvas = document, canvas
        self.words, self._gap_words, self.then = Label(), Label("gaps to"), OneLine()
        self.follow = _button(
            "Follow ink",
            "The trace runs along the drawn line from the last node to the cursor.\n"
            "The same with F held down.",
        )
        self.follow.toggled.connect(self._follow_chosen)
        self.snap = _button(
            "Snap to ink",
            "A single click near a drawn line goes to its middle, or to the corner of two.\n"
            "Ctrl held down: no snapping. Where the ink is followed, clicks snap in any case.\n"
            "The tick is kept for the next time.",
        )
        self.snap.setChecked(bool(QSettings().value(_KEPT_SNAP, False, type=bool)))
        self._hand_snaps(self.snap.isChecked())
        self.snap.toggled.connect(self._snap_chosen)
        self.gap = QLineEdit()
        self.gap.setAccessibleName("Widest gap in the line that is bridged")
        self.gap.setToolTip("Gaps in the drawn line up to this length are bridged")
        self.gap.setFixedWidth(self.gap.fontMetrics().horizontalAdvance("0.0394 in") + 22)
        self.gap.editingFinished.connect(self._gap_chosen)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(8)
        self.then.setMinimumWidth(1)
        self.then.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Preferred)
        for widget in (self.words, kind, self.then, self.follow, self.snap, self._gap_words, self.gap):
            row.addWidget(widget)
        row.addStretch(1)
        self.refresh()

    def refresh(self) -> None:
        """Show what goes with the hand in use."""
        hand = self._canvas.hand
        region = isinstance(hand, RegionHand)
        words = "Region" if region else "Tracing"
        if self.words.text() != words:
            self.words.setText(words)
        self.then.show_text(self._canvas.kinds.then)
        for widget, shown in (
            (self.follow, not region), (self.snap, not region), (self._gap_words, region), (self.gap, region)
        ):
            if widget.isHidden() == shown:
                widget.setVisible(shown)
        if isinstance(hand, RegionHand) and not self.gap.hasFocus():
            self._write_gap(hand)

    def _write_gap(self, hand: RegionHand) -> None:
        text = format_fine(hand.gap, self._document.edited.display_units)
        if self.gap.text() != text:
            self.gap.setText(text)

    def _follow_chosen(self, on: bool) -> None:
        hand = self._canvas.hands["trace"]
        if isinstance(hand, TraceHand):
            hand.latched = on
        self._back()

    def _snap_chosen(self, on: bool) -> None:
        QSettings().setValue(_KEPT_SNAP, on)
        self._hand_snaps(on)
        self._back()

    def _hand_snaps(self, on: bool) -> None:
        hand = self._canvas.hands["trace"]
        if isinstance(hand, TraceHand):
            hand.ink_snap = on

    def _back(self) -> None:
        self._canvas.hint_changed.emit()
        self._canvas.setFocus()

    def _gap_chosen(self) -> None:
        hand = self._canvas.hands["region"]
        # Told twice of one entry, on Return and when the focus goes: what was rounded for show is not read.
        if not isinstance(hand, RegionHand) or not self.gap.isModified():
            return
        try:
            gap = parse_length(self.gap.text(), self._document.edited.display_units)
            if not 0.0 <= gap <= MOST_GAP_MM:
                most = format_fine(MOST_GAP_MM, self._document.edited.display_units)
                raise UnitError(f"gap: give a length from 0 to {most}")
        except UnitError as error:
            self._canvas.say(str(error))
        else:
            hand.gap = gap
        self.gap.setModified(False)
        self._write_gap(hand)
        self._back()


def _button(words: str, tip: str) -> QCheckBox:
    button = QCheckBox(words)
    button.setAccessibleName(words)
    button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
    button.setToolTip(plain(tip))
    return button
