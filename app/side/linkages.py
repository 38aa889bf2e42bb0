"""Linkages: servo, bell crank and horn in a table, what they throw beside it, the horn for a wanted throw."""

from __future__ import annotations

import math
import re
from collections.abc import Callable

from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QLineEdit, QPushButton, QVBoxLayout, QWidget

from app.kit.plain import Label
from app.kit.sentences import as_sentence
from app.kit.theme import Theme
from app.paper.linkage_rows import (
    linkage_minds,
    linkage_notes,
    linkage_words,
    slack_row,
    throw_rows,
    wanted_deg,
)
from app.paper.setting_up_row import fine_length
from app.side.bench_page import BenchPage, Parts
from app.side.bench_table import Column
from app.work.document import Document, Edit
from core.bench.linkage import horn_for, pull_pull_of, slack_words, throw_of
from core.bench.throws import EdgeThrow, rudder_throws
from core.design import Design, DisplayUnits
from core.design_bench import MOVES, Linkage
from core.redesign.bench_edits import (
    NEW_LINKAGE,
    add_linkage,
    change_linkage,
    delete_linkage,
    duplicate_linkage,
)
from core.redesign.outline_edits import EditError
from core.units import MISSING, UnitError, format_angle, format_fine, parse_angle, parse_length

ROD, WIRES = "rod", "pull-pull"
FIRST_WANTED_DEG = 20.0
_DISTANCE = re.compile(r'(m|in|ins|inch|inches|"|″|millimetres?|millimeters?)\s*$', re.IGNORECASE)


def _length(key: str, head: str, words: str, tip: str, *, optional: bool = False) -> Column:
    def show(linkage: Linkage, design: Design) -> str:
        value = getattr(linkage, key)
        return MISSING if value is None else format_fine(value, design.display_units, with_unit=False)

    def edit(linkage: Linkage, text: str, units: DisplayUnits) -> Edit:
        empty = optional and text.strip() in ("", MISSING, "-")
        value = None if empty else parse_length(text, units)
        return lambda design: change_linkage(design, linkage.id, **{key: value})

    return Column(key, head, words, tip, show, edit)


def _label_edit(linkage: Linkage, text: str, units: DisplayUnits) -> Edit:
    return lambda design: change_linkage(design, linkage.id, label=text.strip())


def _moves_edit(linkage: Linkage, text: str, units: DisplayUnits) -> Edit:
    if text not in MOVES:
        raise EditError(f"a linkage moves one of {', '.join(MOVES)}; choose one")
    return lambda design: change_linkage(design, linkage.id, moves=text)


def _travel_edit(linkage: Linkage, text: str, units: DisplayUnits) -> Edit:
    value = parse_angle(text)
    return lambda design: change_linkage(design, linkage.id, servo_travel_deg=value)


def _by_edit(linkage: Linkage, text: str, units: DisplayUnits) -> Edit:
    return lambda design: change_linkage(design, linkage.id, pull_pull=text == WIRES)


def _throw_shown(linkage: Linkage, design: Design) -> str:
    found = throw_of(linkage)
    if isinstance(found, str):
        return MISSING
    edge = format_fine(found.at_edge(found.least), design.display_units)
    return f"{edge}, {format_angle(found.least)}"


def _check_shown(linkage: Linkage, design: Design) -> str:
    found = throw_of(linkage)
    if isinstance(found, str):
        return "does not work" if min(linkage.servo_arm, linkage.horn) > 0.0 else "not yet"
    wires = pull_pull_of(linkage) if linkage.pull_pull else ""
    if not isinstance(wires, str) and slack_words(wires) != "true":
        what = "slack" if wires.worst > 0.0 else "short"
        return f"{fine_length(abs(wires.worst), design.display_units)} {what}"
    return "near dead centre" if found.near_dead else "good"


