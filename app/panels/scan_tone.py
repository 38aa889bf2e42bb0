"""How a scan is shown: its shading levelled, a blueprint inverted, faint lines thickened."""

from __future__ import annotations

from typing import Any

from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QSpinBox, QWidget

from app.kit.plain import Label, plain
from app.work.document import Document
from core.design import MOST_THICKENED, Scan
from core.redesign.design_edits import change_tone


class ToneRow(QWidget):
    """Three small controls; each change is one entry of undo, and the file itself stays as it is."""

    def __init__(self, scan: Scan, document: Document) -> None:
        super().__init__()
        self._document, self._id = document, scan.id
        self.level = self._box(
            "Even paper", "level the shading of the paper until it is white", "level", "level shading"
        )
        self.invert = self._box(
            "Invert", "turn light lines on dark paper dark on light", "invert", "invert scan"
        )
        self.thicken = QSpinBox()
        self.thicken.setRange(0, MOST_THICKENED)
        self.thicken.setAccessibleName(f"By how many pixels the lines of {scan.file} are thickened")
        self.thicken.setKeyboardTracking(False)
        self.thicken.setPrefix("+")
        self.thicken.setFixedWidth(46)
        words = Label("Lines")
        words.setBuddy(self.thicken)
        tip = f"Thicken faint lines by 0 to {MOST_THICKENED} pixels each way; the file stays as it is"
        words.setToolTip(plain(tip))
        self.thicken.setToolTip(plain(tip))
        self.thicken.valueChanged.connect(lambda value: self._change("thicken lines of scan", thicken=value))
        layout = QHBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        layout.addWidget(self.level)
        layout.addWidget(self.invert)
        layout.addStretch(1)
        layout.addWidget(words)
        layout.addWidget(self.thicken)
        self.refresh(scan)

    def refresh(self, scan: Scan) -> None:
        """Show the tone as it is now."""
        for control in (self.level, self.invert, self.thicken):
            control.blockSignals(True)
        self.level.setChecked(scan.tone.level)
        self.invert.setChecked(scan.tone.invert)
        self.thicken.setValue(scan.tone.thicken)
        for control in (self.level, self.invert, self.thicken):
            control.blockSignals(False)

    def _box(self, words: str, does: str, field: str, name: str) -> QCheckBox:
        box = QCheckBox(words)
        tip = f"{does[0].upper()}{does[1:]}; the file stays as it is"
        box.setToolTip(plain(tip))
        box.setAccessibleName(tip)
        box.toggled.connect(lambda on: self._change(name, **{field: on}))
        return box

    def _change(self, name: str, **fields: Any) -> None:
        self._document.apply(name, lambda d: change_tone(d, self._id, **fields), "scans")
