"""Keys that mean the same in the window and in every window beside it."""

from __future__ import annotations

UNDO: tuple[str, ...] = ("Ctrl+Z",)
REDO: tuple[str, ...] = ("Ctrl+Shift+Z", "Ctrl+Y")
CLOSE = "Ctrl+W"
EDITING: frozenset[str] = frozenset(("Ctrl+X", "Ctrl+C", "Ctrl+V", "Ctrl+A"))
"""What a field with the focus keeps to itself."""
