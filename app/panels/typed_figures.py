"""Figures that can be typed: each field is one edit, and a field in use is not overwritten."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtGui import QFont
from PySide6.QtWidgets import QGridLayout, QLineEdit, QWidget

from app.kit.help_places import FIELDS, set_help
from app.kit.plain import Label, plain
from app.work.document import Document, Edit
from app.work.readout import Readout
from core.design import Aim, Design, Flight, Mark, Sure, range_of
from core.redesign.completing import leave_out, set_flight
from core.redesign.design_edits import set_aim, set_cg
from core.redesign.outline_edits import EditError
from core.redesign.propeller_edits import set_propeller_diameter, set_propeller_station
from core.stability.guesses import PROPELLER_STATION, is_guessed
from core.stability.readings import Readings
from core.stability.wording import figure, round_length
from core.units import (
    UnitError,
    format_angle,
    format_fraction,
    format_length,
    format_number,
    format_speed,
    format_typed,
    parse_angle,
    parse_fraction,
    parse_length,
    parse_number,
    parse_speed,
    read_as_inches,
)

NO_PROPELLER = ("none", "no", "0", "–", "-")
_LENGTHS = ("cg_x", "cg_z", "cg_mm", "tracing_mm", "width", "propeller", "disc")
_LEAST_BARE = 30.0
"""mm: a bare number below it was surely meant in inches, in which propellers are sold."""


@dataclass(frozen=True)
class Field:
    """One figure: how it reads in a design, and the edit that a typed text means (UnitError, EditError)."""

    key: str
    words: str
    tip: str
    undo_name: str
    show: Callable[[Design, Readings], str]
    edit: Callable[[str, Design], Edit]
    typed_by_hand: Callable[[Design], bool] = lambda design: True
    hint: Callable[[Design], str] = lambda design: ""
    """What stands there in grey while nothing does."""
    per_cent: bool = False
    """True if a number without a sign is told how it was read."""

    @property
    def is_length(self) -> bool:
        """True if lengths are typed there."""
        return self.key in _LENGTHS


class TypedFigures(QWidget):
    """A heading and a column of fields."""

    def __init__(
        self, title: str, fields: tuple[Field, ...], document: Document, readout: Readout,
        say: Callable[[str], None],
    ) -> None:
        super().__init__()
        self._document, self._readout, self._say = document, readout, say
        self._fields = {field.key: field for field in fields}
        self.inputs: dict[str, QLineEdit] = {}
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(4)
        heading = Label(title)
        font = QFont(heading.font())
        font.setBold(True)
        heading.setFont(font)
        grid.addWidget(heading, 0, 0, 1, 2)
        for at, field in enumerate(fields, start=1):
            name, line = Label(field.words), QLineEdit()
            line.setAlignment(Qt.AlignmentFlag.AlignRight)
            line.setAccessibleName(field.words)
            line.setToolTip(plain(field.tip))
            name.setToolTip(plain(field.tip))
            name.setBuddy(line)
            for widget in (name, line):
                set_help(widget, FIELDS[field.key])
            line.editingFinished.connect(lambda k=field.key: self._typed(k))
            self.inputs[field.key] = line
            grid.addWidget(name, at, 0)
            grid.addWidget(line, at, 1)
        grid.setColumnStretch(1, 1)

    def fill(self, design: Design, readings: Readings) -> None:
        """Show the figures as they are now."""
        for key, field in self._fields.items():
            line = self.inputs[key]
            line.setReadOnly(not field.typed_by_hand(design))
            line.setPlaceholderText(field.hint(design))
            if line.hasFocus() and line.isModified():
                continue
            text = field.show(design, readings)
            if line.text() != text:
                line.setText(text)

    def _typed(self, key: str) -> None:
        line, field = self.inputs[key], self._fields[key]
        if not line.isModified():
            return
        line.setModified(False)
        text, units = line.text(), self._document.edited.display_units
        try:
            edit = field.edit(text, self._document.edited)
            self._document.apply(field.undo_name, edit, "readings")
            if field.per_cent and "%" not in text and "cent" not in text.lower():
                self._say(f"“{text.strip()}” was read as {format_fraction(parse_fraction(text))}")
            if inches := field.is_length and read_as_inches(text, units):
                self._say(f"{field.words}: read as {inches}")
        except (UnitError, EditError) as error:
            self._say(str(error))
        line.setText(field.show(self._document.edited, self._readout.edited_readings))


def _cg(key: str) -> Callable[[str, Design], Edit]:
    def edit(text: str, design: Design) -> Edit:
        value = parse_length(text, design.display_units)

        def put(d: Design) -> Design:
            mark = d.cg_mark or Mark(x=0.0, z=0.0)
            return set_cg(d, value, mark.z) if key == "cg_x" else set_cg(d, mark.x, value)

        return put

    return edit


def _aim(key: str) -> Callable[[str, Design], Edit]:
    def edit(text: str, design: Design) -> Edit:
        fraction, allowed = parse_fraction(text), range_of(Aim, "cla_fraction")
        if not allowed.low <= fraction <= allowed.high:
            raise UnitError(
                f"{format_fraction(fraction)} lies outside; give from {format_fraction(allowed.low)} "
                f"to {format_fraction(allowed.high)}"
            )

        def put(d: Design) -> Design:
            low, middle, high = d.aim.low, d.aim.cla_fraction, d.aim.high
            if key == "low":
                # A limit typed past the others takes them along, so that what was typed stands.
                return set_aim(d, fraction, max(middle, fraction), max(high, fraction))
            if key == "high":
                return set_aim(d, min(low, fraction), min(middle, fraction), fraction)
            return set_aim(d, min(low, fraction), fraction, max(high, fraction))

        return put

    return edit


def _shown_cg(key: str, design: Design, readings: Readings) -> str:
    """A mark as fine as it was typed; what the weights give as a rule measures it."""
    value = readings.value(key)
    if value is None or not _marked(design):
        return figure(key, readings, design.display_units)
    return format_typed(value, design.display_units)


def _flight(name: str, parse: Callable[[str], float]) -> Callable[[str, Design], Edit]:
    def edit(text: str, design: Design) -> Edit:
        value = parse(text)
        return lambda d: set_flight(d, name, value)

    return edit


def _density(text: str) -> float:
    allowed = range_of(Flight, "air_density_kg_m3")
    bare = text.lower().replace("kg/m³", "").replace("kg/m3", "")
    return parse_number(bare, low=allowed.low, high=allowed.high, what="air density")


def _sure(name: str) -> Callable[[str, Design], Edit]:
    def edit(text: str, design: Design) -> Edit:
        value = parse_length(text, design.display_units)
        allowed = range_of(Sure, name)
        if not allowed.low <= value <= allowed.high:
            raise EditError(f"how sure it is: keep between {allowed.low:g} and {allowed.high:g} mm")
        return lambda d: replace(d, sure=replace(d.sure, **{name: value}))

    return edit


def _width(text: str, design: Design) -> Edit:
    value = parse_length(text, design.display_units) if text.strip() else None
    if value is not None and value < 0:
        raise EditError("a fuselage is not narrower than nothing: type its greatest width")
    return lambda d: replace(d, fuselage_width=value)


def _diameter(text: str, design: Design) -> Edit:
    words, units = text.strip().lower(), design.display_units
    if words in NO_PROPELLER:
        return lambda d: leave_out(d, "propeller")
    value = parse_length(text, units) if words else None
    bare = units == "mm" and not re.search(r"[^\d.,\s]", words)
    if value is not None and bare and 0.0 < value < _LEAST_BARE:
        raise EditError(f'a propeller {value:g} mm across? Type "{words} in", or "{words} mm" if it is')
    return lambda d: set_propeller_diameter(d, value)


def _disc(text: str, design: Design) -> Edit:
    value = parse_length(text, design.display_units) if text.strip() else None
    return lambda d: set_propeller_station(d, value)


def _shown_diameter(design: Design, readings: Readings) -> str:
    propeller = design.flight.propeller
    if propeller is not None:
        return round_length(propeller.diameter, design.display_units)
    return "none" if "propeller" in design.left_out else ""


def _shown_disc(design: Design, readings: Readings) -> str:
    propeller = design.flight.propeller
    if propeller is None or is_guessed(design, PROPELLER_STATION):
        return ""
    return format_typed(propeller.x, design.display_units)


def _disc_hint(design: Design) -> str:
    """Where the program put the disc; it is the builder's as soon as something is typed."""
    propeller = design.flight.propeller
    if propeller is None:
        return "–"
    return f"a guess: {format_length(propeller.x, design.display_units)}"


