"""Opening beside the event loop: who hears what, and that no thread is left."""

from __future__ import annotations

import io
import threading
from collections.abc import Callable, Iterator

import numpy as np
import pytest
from PIL import Image
from PySide6.QtCore import QCoreApplication, QEvent
from pytestqt.qtbot import QtBot

from app.scans import loader as loader_module
from app.scans.faults import OpeningCancelledError
from app.scans.levels import grey_pixels
from app.scans.loader import ScanLoader
from app.scans.picture import Picture


def saved(values: np.ndarray, kind: str = "PNG") -> bytes:
    with io.BytesIO() as stream:
        Image.fromarray(values).save(stream, kind)
        return stream.getvalue()


SMALL = saved(np.full((30, 40), 77, np.uint8))


class Heard:
    """Every signal of a loader in order, with the thread it was heard in."""

    def __init__(self, loader: ScanLoader) -> None:
        self.all: list[tuple[str, str, object]] = []
        self.threads: set[threading.Thread] = set()
        for what in ("preview", "ready", "failed", "progress"):
            getattr(loader, what).connect(self._listener(what))

    def _listener(self, what: str) -> Callable[[str, object], None]:
        def hear(key: str, value: object) -> None:
            self.all.append((what, key, value))
            self.threads.add(threading.current_thread())

        return hear

    def of(self, what: str) -> list[tuple[str, object]]:
        return [(key, value) for kind, key, value in self.all if kind == what]


def scan_threads() -> list[threading.Thread]:
    """Those that open scans; a window of another test may still have some."""
    return [thread for thread in threading.enumerate() if thread.name.startswith("scan")]


@pytest.fixture
def loader(qtbot: QtBot) -> Iterator[ScanLoader]:
    before = set(scan_threads())
    loader = ScanLoader()
    yield loader
    loader.stop()
    assert set(scan_threads()) <= before


class Gate:
    """Stands in for the decoder: waits until it is opened or cancelled."""

    def __init__(self) -> None:
        self.entered, self.open = threading.Event(), threading.Event()

    def __call__(self, data: bytes, name: str, *, cancelled: Callable[[], bool], **_: object) -> Picture:
        self.entered.set()
        while not self.open.wait(0.005):
            if cancelled():
                raise OpeningCancelledError
        return Picture((), 1, 1, note=name)


@pytest.fixture
def gate(monkeypatch: pytest.MonkeyPatch) -> Gate:
    gate = Gate()
    monkeypatch.setattr(loader_module, "open_picture", gate)
    return gate


def test_a_picture_arrives_whole_in_the_window_thread(qtbot: QtBot, loader: ScanLoader) -> None:
    heard = Heard(loader)
    with qtbot.waitSignal(loader.ready, timeout=5000):
        loader.start("plan", SMALL, "plan.png")
        assert loader.is_loading("plan")
    [(key, picture)] = heard.of("ready")
    assert key == "plan"
    assert isinstance(picture, Picture)
    assert (grey_pixels(picture.levels[0]) == 77).all()
    fractions = [value for _, value in heard.of("progress")]
    assert fractions[-1] == 1.0
    assert heard.of("failed") == heard.of("preview") == []
    assert heard.threads == {threading.main_thread()}
    assert not loader.is_loading("plan")


def test_a_big_jpeg_is_shown_coarse_first(qtbot: QtBot, loader: ScanLoader) -> None:
    heard = Heard(loader)
    with qtbot.waitSignal(loader.ready, timeout=10_000):
        loader.start("plan", saved(np.full((3000, 3000), 200, np.uint8), "JPEG"), "plan.jpg")
    kinds = [what for what, _, _ in heard.all if what != "progress"]
    assert kinds == ["preview", "ready"]
    [(_, coarse)] = heard.of("preview")
    assert isinstance(coarse, Picture)
    assert (coarse.width, coarse.height, coarse.shrunk) == (3000, 3000, 8)


def test_what_is_no_picture_fails_with_its_sentence(qtbot: QtBot, loader: ScanLoader) -> None:
    with qtbot.waitSignal(loader.failed, timeout=5000) as outcome:
        loader.start("plan", b"length 1320", "plan.png")
    assert outcome.args == ["plan", "plan.png: found text; save the plan as PNG, JPEG or TIFF and open that."]


