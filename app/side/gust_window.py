"""What the aeroplane does in the seconds after a gust or a kick of the rudder, flown as the hand draws."""

from __future__ import annotations

import time
from collections.abc import Callable
from functools import partial

from PySide6.QtCore import QSignalBlocker, Qt
from PySide6.QtGui import QHideEvent, QKeyEvent, QShowEvent
from PySide6.QtWidgets import (
    QButtonGroup,
    QComboBox,
    QHBoxLayout,
    QPushButton,
    QSlider,
    QToolButton,
    QVBoxLayout,
)

from app.kit.overrides import errors_told
from app.kit.plain import Label, plain
from app.kit.theme import Theme
from app.side.beside import Beside
from app.side.from_above import FromAbove, Standing, times_as_large
from app.side.gust_figures import GustFigures
from app.side.gust_plots import MotionPlot
from app.side.gust_trip import Trip, fly, line_of, needs_words, short
from app.side.side_window import SideWindow
from app.work.document import Change
from app.work.readout import readings_of
from core.design import STATE, Alternative
from core.geometry.memo import IdentityMemo
from core.redesign.alternatives import state_of
from core.stability.lateral.gust import (
    DRAWS,
    GUST_DEG,
    HELD_S,
    SECONDS,
    Flown,
    Kick,
)
from core.stability.readings import ReadingsEngine
from core.units import format_number

NOW = "now"
_PAUSE_MS, _FRAME_MS = 40, 16
_LETTERS, _MOST_PX = 112, 940
"""Across, at least: narrower, its words would take more than the height of a small screen."""
_STEP_S, _LEAP_S = 0.05, 0.5
_PLAY, _PAUSE, _AGAIN = "Play", "Pause", "Play again"
_NOTHING = "nothing"
_KICKS: dict[Kick, tuple[str, str]] = {
    "gust": ("&Side gust", f"All at once the wind comes {GUST_DEG:g}° from the right, and goes on so"),
    "rudder": ("&Rudder kick", f"The whole throw to the right, held for {HELD_S:g} s and let go"),
}
_PLOTS = (
    ("heading", "Heading", "+ right"),
    ("sideslip", "Sideslip", "+ from the right"),
    ("bank", "Bank", "+ right"),
)
NOTHING_KEPT = "Nothing is kept yet: “Keep this state…” in the list of kept states keeps one."
_NOTE = (
    f"An estimate, no proof: the middle of {DRAWS} draws over what the methods disagree on; grey holds their "
    "middle two thirds. Controls held, propeller off, small angles: a large swing only tells that it is one."
)


