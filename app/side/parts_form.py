"""The form of one build: the way, and the sizes that it uses; every field is one edit."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Any

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import (
    QButtonGroup,
    QCheckBox,
    QGridLayout,
    QHBoxLayout,
    QLineEdit,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.kit.plain import Label, plain
from app.kit.theme import Theme, icon
from app.panels.stations import heading
from app.side.parts_fields import OWN, Choice, SizeField, material_choices
from app.side.parts_rows import GROUPS, Fields, Group, Row, read, shown_text
from app.side.parts_spars import SparRows
from core.design import Design, DisplayUnits
from core.design_build import BUILD_WAYS, Build, BuildWay
from core.materials import Wood
from core.redesign.build_edits import change_build, set_way, starting_build
from core.units import UnitError

WAY_WORDS: dict[BuildWay, tuple[str, str]] = {
    "sheet": ("Sheet", "Cut from solid sheet"),
    "frame": ("Frame", "Sticks lying flat: edges, ribs and diagonals of one depth"),
    "ribbed": ("Ribbed", "Ribs to a section, spars, skin or covering"),
}
Apply = Callable[[str, Callable[[Design], Design]], bool]
"""(name for undo, edit) → whether it could be done; why not is said elsewhere."""
Ask = Callable[[Callable[[Design, str], Design]], None]
"""Asks for a material of the builder's own, which the edit then puts where it was asked for."""


class WayButtons(QWidget):
    """Sheet, frame, ribbed, with a small drawing each."""

    def __init__(self, chosen: Callable[[BuildWay], object]) -> None:
        super().__init__()
        self.buttons: dict[BuildWay, QToolButton] = {}
        self._group = QButtonGroup(self)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        for way in BUILD_WAYS:
            words, tip = WAY_WORDS[way]
            button = QToolButton()
            button.setText(words)
            button.setToolTip(plain(tip))
            button.setAccessibleName(f"{words}: {tip[:1].lower()}{tip[1:]}")
            button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextUnderIcon)
            button.setIconSize(QSize(34, 34))
            button.setMinimumWidth(74)
            button.setCheckable(True)
            button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            button.clicked.connect(lambda _checked=False, one=way: chosen(one))
            self._group.addButton(button)
            self.buttons[way] = button
            row.addWidget(button)
        row.addStretch(1)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        for way, button in self.buttons.items():
            button.setIcon(icon(f"way-{way}", theme.ink))

    def show_way(self, way: BuildWay | None) -> None:
        """Mark the way in force, or none."""
        self._group.setExclusive(way is not None)
        for one, button in self.buttons.items():
            button.setChecked(one == way)