def test_a_page_is_passed_on(qtbot: QtBot, loader: ScanLoader) -> None:
    with qtbot.waitSignal(loader.failed, timeout=5000) as outcome:
        loader.start("plan", SMALL, "plan.png", 4)
    assert "page 5" in str(outcome.args)


def test_several_scans_arrive_under_their_own_keys(qtbot: QtBot, loader: ScanLoader) -> None:
    heard = Heard(loader)
    greys = {f"scan-{grey}": grey for grey in (10, 60, 110, 160, 210)}
    for key, grey in greys.items():
        loader.start(key, saved(np.full((9, 9), grey, np.uint8)), "plan.png")
    qtbot.waitUntil(lambda: len(heard.of("ready")) == 5, timeout=5000)
    pictures = {key: p for key, p in heard.of("ready") if isinstance(p, Picture)}
    found = {key: int(grey_pixels(picture.levels[0])[4, 4]) for key, picture in pictures.items()}
    assert found == greys


def test_nothing_is_heard_of_a_cancelled_scan(qtbot: QtBot, loader: ScanLoader, gate: Gate) -> None:
    heard = Heard(loader)
    loader.start("gone", SMALL, "gone.png")
    assert gate.entered.wait(5)
    loader.cancel("gone")
    assert not loader.is_loading("gone")
    gate.open.set()
    with qtbot.waitSignal(loader.ready, timeout=5000) as outcome:
        loader.start("kept", SMALL, "kept.png")
    assert outcome.args is not None
    assert outcome.args[0] == "kept"
    assert {key for _, key, _ in heard.all} == {"kept"}


def test_a_result_already_on_its_way_is_not_heard_after_cancelling(
    qtbot: QtBot, loader: ScanLoader, gate: Gate
) -> None:
    heard = Heard(loader)
    gate.open.set()
    loader.start("plan", SMALL, "plan.png")
    loader._threads.submit(lambda: None).result(5)  # type: ignore[union-attr]
    loader.cancel("plan")
    QCoreApplication.processEvents()
    assert heard.all == []


def test_starting_anew_drops_the_first(qtbot: QtBot, loader: ScanLoader, gate: Gate) -> None:
    heard = Heard(loader)
    loader.start("plan", SMALL, "first.png")
    assert gate.entered.wait(5)
    loader.start("plan", SMALL, "second.png")
    gate.open.set()
    qtbot.waitUntil(lambda: bool(heard.of("ready")), timeout=5000)
    assert [p.note for _, p in heard.of("ready") if isinstance(p, Picture)] == ["second.png"]


def test_stop_ends_the_work_and_start_begins_again(qtbot: QtBot, loader: ScanLoader, gate: Gate) -> None:
    heard = Heard(loader)
    for key in "abcde":
        loader.start(key, SMALL, f"{key}.png")
    assert gate.entered.wait(5)
    own = set(loader._threads._threads)  # type: ignore[union-attr]
    loader.stop()
    assert own and not own & set(scan_threads())
    assert not loader.is_loading("a")
    gate.open.set()
    with qtbot.waitSignal(loader.ready, timeout=5000):
        loader.start("again", SMALL, "again.png")
    assert [key for key, _ in heard.of("ready")] == ["again"]


def test_a_loader_destroyed_during_the_work_harms_nothing(qtbot: QtBot, gate: Gate) -> None:
    loader = ScanLoader()
    loader.start("plan", SMALL, "plan.png")
    assert gate.entered.wait(5)
    threads = loader._threads
    assert threads is not None
    loader.deleteLater()
    QCoreApplication.sendPostedEvents(loader, QEvent.Type.DeferredDelete)
    gate.open.set()
    threads.shutdown(wait=True)


def test_a_fault_of_our_own_is_told_and_logged(
    qtbot: QtBot, loader: ScanLoader, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def broken(*_: object, **__: object) -> Picture:
        raise KeyError("surprise")

    monkeypatch.setattr(loader_module, "open_picture", broken)
    with qtbot.waitSignal(loader.failed, timeout=5000) as outcome:
        loader.start("plan", SMALL, "folder/plan.png")
    assert outcome.args is not None
    assert outcome.args[1].startswith("plan.png: the picture could not be opened")
    assert "surprise" in caplog.text
