"""Tail parts, beside the window: how each surface is built, its parts in place, their list and weight."""

from __future__ import annotations

from functools import partial
from itertools import pairwise
from typing import NamedTuple

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QBoxLayout,
    QHBoxLayout,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.kit.long_column import LongColumn
from app.kit.overrides import errors_told
from app.kit.plain import Label
from app.kit.theme import Theme
from app.panels.stations import heading
from app.paper.parts_words import material_words
from app.side.beside import Beside
from app.side.part_view import PartView
from app.side.parts_drawing import AssemblyView
from app.side.parts_foot import PartsFoot
from app.side.parts_form import WAY_WORDS, PartsForm, WayButtons
from app.side.parts_list import PartsList
from app.side.parts_materials import OwnMaterial, Use
from app.side.parts_words import CAUTIONS, before_words, part_words, total_words
from app.side.side_window import SideWindow
from app.work.document import Change, Edit
from core.design import Design
from core.design_build import Build, BuildWay
from core.parts.built import built
from core.parts.materials import materials
from core.parts.part import Built
from core.redesign.build_cost import build_cost
from core.redesign.build_edits import buildable, delete_build, name_of, new_build
from core.redesign.outline_edits import EditError
from core.stability.readings import NO_SCALE, scale_known

ORIGIN = "parts"
_NOTHING = (
    "No surface to make parts for yet: trace the fin or the rudder, or enter the tailplane, "
    "and it stands here."
)
_UNMADE = "No parts yet. Choose at the left how it is to be made: sheet, frame or ribbed."
_LEFT = 300
_LETTERS, _MOST_PX = 132, 940
"""Across, at least: the list of the parts beside the form, on any screen."""


class _Offered(NamedTuple):
    """A row of the surfaces: what it is of, its words, and the id of its build where it has one."""

    of: tuple[str, ...]
    words: str
    build: str = ""


@errors_told
class _Drawings(QWidget):
    """The surface, and the chosen part below it; beside it where the room is low and wide."""

    def __init__(self, assembly: AssemblyView, part: PartView) -> None:
        super().__init__()
        self._row = QBoxLayout(QBoxLayout.Direction.TopToBottom, self)
        self._row.setContentsMargins(0, 0, 0, 0)
        self._row.setSpacing(6)
        self._row.addWidget(assembly, 3)
        self._row.addWidget(part, 2)
        # So low they stand side by side.
        self.setMinimumHeight(max(assembly.minimumHeight(), part.minimumHeight()))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        low = self.width() > 2.1 * self.height()
        side = QBoxLayout.Direction
        self._row.setDirection(side.LeftToRight if low else side.TopToBottom)