def _marked(design: Design) -> bool:
    return design.cg_from == "mark"


CG_AND_AIM: tuple[Field, ...] = (
    Field(
        "cg_x", "CG station",
        'How far aft of the datum it balances. Type it in any unit: "12 1/2 in", "318". The mark can be '
        "dragged too.",
        "move CG mark", lambda d, r: _shown_cg("cg_x", d, r), _cg("cg_x"), _marked,
    ),
    Field(
        "cg_z", "CG height", "How high above the datum the aeroplane balances.", "move CG mark",
        lambda d, r: _shown_cg("cg_z", d, r), _cg("cg_z"), _marked,
    ),
    Field(
        "low", "Aim from", "The least CLA fraction you want. It can be dragged on the arm rule too.",
        "set the aim", lambda d, r: format_fraction(d.aim.low), _aim("low"), per_cent=True,
    ),
    Field(
        "high", "Aim to", "The greatest CLA fraction you want.", "set the aim",
        lambda d, r: format_fraction(d.aim.high), _aim("high"), per_cent=True,
    ),
    Field(
        "cla_fraction", "Aim at",
        "The CLA fraction to design for; about 25 % is common practice, no source.", "set the aim",
        lambda d, r: format_fraction(d.aim.cla_fraction), _aim("cla_fraction"), per_cent=True,
    ),
    Field(
        "cg_mm", "CG known to ±",
        "How well you find or hold the CG: two times in three it lies within. 3 mm or 1/8 in is common "
        "practice, no source.",
        "set how sure the CG is", lambda d, r: format_typed(d.sure.cg_mm, d.display_units), _sure("cg_mm"),
    ),
    Field(
        "tracing_mm", "Traced to ±",
        "How far an outline as a whole may be drawn too far out or in. 0.5 mm is common practice, no source.",
        "set how sure tracing is", lambda d, r: format_typed(d.sure.tracing_mm, d.display_units),
        _sure("tracing_mm"),
    ),
)
FLIGHT: tuple[Field, ...] = (
    Field(
        "speed", "Flight speed",
        "How fast it flies level, for lift coefficient, spiral and trim: 12 m/s, 27 mph, 43 km/h.",
        "set flight speed", lambda d, r: format_speed(d.flight.speed_m_s, d.display_units),
        lambda text, d: _flight("speed_m_s", lambda t: parse_speed(t, d.display_units))(text, d),
    ),
    Field(
        "throw", "Rudder throw", "How far full rudder goes to one side, as an angle at the hinge.",
        "set rudder throw",
        lambda d, r: format_angle(d.flight.rudder_throw_deg, places=0),
        _flight("rudder_throw_deg", lambda t: _within("rudder_throw_deg", parse_angle(t), "rudder throw")),
    ),
    Field(
        "density", "Air density",
        "How dense the air is where you fly: 1.225 kg/m³ at sea level on a standard day.",
        "set air density",
        lambda d, r: format_number(d.flight.air_density_kg_m3, 3, unit="kg/m³"),
        _flight("air_density_kg_m3", _density),
    ),
    Field(
        "width", "Fuselage width", "Greatest width of the body, for its pull in pitch.", "set fuselage width",
        lambda d, r: "" if d.fuselage_width is None else format_typed(d.fuselage_width, d.display_units),
        _width,
    ),
    Field(
        "propeller", "Propeller",
        'Its diameter, "10 in" or "254 mm": ahead of the CG it takes firmness in yaw away. "none" where the '
        "aeroplane has none; empty where it is not known.",
        "set the propeller", _shown_diameter, _diameter, hint=lambda d: '"10 in" or "none"',
    ),
    Field(
        "disc", "Its station",
        "How far aft of the datum its disc turns. In grey: where the program put it, at the nose; type it to "
        "make it yours.",
        "set the propeller's station", _shown_disc, _disc, lambda d: d.flight.propeller is not None,
        hint=_disc_hint,
    ),
)


def _within(name: str, value: float, what: str) -> float:
    allowed = range_of(Flight, name)
    if not allowed.low <= value <= allowed.high:
        raise EditError(f"{what}: keep between {allowed.low:g} and {allowed.high:g}{allowed.unit}")
    return value
