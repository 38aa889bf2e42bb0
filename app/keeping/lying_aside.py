"""Asks about damaged recovery files that were moved aside: to look at them, or to delete them."""

from __future__ import annotations

from PySide6.QtCore import QUrl
from PySide6.QtGui import QDesktopServices
from PySide6.QtWidgets import QWidget

from app.keeping.kept_folder import Aside
from app.kit.plain import Box, asked, warn


def delete_wanted(parent: QWidget, found: Aside) -> bool:
    """Say where they lie and how large they are; True if they are to be deleted, asked about once more."""
    number = len(found.files)
    if not number:
        box = Box(parent, Box.Icon.Information, "No damaged recovery files have been set aside.")
        box.exec()
        box.deleteLater()
        return False
    files = "1 damaged recovery file" if number == 1 else f"{number} damaged recovery files"
    box = Box(
        parent, Box.Icon.Information, f"{files}, {_size_words(found.size)} with scans, set aside.",
        f"In {found.folder}. What could be read of {'it' if number == 1 else 'them'} was offered when "
        "Sternpost started; the rest can be got out by hand alone. Nothing here is deleted unless you do it.",
    )
    show = box.addButton("&Show the folder", Box.ButtonRole.ActionRole)
    delete = box.addButton("&Delete…", Box.ButtonRole.DestructiveRole)
    close = box.addButton(Box.StandardButton.Close)
    box.setDefaultButton(close)
    box.exec()
    pressed = box.clickedButton()
    box.deleteLater()
    if pressed is show and not QDesktopServices.openUrl(QUrl.fromLocalFile(str(found.folder))):
        warn(parent, "Sternpost", f"No program here shows folders. It is {found.folder}.")
    return pressed is delete and asked(
        parent, "Damaged kept work", f"Delete {files} for good? What is only in there is lost."
    )


def _size_words(size: int) -> str:
    return f"{size / 1e6:.1f} MB" if size >= 1e5 else f"{max(1, round(size / 1e3))} kB"