def wanted_throw(text: str, linkage: Linkage, units: DisplayUnits) -> float:
    """Degrees from "25°", or from a distance at the trailing edge ("30 mm"); UnitError, EditError else."""
    if not _DISTANCE.search(text):
        return parse_angle(text)
    distance = parse_length(text, units)
    if not 0.0 < distance < linkage.surface_chord:
        raise EditError("the trailing edge moves less than the chord of the surface: type a smaller throw")
    return math.degrees(math.asin(distance / linkage.surface_chord))


COLUMNS = (
    Column("label", "Linkage", "label", "What it is.", lambda part, _: part.name, _label_edit, left=True),
    Column("moves", "Moves", "surface", "What it moves.", lambda part, _: part.moves, _moves_edit, MOVES,
           left=True),
    Column("pull_pull", "By", "rod or wires", "A rod, or a pair of pull-pull wires on double arms.",
           lambda part, _: WIRES if part.pull_pull else ROD, _by_edit, (ROD, WIRES), True),
    _length("servo_arm", "Arm", "servo arm", "Servo arm, from the servo's axis to the hole in use."),
    Column(
        "servo_travel_deg", "Travel °", "servo travel", "How far the servo turns to each side.",
        lambda part, _: format_angle(part.servo_travel_deg, with_unit=False), _travel_edit,
    ),
    _length("crank_in", "Crank in", "bell crank, servo side",
            "Arm of the bell crank that the servo pulls; empty where there is no bell crank.", optional=True),
    _length("crank_out", "Crank out", "bell crank, horn side",
            "Arm of the bell crank that pulls the horn; empty where there is no bell crank.", optional=True),
    _length("horn", "Horn", "horn", "Horn, from the hinge line to the hole in use."),
    _length("horn_set_back", "Set back", "set-back of the horn",
            "How far the horn's holes lie aft of the hinge line; ahead of it with a minus."),
    _length("surface_chord", "Chord", "chord of the surface",
            "From the hinge line to the trailing edge, where the throw is measured."),
    Column("throw", "Throw", "throw", "The smaller of both ways, at the trailing edge and as an angle.",
           _throw_shown),
    Column("check", "Check", "check", "Whether wires hang slack or bind, or an arm comes near dead centre.",
           _check_shown),
)


def _first(design: Design) -> Linkage:
    """A linkage to begin with: for the rudder, its chord taken from its outline where there is one."""
    rudder = next((one for one in rudder_throws(design) if isinstance(one, EdgeThrow)), None)
    chord = round(rudder.chord, 1) if rudder is not None else NEW_LINKAGE.surface_chord
    return replace(NEW_LINKAGE, label="Linkage", surface_chord=chord)


LINKAGES = Parts(
    "linkage", "Linkages", COLUMNS, lambda design: design.bench.linkages,
    lambda design: add_linkage(design, _first(design)), duplicate_linkage, delete_linkage,
    "No linkage yet. Add one: servo arm, horn and the servo's travel give the throw at the trailing "
    "edge; a pull-pull pair is checked for slack.",
)