class PartsForm(QWidget):
    """Follows one build; a field in use is not overwritten by what happens elsewhere."""

    def __init__(self, apply: Apply, say: Callable[[str], None], ask: Ask) -> None:
        super().__init__()
        self._apply_edit, self._say, self._ask = apply, say, ask
        self._build: Build | None = None
        self._units: DisplayUnits = "mm"
        self._woods: list[tuple[str, str]] = []
        self.fields: dict[str, SizeField | QCheckBox | Choice] = {}
        self.ticks: dict[str, QCheckBox] = {}
        """By the field of the build that they put in or take out."""
        self._labels: dict[str, Label] = {}
        self._heads: list[tuple[Group, QWidget]] = []
        self.spars = SparRows(self._set, say, ask)
        grid = QGridLayout()
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(4)
        grid.setColumnStretch(1, 1)
        at = 0
        for group in GROUPS:
            at = self._lay_group(grid, at, group)
            if group.part == "trailing_edge":
                grid.addWidget(self.spars, at, 0, 1, 2)
                at += 1
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 8, 8)
        layout.addLayout(grid)
        layout.addStretch(1)
        self._order_tabs()

    def _order_tabs(self) -> None:
        """Tab goes down the form."""
        stops: list[QWidget] = []
        for group in GROUPS:
            stops += [self.ticks[group.part]] if group.part else []
            stops += [self.fields[row.key] for row in group.rows]
            stops += [self.spars.add_button] if group.part == "trailing_edge" else []
        for one, other in pairwise(stops):
            QWidget.setTabOrder(one, other)

    def _lay_group(self, grid: QGridLayout, at: int, group: Group) -> int:
        head: QWidget
        if group.part:
            tick = QCheckBox(group.title)
            tick.setStyleSheet("font-weight: bold;")
            tick.clicked.connect(lambda on: self._put_in(group, on))
            self.ticks[group.part] = head = tick
        else:
            head = heading(group.title)
        head.setFixedHeight(self.fontMetrics().height() + 14)
        self._heads.append((group, head))
        grid.addWidget(head, at, 0, 1, 2)
        for at, row in enumerate(group.rows, start=at + 1):  # noqa: B020
            field = self._field(group, row)
            self.fields[row.key] = field
            if isinstance(field, QCheckBox):
                grid.addWidget(field, at, 0, 1, 2)
                continue
            name = Label(row.words)
            name.setToolTip(plain(row.tip))
            name.setBuddy(field)
            self._labels[row.key] = name
            grid.addWidget(name, at, 0)
            grid.addWidget(field, at, 1)
        return at + 1

    def _field(self, group: Group, row: Row) -> SizeField | QCheckBox | Choice:
        spoken = f"{group.title}: {row.words[:1].lower()}{row.words[1:]}"
        if row.kind == "tick":
            tick = QCheckBox(row.words)
            tick.setToolTip(plain(row.tip))
            tick.setAccessibleName(spoken)
            tick.clicked.connect(lambda on: self._give(row, spoken, on))
            return tick
        if row.kind in ("choice", "material"):
            return Choice(spoken, row.tip, lambda key: self._chosen(row, spoken, key))
        return SizeField(spoken, row.tip, lambda text: self._typed(row, spoken, text))

    # What is shown

    def show_build(self, build: Build | None, units: DisplayUnits, woods: Sequence[Wood]) -> None:
        """Show the sizes that the build's way uses; nothing where there is none."""
        anew = (build and build.id) != (self._build and self._build.id)
        self._build, self._units, self._woods = build, units, material_choices(woods)
        self.setVisible(build is not None)
        if build is None:
            return
        for group, head in self._heads:
            used = build.way in group.ways
            head.setVisible(used)
            there = used and (not group.part or getattr(build, group.part) is not None)
            if group.part:
                self.ticks[group.part].setChecked(there)
            for row in group.rows:
                self._show_row(row, build, there and build.way in row.ways, anew)
        self.spars.show_build(build, units, self._woods, anew)

    def _show_row(self, row: Row, build: Build, used: bool, anew: bool) -> None:
        field = self.fields[row.key]
        field.setVisible(used)
        if row.key in self._labels:
            self._labels[row.key].setVisible(used)
        if not used:
            return
        if isinstance(field, SizeField):
            if anew:
                field.forget()
            field.show_text(shown_text(row, build, self._units))
        elif isinstance(field, QCheckBox):
            field.setChecked(row.of(build))
        else:
            field.offer(self._woods if row.kind == "material" else row.choices, row.of(build))

    def first_field(self) -> QLineEdit | None:
        """The first that is typed into and seen."""
        seen = (f for f in self.fields.values() if isinstance(f, SizeField) and not f.isHidden())
        return next(seen, None)

    # What is typed

    def _set(self, what: str, fields: Fields) -> bool:
        """One edit of the build shown."""
        build = self._build
        if build is None:
            return False
        return self._apply_edit(f"set {what}", lambda design: change_build(design, build.id, **fields))

    def _give(self, row: Row, spoken: str, value: Any) -> bool:
        assert self._build is not None
        name = spoken.lower().replace(":", ",")
        return self._set(name, row.put(self._build, value))

    def _typed(self, row: Row, spoken: str, text: str) -> bool:
        try:
            value = read(row, text, self._units)
        except UnitError as error:
            self._say(f"{spoken}: {error}")
            return False
        return self._give(row, spoken, value)

    def _chosen(self, row: Row, spoken: str, key: str) -> None:
        build = self._build
        if build is None:
            return
        if key == OWN:
            self._show_row(row, build, True, False)
            self._ask(lambda design, wood: change_build(design, build.id, **row.put(build, wood)))
        else:
            self._give(row, spoken, key)

    def _put_in(self, group: Group, on: bool) -> None:
        build = self._build
        if build is None:
            return
        words = f"{'add' if on else 'remove'} {group.title.lower()}"

        def edit(design: Design) -> Design:
            start = starting_build(design, build.of, build.way) if on else None
            part = getattr(start, group.part) if start else None
            if on and part is None:
                part = getattr(starting_build(design, build.of, "ribbed"), group.part)
            return change_build(design, build.id, **{group.part: part})

        self._apply_edit(words, edit)

    def take_way(self, way: BuildWay) -> None:
        """The build made another way."""
        build = self._build
        if build is not None:
            self._apply_edit(f"make it {way}", lambda design: set_way(design, build.id, way))
