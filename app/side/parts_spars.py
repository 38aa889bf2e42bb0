"""The spars of a build: a row each, added and taken out."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

from msgspec.structs import replace
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from app.kit.plain import Label
from app.panels.stations import heading
from app.side.parts_fields import OWN, Choice, SizeField
from app.side.parts_rows import size_of
from core.design import Design, DisplayUnits
from core.design_build import Build, Spar
from core.redesign.build_edits import change_build
from core.units import UnitError, format_fraction, format_typed, parse_fraction

_NEW = Spar(0.35, (6.0, 3.0), None, "spruce")
_SIZES = (
    ("at", "At", "How far along the chord, from the leading edge."),
    ("wide", "Wide", "Of each cap along the chord; of a frame’s stick, as it is seen."),
    ("deep", "Deep", "Of each cap across the chord."),
    ("web", "Web", "How thick the web between the caps is. Empty: no web."),
)
_RIBBED_ONLY = ("deep", "web")


def _text(spar: Spar, key: str, units: DisplayUnits) -> str:
    if key == "at":
        return format_fraction(spar.chord_fraction, places=0 if round(spar.chord_fraction, 2)
                               == spar.chord_fraction else 1)
    value = {"wide": spar.cap[0], "deep": spar.cap[1], "web": spar.web}[key]
    return "" if value is None else format_typed(value, units)


def _changed(spar: Spar, key: str, text: str, units: DisplayUnits) -> Spar:
    """The spar with what was typed. UnitError where it cannot be taken."""
    if key == "at":
        return replace(spar, chord_fraction=parse_fraction(text))
    if key == "web":
        return replace(spar, web=size_of(text, units) if text.strip() else None)
    size = size_of(text, units)
    return replace(spar, cap=(size, spar.cap[1]) if key == "wide" else (spar.cap[0], size))


class SparRow(QWidget):
    """One spar: where it lies, its sizes, its wood, and the button that takes it out."""

    def __init__(self, number: int, give: Callable[[int, str, str], bool], remove: Callable[[int], object]):
        super().__init__()
        self.fields: dict[str, SizeField] = {}
        self._labels: dict[str, Label] = {}
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 4)
        grid.setHorizontalSpacing(6)
        grid.setVerticalSpacing(3)
        for column, (key, words, tip) in enumerate(_SIZES):
            field = SizeField(f"Spar {number + 1}: {words.lower()}", tip, partial(give, number, key))
            field.setMinimumWidth(52)
            label = Label(words)
            label.setBuddy(field)
            self.fields[key], self._labels[key] = field, label
            grid.addWidget(label, 0, column)
            grid.addWidget(field, 1, column)
        self.wood = Choice(f"Spar {number + 1}: wood", "What it is cut from.",
                           lambda wood: give(number, "material", wood))
        self.remove = QPushButton("Remove")
        self.remove.setAccessibleName(f"Remove spar {number + 1}")
        self.remove.setAutoDefault(False)
        self.remove.clicked.connect(lambda _checked=False: remove(number))
        below = QHBoxLayout()
        below.setSpacing(6)
        below.addWidget(self.wood, 1)
        below.addWidget(self.remove)
        grid.addLayout(below, 2, 0, 1, len(_SIZES))

    def show_spar(self, spar: Spar, frame: bool, units: DisplayUnits, woods: list[tuple[str, str]]) -> None:
        """Show it as it is now."""
        for key, field in self.fields.items():
            for part in (field, self._labels[key]):
                part.setVisible(not (frame and key in _RIBBED_ONLY))
            field.show_text(_text(spar, key, units))
        self.wood.offer(woods, spar.material)


class SparRows(QWidget):
    """All spars of a build that has any use for them."""

    def __init__(
        self, set_fields: Callable[[str, dict[str, Any]], bool], say: Callable[[str], None],
        ask: Callable[[Callable[[Design, str], Design]], None],
    ) -> None:
        super().__init__()
        self._set, self._say, self._ask = set_fields, say, ask
        self._build: Build | None = None
        self._units: DisplayUnits = "mm"
        self._woods: list[tuple[str, str]] = []
        self.rows: list[SparRow] = []
        self.add_button = QPushButton("Add a spar")
        self.add_button.setAutoDefault(False)
        self.add_button.clicked.connect(lambda _checked=False: self._add())
        head = QHBoxLayout()
        head.addWidget(heading("Spars"), 1)
        head.addWidget(self.add_button)
        self._layout = QVBoxLayout(self)
        self._layout.setContentsMargins(0, 6, 0, 0)
        self._layout.setSpacing(4)
        self._layout.addLayout(head)

    def show_build(
        self, build: Build, units: DisplayUnits, woods: list[tuple[str, str]], anew: bool
    ) -> None:
        """Show its spars; ``anew``: it is another build than before."""
        self._build, self._units, self._woods = build, units, woods
        self.setVisible(build.way != "sheet")
        if anew or len(self.rows) != len(build.spars):
            for row in self.rows:
                self._layout.removeWidget(row)
                row.hide()
                # Its own button may have asked for this.
                row.deleteLater()
            self.rows = [SparRow(n, self._give, self._remove) for n in range(len(build.spars))]
            before: QWidget = self.add_button
            for row in self.rows:
                self._layout.addWidget(row)
                for part in (*row.fields.values(), row.wood, row.remove):
                    QWidget.setTabOrder(before, part)
                    before = part
        for row, spar in zip(self.rows, build.spars, strict=True):
            row.show_spar(spar, build.way == "frame", units, woods)

    def _put(self, words: str, spars: tuple[Spar, ...]) -> bool:
        return self._set(words, {"spars": spars})

    def _give(self, number: int, key: str, text: str) -> bool:
        build = self._build
        if build is None or number >= len(build.spars):
            return False
        spar, name = build.spars[number], f"spar {number + 1}"

        def with_spar(changed: Spar) -> tuple[Spar, ...]:
            return (*build.spars[:number], changed, *build.spars[number + 1:])

        if key == "material" and text == OWN:
            self.show_build(build, self._units, self._woods, False)
            self._ask(lambda design, wood: change_build(
                design, build.id, spars=with_spar(replace(spar, material=wood))
            ))
            return True
        if key == "material":
            return self._put(f"{name}, wood", with_spar(replace(spar, material=text)))
        try:
            changed = _changed(spar, key, text, self._units)
        except UnitError as error:
            self._say(f"{name.capitalize()}: {error}")
            return False
        return self._put(f"{name}, {key}", with_spar(changed))

    def _add(self) -> None:
        if self._build is not None:
            last = self._build.spars[-1] if self._build.spars else None
            # Behind the last, and of its sizes.
            new = replace(last, chord_fraction=min(0.9, last.chord_fraction + 0.2)) if last else _NEW
            if self._put("spars, one more", (*self._build.spars, new)) and self.rows:
                self.rows[-1].fields["at"].setFocus()

    def _remove(self, number: int) -> None:
        if self._build is not None:
            spars = self._build.spars
            self._put(f"spars, without spar {number + 1}", (*spars[:number], *spars[number + 1:]))
            self.add_button.setFocus()
