"""The window after a gust with a clock that a test turns, and what it shows against the core."""

from __future__ import annotations

import numpy as np
from driving import Driver, bare_sample
from PySide6.QtCore import QEvent, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.side.gust_window import GustWindow
from core.design import Design
from core.redesign.alternatives import keep
from core.redesign.curves import design_at
from core.stability.lateral.gust import Flown, Kick, after_a_gust
from core.stability.readings import ReadingsEngine

Key = Qt.Key


class Clock:
    """A clock that goes on when it is told to."""

    def __init__(self) -> None:
        self.now = 100.0

    def __call__(self) -> float:
        return self.now


def opened(driver: Driver, clock: Clock) -> GustWindow:
    """On the screen, over a sample without its scan."""
    driver.open_outlines(bare_sample())
    window = GustWindow(driver.window.beside, clock)
    window.show()
    driver.settle()
    return window


def away(window: GustWindow) -> None:
    window.close()
    QApplication.sendPostedEvents(window, QEvent.Type.DeferredDelete)


def flown_by(design: Design, kick: Kick = "gust") -> Flown:
    """The same by an engine that has seen nothing before."""
    flown = after_a_gust(ReadingsEngine().read(design).aeroplane, kick)
    assert isinstance(flown, Flown), flown
    return flown


def drawn(window: GustWindow, what: str, whose: str = "now") -> list[tuple[np.ndarray, np.ndarray]]:
    """What the plot library holds of one aeroplane: (seconds, degrees) of low, middle, high."""
    return [curve.getData() for curve in window.plots[what]._lines[whose]]


def shows(window: GustWindow, flown: Flown, whose: str = "now") -> bool:
    parts = ("low", "middle", "high")
    return all(
        len(seconds) == len(flown.seconds) and np.allclose(degrees, getattr(band, part), atol=1e-6)
        for what, band in (("heading", flown.heading), ("sideslip", flown.sideslip), ("bank", flown.bank))
        for part, (seconds, degrees) in zip(parts, drawn(window, what, whose), strict=True)
    )


def kept_smaller() -> Design:
    """As drawn, kept; the fin is half as large again now."""
    return design_at(keep(bare_sample(), "as drawn"), "fin", 1.5)


def pick(window: GustWindow, row: int) -> None:
    """Choose a row of the list of kept states by its keys."""
    box = window.beside_it
    box.setFocus()
    QTest.keyClick(box, Key.Key_Home)
    for _ in range(row):
        QTest.keyClick(box, Key.Key_Down)