@errors_told
class GustWindow(SideWindow):
    """Stays open beside the window and flies what is drawn, at most once in a while under a moving hand."""

    shows_on_canvas = True

    def __init__(self, beside: Beside, clock: Callable[[], float] = time.monotonic) -> None:
        super().__init__(beside, "After a gust")
        self._clock = clock
        self.kick: Kick = "gust"
        self.kept_id: str | None = None
        self.second = 0.0
        self.now: Trip | None = None
        self.kept: Trip | None = None
        self.playing = False
        self._began = 0.0
        self._was_seen = False
        self._reach, self._times = 1.0, 1
        self._engine = ReadingsEngine()
        self._kept_trips: IdentityMemo[Trip] = IdentityMemo(16)
        self._lay_out()
        self._soon = self._timer(_PAUSE_MS, self.fly)
        self._frames = self._timer(_FRAME_MS, self._frame)
        self.set_theme(beside.theme)
        self._listen(self._readout, self._changed)
        self.fly()
        self.slider.setFocus()

    def _lay_out(self) -> None:
        self.resize(900, 680)
        self.sentence, self.more, self.other, self._note = Label(), Label(), Label(), Label(_NOTE)
        font = self.sentence.font()
        font.setPointSizeF(1.3 * font.pointSizeF())
        self.sentence.setFont(font)
        self.sentence.setAccessibleName("What it does")
        self.more.setAccessibleName("More about what it does")
        self.other.setAccessibleName("What the kept state does")
        for label in (self.sentence, self.more, self.other, self._note):
            label.setWordWrap(True)
            label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.more.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.plots = {name: MotionPlot(words, sense, self._theme) for name, words, sense in _PLOTS}
        last = list(self.plots)[-1]
        plots = QVBoxLayout()
        plots.setSpacing(2)
        for name, plot in self.plots.items():
            plot.show_axis(name == last)
            plot.timed.connect(self.go_to)
            # Its axis of time takes room that the others have for their lines.
            plots.addWidget(plot, 4 if name == last else 3)
        self.above = FromAbove(self._theme)
        self.figures = GustFigures()
        middle = QHBoxLayout()
        middle.setSpacing(14)
        middle.addLayout(plots, 3)
        right = QVBoxLayout()
        right.addWidget(self.above, 1)
        right.addLayout(self._time_row())
        middle.addLayout(right, 2)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(16, 12, 16, 12)
        layout.setSpacing(6)
        layout.addStrut(min(_MOST_PX, self._across(_LETTERS)))
        layout.addWidget(self.sentence)
        layout.addWidget(self.more)
        layout.addWidget(self.other)
        layout.addLayout(self._choice_row())
        layout.addLayout(middle, 1)
        layout.addWidget(self.figures)
        layout.addWidget(self._note)

    def _choice_row(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(4)
        row.addWidget(Label("After"))
        group = QButtonGroup(self)
        self.kicks: dict[Kick, QToolButton] = {}
        for kick, (words, tip) in _KICKS.items():
            button = QToolButton()
            button.setText(words)
            button.setToolTip(plain(tip))
            button.setAccessibleDescription(tip)
            button.setCheckable(True)
            button.clicked.connect(partial(self.choose_kick, kick))
            group.addButton(button)
            self.kicks[kick] = button
            row.addWidget(button)
        self.kicks[self.kick].setChecked(True)
        row.addStretch(1)
        self.beside_it = QComboBox()
        self.beside_it.setAccessibleName("Kept state to fly beside it")
        self.beside_it.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.beside_it.setMinimumContentsLength(18)
        self.beside_it.activated.connect(self._choose_kept)
        label = Label("&Beside it")
        label.setBuddy(self.beside_it)
        row.addWidget(label)
        row.addWidget(self.beside_it)
        return row

    def _time_row(self) -> QHBoxLayout:
        self.play_button = QPushButton()
        self.play_button.setAutoDefault(False)
        self.play_button.setToolTip("Space")
        self.play_button.clicked.connect(self.toggle)
        wide = max(self.fontMetrics().horizontalAdvance(words) for words in (_PLAY, _PAUSE, _AGAIN))
        self.play_button.setFixedWidth(wide + 34)
        self.slider = QSlider(Qt.Orientation.Horizontal)
        self.slider.setAccessibleName("Seconds after it")
        self.slider.setRange(0, 5000)
        self.slider.setSingleStep(50)
        self.slider.setPageStep(500)
        self.slider.valueChanged.connect(lambda ms: self.go_to(ms / 1000.0))
        self.clock_words = Label()
        self.clock_words.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.clock_words.setFixedWidth(self.fontMetrics().horizontalAdvance("0.00 s") + 6)
        row = QHBoxLayout()
        row.addWidget(self.play_button)
        row.addWidget(self.slider, 1)
        row.addWidget(self.clock_words)
        return row

    def set_theme(self, theme: Theme) -> None:
        """Other colours."""
        super().set_theme(theme)
        for plot in self.plots.values():
            plot.set_theme(theme)
        self.above.set_theme(theme)
        self.figures.set_theme(theme)
        self.other.setStyleSheet(f"color: {theme.pick};")
        self._note.setStyleSheet(f"color: {theme.ink_soft};")

    # Flying

    def _changed(self, change: Change) -> None:
        if change.what == "preview":
            # Under a moving hand the aeroplane stands: what is to be seen is how the lines change.
            self.pause()
        if self._readout.readings.untold is not None:
            # Nothing flies on, for however short a while, of which no figures are there any more.
            self.fly()
        elif not self._soon.isActive():
            self._soon.start()

    def choose_kick(self, kick: Kick) -> None:
        """Another kick; it is flown at once, from the beginning."""
        self.kick = kick
        self.kicks[kick].setChecked(True)
        self.fly()
        self.play(again=True)

    def _choose_kept(self, index: int) -> None:
        self.kept_id = self.beside_it.itemData(index)
        self.fly()

    def fly(self) -> None:
        """Show the motion of the design that is on view, and of the kept state chosen."""
        self._soon.stop()
        begun = self._clock()
        readings = self._readout.readings
        self.now = fly(NOW, readings, self.kick)
        self._offer_kept()
        self.kept = None
        for kept in self._document.committed.alternatives:
            if kept.id == self.kept_id:
                self.kept = self._fly_kept(kept, readings.scale_known)
        self._show()
        # However long it takes: under a moving hand most of the time stays for the hand.
        self._soon.setInterval(max(_PAUSE_MS, round(2000.0 * (self._clock() - begun))))

    def _fly_kept(self, kept: Alternative, known: bool) -> Trip:
        design = self._document.committed
        return self._kept_trips.get(
            (*(getattr(kept, field) for field in STATE), kept.label, design.scans, design.sure),
            lambda: fly(short(kept.label), readings_of(self._engine, state_of(design, kept.id)), self.kick),
            extra=(self.kick, known),
        )

    def _offer_kept(self) -> None:
        offered = [(_NOTHING, None), *((k.label, k.id) for k in self._document.committed.alternatives)]
        if self.kept_id not in [key for _, key in offered]:
            self.kept_id = None
        box = self.beside_it
        if [(box.itemText(i), box.itemData(i)) for i in range(box.count())] != offered:
            box.clear()
            for words, key in offered:
                box.addItem(words, key)
        box.setCurrentIndex([key for _, key in offered].index(self.kept_id))
        box.setEnabled(len(offered) > 1)
        box.setToolTip(plain("A kept state, flown beside the design" if len(offered) > 1 else NOTHING_KEPT))

    # Showing

    def _show(self) -> None:
        now, kept = self.now, self.kept
        assert now is not None
        flown, other = now.flown, kept.flown if kept is not None else None
        if isinstance(flown, str):
            self._say(f"Not yet: {flown}.", needs_words(self.kick, self._readout.readings))
        else:
            ahead = "If the proposal is done: " if self._document.proposal is not None else ""
            first, stop, rest = flown.sentence.partition(". ")
            self._say(f"{ahead}{first}{stop}".rstrip(), rest)
        self.other.setVisible(kept is not None)
        if kept is not None:
            says = other.sentence if isinstance(other, Flown) else f"Not given: {other}."
            self.other.setText(f"- - {kept.name}: {says}")
        steady = self._document.busy
        for key, plot in self.plots.items():
            plot.show_lines(line_of(now, key), line_of(kept, key), SECONDS, steady)
        forms = [trip.form for trip in (now, kept) if trip is not None and trip.form is not None]
        reach = max((form.reach for form in forms), default=1.0)
        times = times_as_large(max((abs(end) for end in self.plots["heading"].ends), default=0.0))
        self._reach = max(reach, self._reach) if steady else reach
        self._times = times
        self.figures.show_values(now.values, None if kept is None else (kept.name, kept.values))
        self._enable(not isinstance(flown, str))
        self._show_time()

    def _say(self, first: str, rest: str) -> None:
        """In as many lines as it takes; under a moving hand never in fewer than before."""
        for label, words, least in ((self.sentence, first, 1), (self.more, rest, 2)):
            label.setText(words)
            room = max(least * label.fontMetrics().lineSpacing(), label.heightForWidth(label.width()))
            label.setMinimumHeight(max(room, label.minimumHeight() if self._document.busy else 0))

    def _enable(self, there: bool) -> None:
        if not there:
            self.pause()
        for part in (self.play_button, self.slider):
            part.setEnabled(there)

    def _show_time(self) -> None:
        for plot in self.plots.values():
            plot.show_time(self.second)
        now = self._standing(self.now)
        sideslip = self.plots["sideslip"].now
        wind = None if now is None or sideslip is None else now.heading + sideslip.at(self.second)[1]
        self.above.show_standing(now, self._standing(self.kept), wind, self._times, self._reach)
        with QSignalBlocker(self.slider):
            self.slider.setValue(round(1000.0 * self.second))
        self.clock_words.setText(format_number(self.second, 2, unit="s"))
        ended = self.second >= SECONDS
        self.play_button.setText(_PAUSE if self.playing else _AGAIN if ended else _PLAY)

    def _standing(self, trip: Trip | None) -> Standing | None:
        if trip is None or trip.form is None:
            return None
        line = line_of(trip, "heading")
        low, middle, high = (0.0, 0.0, 0.0) if line is None else line.at(self.second)
        return Standing(trip.form, middle, low, high, trip.name)

    # Time

    def go_to(self, second: float) -> None:
        """Show that moment; what was playing stands still there."""
        self.playing = False
        self._frames.stop()
        self.second = min(max(second, 0.0), SECONDS)
        self._show_time()

    def play(self, again: bool = False) -> None:
        """Let it swing from the moment shown, or from the beginning."""
        if self.now is None or isinstance(self.now.flown, str) or not self.isVisible():
            return
        if again or self.second >= SECONDS:
            self.second = 0.0
        self.playing = True
        self._began = self._clock() - self.second
        self._frames.start()
        self._show_time()

    def pause(self) -> None:
        """Stand still at the moment shown."""
        if self.playing:
            self.go_to(self.second)

    def toggle(self) -> None:
        """Play, or stand still."""
        if self.playing:
            self.pause()
        else:
            self.play()

    def _frame(self) -> None:
        if not self.playing:
            return
        self.second = min(self._clock() - self._began, SECONDS)
        self.playing = self.second < SECONDS
        if self.playing:
            self._frames.start()
        self._show_time()

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: D102
        key = Qt.Key(event.key())
        big = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        step = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}.get(key)
        if key == Qt.Key.Key_Space:
            self.toggle()
        elif step is not None:
            self.go_to(self.second + step * (_LEAP_S if big else _STEP_S))
        elif key in (Qt.Key.Key_Home, Qt.Key.Key_End):
            self.go_to(0.0 if key == Qt.Key.Key_Home else SECONDS)
        else:
            super().keyPressEvent(event)

    # Coming and going

    def showEvent(self, event: QShowEvent) -> None:
        """The first time it is seen it plays once."""
        super().showEvent(event)
        if not self._was_seen:
            self._was_seen = True
            self.play(again=True)

    def hideEvent(self, event: QHideEvent) -> None:
        """What nobody sees does not swing."""
        super().hideEvent(event)
        self.pause()

    def _leaving(self) -> None:
        self.playing = False