class PartsWindow(SideWindow):
    """Surfaces and sizes at the left; drawing and list at the right follow every change of the design."""

    shows_on_canvas = True

    def __init__(self, beside: Beside) -> None:
        super().__init__(beside, "Tail parts")
        self.built: Built | None = None
        self._filling = False
        self._offered: list[_Offered] = []
        self.surfaces = QListWidget()
        self.surfaces.setAccessibleName("Surfaces")
        self.way_head = heading("Way")
        self.ways = WayButtons(self._way_chosen)
        self.remove_button = QPushButton("Remo&ve its parts")
        self.remove_button.setAutoDefault(False)
        self.remove_button.clicked.connect(lambda _checked=False: self.remove())
        self.form = PartsForm(self._apply, self._trouble, self._ask_material)
        self.assembly, self.part_view = AssemblyView(beside.theme), PartView(beside.theme)
        self.list = PartsList(beside.theme)
        self.foot = PartsFoot(self, beside, lambda: self.build)
        self.cautions = Label(" ".join(CAUTIONS))
        self.cautions.setWordWrap(True)
        self.cautions.setAccessibleName("Cautions")
        self._lay_out()
        self.surfaces.currentRowChanged.connect(lambda _: self._surface_chosen())
        self.assembly.clicked.connect(self.list.choose)
        self.list.chosen.connect(self._part_chosen)
        self._listen(self._document, self._heard)
        self.set_theme(beside.theme)
        self._offer(picked=self._desk.picked.now.outlines)
        self.refresh()
        self.surfaces.setFocus()

    def _lay_out(self) -> None:
        scroll = self.form_room = LongColumn(self.form)
        scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        left = QVBoxLayout()
        left.setSpacing(6)
        label = Label("&Surfaces")
        label.setFont(self.way_head.font())
        label.setBuddy(self.surfaces)
        left.addWidget(label)
        left.addWidget(self.surfaces)
        left.addWidget(self.way_head)
        left.addWidget(self.ways)
        left.addWidget(scroll, 1)
        left.addWidget(self.remove_button, 0, Qt.AlignmentFlag.AlignLeft)
        left.addStretch(0)
        leftmost = QWidget()
        leftmost.setMinimumWidth(_LEFT)
        left.setContentsMargins(0, 0, 0, 0)
        leftmost.setLayout(left)
        right = QVBoxLayout()
        right.setSpacing(6)
        right.addWidget(_Drawings(self.assembly, self.part_view), 3)
        self.list.lay_out(right, 2)
        above = QHBoxLayout()
        above.setSpacing(14)
        above.addWidget(leftmost)
        above.addLayout(right, 1)
        layout = QVBoxLayout(self)
        layout.addStrut(min(_MOST_PX, self._across(_LETTERS)))
        layout.setContentsMargins(16, 10, 16, 12)
        layout.setSpacing(8)
        layout.addLayout(above, 1)
        layout.addWidget(self.cautions)
        layout.addWidget(self.foot)
        stops = (self.surfaces, *self.ways.buttons.values(), self.form.fields["thickness"])
        for one, other in pairwise(stops):
            QWidget.setTabOrder(one, other)
        self.resize(1120, 760)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        super().set_theme(theme)
        for part in (self.ways, self.assembly, self.part_view, self.list, self.foot):
            part.set_theme(theme)
        self.cautions.setStyleSheet(f"color: {theme.ink_soft};")
        self.setStyleSheet(
            f"QListView {{ border: 1px solid {theme.line}; border-radius: 3px; background: {theme.paper}; }}"
            f"QListView:focus {{ border-color: {theme.pick}; }}"
            f"QListView::item {{ padding: 3px 4px; color: {theme.ink}; }}"
            f"QListView::item:selected {{ background: {theme.desk}; color: {theme.ink}; }}"
        )

    # What is shown

    @property
    def design(self) -> Design:
        """What is worked on: with the gesture under way."""
        return self._document.edited

    @property
    def build(self) -> Build | None:
        """The build that is shown; None where the surface has none."""
        found = self._chosen()
        return next((b for b in self.design.builds if found and b.id == found.build), None)

    def _chosen(self) -> _Offered | None:
        """What the current row is of."""
        row = self.surfaces.currentRow()
        return self._offered[row] if 0 <= row < len(self._offered) else None

    def _offer(self, picked: tuple[str, ...] = ()) -> None:
        """The surfaces that have parts, and those that could; what was current stays so."""
        design = self.design
        offered = [
            _Offered(b.of, f"{name_of(design, b)}: {WAY_WORDS[b.way][0].lower()}", b.id)
            for b in design.builds
        ]
        offered += [_Offered(one.ids, f"{one.name}: no parts yet") for one in buildable(design)]
        kept, self._filling = self._chosen(), True
        self._offered = offered
        while self.surfaces.count() > len(offered):
            self.surfaces.takeItem(self.surfaces.count() - 1)
        for row, one in enumerate(offered):
            if row == self.surfaces.count():
                self.surfaces.addItem(QListWidgetItem())
            item = self.surfaces.item(row)
            if item.text() != one.words:
                item.setText(one.words)
        if offered:
            self.surfaces.setCurrentRow(_row_of(offered, kept, picked))
        rows = min(max(len(offered), 2), 4)
        self.surfaces.setFixedHeight(rows * (self.fontMetrics().height() + 8) + 6)
        self._filling = False

    def refresh(self, *, still: bool = False) -> None:
        """Show the current surface as the design has it now; ``still``: while a hand drags."""
        design, build = self.design, self.build
        units, woods = design.display_units, materials(design)
        there = self._chosen() is not None
        self.way_head.setText("Made as" if build else "Make parts for it as")
        self.way_head.setVisible(there)
        self.ways.setVisible(there)
        self.ways.show_way(build.way if build else None)
        self.form.show_build(build, units, woods)
        self.form_room.setVisible(build is not None)
        self.remove_button.setVisible(build is not None)
        self.built = built(design, build) if build else None
        total = before = ""
        if build is not None and self.built is not None:
            if self.built.parts:
                total = total_words(self.built, units)
            before = before_words(design, build, self.built, build_cost(design, build.id))
        first = "" if build is None or scale_known(design) else NO_SCALE
        self.list.show_built(self.built, units, partial(material_words, design), total, before, first)
        self.foot.allow(bool(design.builds), there)
        if self.built is None:
            self.assembly.show_words(_UNMADE if there else _NOTHING)
        self._show_drawings(still=still)

    def _show_drawings(self, *, still: bool = False) -> None:
        part = self.list.part
        if self.built is not None and self.built.plan is None and not self.built.parts:
            self.assembly.show_words("Nothing can be drawn: what is missing stands over the list.")
        elif self.built is not None:
            self.assembly.show_built(self.built, self.list.part_id, still=still)
        self.part_view.setVisible(self.built is not None and bool(self.built.parts))
        shown = part if self.built is not None else None
        words = "" if shown is None else part_words(self.design, shown)
        self.part_view.show_part(shown, words, self.design.display_units)

    def _surface_chosen(self) -> None:
        if not self._filling:
            self.foot.say("")
            self.refresh()

    def _part_chosen(self, _part_id: str) -> None:
        self._show_drawings(still=True)

    def _heard(self, change: Change) -> None:
        if change.what == "proposal":
            return
        if change.what != "preview" and not (change.what == "file" and change.name == "saved"):
            self.foot.say("")
        self._offer()
        self.refresh(still=change.what == "preview")

    # What is done

    def _trouble(self, words: str) -> None:
        self.foot.say(words, at_fault=True)

    def _apply(self, name: str, edit: Edit) -> bool:
        """One edit of the design; why it cannot be done is said below."""
        try:
            self._document.apply(name, edit, ORIGIN)
        except EditError as error:
            self._trouble(str(error))
            return False
        return True

    def _way_chosen(self, way: BuildWay) -> None:
        """Parts begun that way, or what is there made that way."""
        if self.build is not None:
            self.form.take_way(way)
        elif chosen := self._chosen():
            self._apply("make parts", lambda design: new_build(design, chosen.of, way)[0])
        self.ways.show_way(self.build.way if self.build else None)

    def remove(self) -> None:
        """The surface goes back to being without parts."""
        build = self.build
        if build is not None:
            self._apply("remove parts", lambda design: delete_build(design, build.id))

    def _ask_material(self, use: Use) -> None:
        dialog = OwnMaterial(self, self._document, self._theme, use)
        dialog.finished.connect(lambda _: self.refresh())
        dialog.open()


def _row_of(offered: list[_Offered], kept: _Offered | None, picked: tuple[str, ...]) -> int:
    """The row that stays current: of the same build, else of the same surface, else of what is picked."""
    for same in (
        lambda one: kept is not None and one.build == kept.build != "",
        lambda one: kept is not None and one.of == kept.of,
        lambda one: bool(set(picked or (kept.of if kept else ())) & set(one.of)),
    ):
        for row, one in enumerate(offered):
            if same(one):
                return row
    return 0
