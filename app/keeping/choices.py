"""What was chosen in a window that makes sheets, from one opening to the next and to the next start."""

from __future__ import annotations

from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QCheckBox, QComboBox


def keep_choice(key: str, part: QComboBox | QCheckBox) -> None:
    """Show what the builder chose the last time; keep what is chosen by hand from now on.

    Call it before anybody listens to ``part``. A list keeps the data of its entries; what is no longer
    offered changes nothing.
    """
    key = f"sheets/{key}"
    if isinstance(part, QCheckBox):
        part.setChecked(bool(QSettings().value(key, part.isChecked(), type=bool)))
        part.clicked.connect(lambda on: QSettings().setValue(key, on))
        return
    at = part.findData(QSettings().value(key))
    if at >= 0:
        part.setCurrentIndex(at)
    part.activated.connect(lambda index: QSettings().setValue(key, part.itemData(index)))