class LinkagesPanel(BenchPage):
    """The table with its buttons, and what is to be said of the current linkage."""

    def __init__(self, document: Document, theme: Theme, say: Callable[[str], None]) -> None:
        super().__init__(document, say, LINKAGES)
        self._theme = theme
        self.lines, self.minds, self.horn_words = Label(), Label(), Label()
        for label in (self.lines, self.minds, self.horn_words):
            label.setWordWrap(True)
            label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.wanted = QLineEdit()
        self.wanted.setAccessibleName("Wanted throw")
        self.wanted.setAlignment(Qt.AlignmentFlag.AlignRight)
        self.wanted.setFixedWidth(72)
        self.wanted.setToolTip(
            "The throw to each side: an angle, or with its unit a distance at the trailing edge. The horn "
            "that gives it stands beside it."
        )
        self.wanted.editingFinished.connect(self._wanted_typed)
        self.use_horn = QPushButton("Use this &horn")
        self.use_horn.setAutoDefault(False)
        self.use_horn.clicked.connect(lambda _: self.take_horn())
        self._wanted_deg: dict[str, float] = {}
        self._horn: float | None = None
        self._told: tuple[object, ...] = ()
        self._lay_out()
        self.set_theme(theme)

    def _lay_out(self) -> None:
        self._box = QWidget()
        grid = QGridLayout(self._box)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(10)
        grid.setVerticalSpacing(6)
        grid.addWidget(self.lines, 0, 0, 1, 4)
        grid.addWidget(self.minds, 1, 0, 1, 4)
        words = Label("&Wanted throw")
        words.setBuddy(self.wanted)
        for at, part in enumerate((words, self.wanted, self.horn_words, self.use_horn)):
            grid.addWidget(part, 2, at)
        grid.setColumnStretch(2, 1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 10, 0, 0)
        layout.setSpacing(8)
        layout.addLayout(self._buttons())
        layout.addWidget(self.empty)
        layout.addWidget(self.table, 1)
        layout.addWidget(self._box)

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        self._theme = theme
        self.table.set_theme(theme)
        self.minds.setStyleSheet(f"color: {theme.fault}; font-weight: bold;")
        self._told = ()
        self.refresh()

    def refresh(self) -> None:
        """Show the design as it is now; costs nothing while an outline is dragged."""
        design = self._document.edited
        told = (design.bench.linkages, design.display_units, design.flight)
        if self._told and all(now is then for now, then in zip(told, self._told, strict=True)):
            return
        self._told = told
        self._show_rows(self._box)

    def _tell(self) -> None:
        """What is to be said of the current linkage."""
        linkage, design = self.table.current(), self._document.edited
        if linkage is None:
            return
        units, found = design.display_units, throw_of(linkage)
        what = as_sentence(f"{linkage.name}: {linkage_words(linkage, units)}")
        if isinstance(found, str):
            self.lines.setText(what)
            self.minds.setText(as_sentence(found))
        else:
            told = [f"{row.what}: {row.reads}." for row in throw_rows(linkage, found, units)]
            wires = pull_pull_of(linkage) if linkage.pull_pull else ""
            if not isinstance(wires, str):
                row = slack_row(wires, units)
                told.append(f"{row.what}: {row.reads} ({row.how}).")
            told += linkage_notes(linkage, units)
            self.lines.setText("\n".join((what, " ".join(told))))
            self.minds.setText(" ".join(linkage_minds(linkage, units)))
        self.minds.setVisible(bool(self.minds.text()))
        wanted = self._wanted_of(linkage)
        if not (self.wanted.hasFocus() and self.wanted.isModified()):
            self.wanted.setText(format_angle(wanted))
        horn = horn_for(linkage, wanted)
        self._horn = None if isinstance(horn, str) else horn
        self.use_horn.setEnabled(self._horn is not None)
        self.horn_words.setText(
            as_sentence(horn) if isinstance(horn, str)
            else f"each way at least: a horn of {format_fine(horn, units)}"
        )

    def _wanted_of(self, linkage: Linkage) -> float:
        given = wanted_deg(self._document.edited, linkage)
        return self._wanted_deg.get(linkage.id, given or FIRST_WANTED_DEG)

    def _wanted_typed(self) -> None:
        linkage = self.table.current()
        if not self.wanted.isModified() or linkage is None:
            return
        self.wanted.setModified(False)
        try:
            self._wanted_deg[linkage.id] = wanted_throw(self.wanted.text(), linkage, self._units)
        except (UnitError, EditError) as error:
            self._say(str(error))
        self._tell()

    @property
    def _units(self) -> DisplayUnits:
        return self._document.edited.display_units

    def take_horn(self) -> None:
        """The horn that gives the wanted throw, put into the linkage."""
        linkage, horn = self.table.current(), self._horn
        if linkage is not None and horn is not None:
            self._apply("set horn", lambda design: change_linkage(design, linkage.id, horn=horn))
