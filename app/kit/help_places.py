"""Where the help has something to say of a part of the window: "page/section", kept with the widget."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

FIRST_PLACE = "method/card"
_KEPT_AS = "help"

HANDS: Mapping[str, str] = {
    "straighten": "steps/straighten", "scale": "steps/scale", "level": "steps/scale", "join": "steps/join",
    "datum": "steps/datum", "trace": "steps/trace", "region": "steps/trace", "circle": "steps/trace",
    "edit": "steps/change",
    "cg": "steps/cg", "station": "words/station", "open": "steps/open", "sheet": "words/bench-sheet",
}
"""By the name of a hand; "open" and "sheet" stand among them in the window."""

SIDE_WINDOWS: Mapping[str, str] = {
    "bench-sheet": "words/bench-sheet", "card": "words/card-copy", "compare": "steps/keep",
    "curves": "words/curves", "dimensioned": "steps/parts", "gauges": "words/gauge",
    "gust": "words/after-a-gust", "help": FIRST_PLACE, "parts": "steps/parts", "parts-sheet": "steps/parts",
    "plug": "words/plug", "refit": "steps/refit", "setting-up": "words/setting-up-sheet",
    "settle": "words/settle", "slip": "words/yaw", "template": "words/template",
}
"""By the name that a window beside the window is opened by."""

GROUPS: Mapping[str, str] = {
    "side": "words/side-area", "tail": "words/fin-centre", "wing": "words/wing", "yaw": "words/firmness",
    "rudder": "words/rudder", "gust": "words/wag", "spiral": "words/spiral", "pitch": "words/static-margin",
    "weight": "words/weight",
}
"""By the key of a group of readings."""

FIELDS: Mapping[str, str] = {
    "cg_x": "words/cg", "cg_z": "words/cg", "low": "words/aim", "high": "words/aim",
    "cla_fraction": "words/aim", "cg_mm": "words/plus-minus", "tracing_mm": "words/plus-minus",
    "speed": "words/flight", "density": "words/flight", "throw": "words/throw",
    "width": "words/neutral-point",
    "propeller": "words/propeller", "disc": "words/propeller",
    "Label": "words/outline", "Kind": "words/kind", "Count": "words/count", "Stance": "words/stance",
    "Apart": "words/apart", "Weighs": "words/weighs", "Node x": "words/node", "z": "words/node",
}
"""By the key of a typed figure, and by the name of a field of the outline's form."""

PANELS: Mapping[str, str] = {
    "outlines": "words/outline", "scans": "words/scan", "surfaces": "steps/wing", "weights": "words/weight",
    "kept": "words/alternative", "answer": "steps/answer", "readings": "words/reading", "hands": "steps/open",
    "arm_rule": "words/arm-rule", "band_place": "words/area-band", "welcome": FIRST_PLACE,
    "strip": "steps/trace", "status": "keys/view",
}
"""By the name that the window gives a panel."""


def reading_place(key: str) -> str:
    """Where a reading is explained, by its key."""
    return f"words/{key}"


def set_help(widget: QWidget, place: str) -> None:
    """Say where the help of a widget, and of all within it that says nothing else, begins."""
    widget.setProperty(_KEPT_AS, place)


def help_of(focus: QObject | None, window: QObject) -> str:
    """Where the help of a widget begins: its own place, or that of what it stands in; else its window's."""
    widget: QObject | None = focus if focus is not None else window
    while widget is not None:
        place = widget.property(_KEPT_AS)
        if isinstance(place, str) and place:
            return place
        widget = widget.parent()
    return FIRST_PLACE
