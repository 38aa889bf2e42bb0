"""An error that nobody foresaw: window alive, work kept, a report without the person's folders."""

from __future__ import annotations

import os
import stat
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from driving import Driver
from msgspec.structs import replace
from PySide6.QtCore import QCoreApplication
from PySide6.QtWidgets import QMessageBox

from app.window import unforeseen
from app.window.unforeseen import Unforeseen, log_file, report_of, without_paths


@pytest.fixture
def hook(driver: Driver) -> Iterator[Unforeseen]:
    found = Unforeseen(driver.window)
    found.install()
    yield found
    found.remove()


def failed() -> BaseException:
    try:
        raise RuntimeError("the fin fell off")
    except RuntimeError as error:
        return error


def test_the_report_names_the_place_and_no_folder() -> None:
    report = report_of(failed())
    assert "the fin fell off" in report and "test_unforeseen.py" in report
    assert str(Path(__file__).resolve().parents[3]) not in report
    assert 'File "tests/app/window/test_unforeseen.py"' in report


def test_folders_are_taken_away() -> None:
    text = f'File "{Path.home()}/plans/secret.py", line 3'
    assert without_paths(text) == 'File "secret.py", line 3'
    assert str(Path.home()) not in without_paths(f"could not read {Path.home()}/plans/wing.png")


ROOT = Path(__file__).resolve().parents[3]


@pytest.mark.parametrize(
    ("text", "left"),
    (
        ("No such file: '/srv/ann/My plans/wing.png'", "No such file: '….png'"),
        ("open(b'/srv/ann/x.sternpost')", "open(b'….sternpost')"),
        ('"/srv/ann/the fin\'s.json" is gone', '"….json" is gone'),
        ("could not read /srv/ann/My plans/wing.png: full", "could not read ….png: full"),
        ("/srv/ann/notes", "…"),
        ("path=/srv/ann/a.png, size 3", "path=….png, size 3"),
        ("file:///srv/ann/a.png", "file:….png"),
        ("PosixPath('/srv/ann/a.png')", "PosixPath('….png')"),
        ("C:\\Users\\Ann\\fin.json was read", "….json was read"),
        ("'C:\\\\Users\\\\Ann\\\\fin.json'", "'….json'"),
        (f"in {ROOT}/app/window/window.py: line 3", "in app/window/window.py: line 3"),
        ('File "/usr/lib/python3.11/threading.py", line 9', 'File "threading.py", line 9'),
        ("No such file: '/srv/ann/a\"b\\'c/wing.png' or so", "No such file: '….png' or so"),
        ("'/srv/ann/' and \"C:\\ann\\\" are there", "'…' and \"…\" are there"),
        ("3 N/mm and 1/2 in, a / b", "3 N/mm and 1/2 in, a / b"),
    ),
)
def test_paths_go_however_they_are_written(text: str, left: str) -> None:
    assert without_paths(text) == left


@pytest.mark.parametrize("name", [
    "/srv/zoe/a\"b'c/secret.png", "/srv/zoe/it's \"secret\"/b, c.png", "secret of zoe.png",
    "/srv/zoe/secret\nb.png", "./zoe: secret.png",
])
def test_files_that_the_system_s_errors_name_go_however_odd_they_are(name: str) -> None:
    for attempt in (lambda: open(name), lambda: os.replace(name, f"{name}2")):  # noqa: SIM115, PTH105, PTH123
        try:
            try:
                attempt()
            except OSError as error:
                raise RuntimeError("the fin fell off") from error
        except RuntimeError as error:
            report = report_of(error)
        assert "zoe" not in report and "secret" not in report
        assert "No such file or directory: '….png'" in report and 'File "tests/app/window/' in report


@pytest.mark.skipif(sys.platform == "win32", reason="Windows knows no such modes")
def test_the_log_is_for_its_owner_alone(driver: Driver, monkeypatch: pytest.MonkeyPatch) -> None:
    place = log_file()
    place.parent.mkdir(parents=True, exist_ok=True)
    place.write_text("of an older version\n")
    place.chmod(0o644)
    place.parent.chmod(0o755)
    monkeypatch.setattr(unforeseen, "LOG_BYTES", 300)
    found = Unforeseen(driver.window)
    found.install()
    for _ in range(4):
        unforeseen._log.error("%s", "x" * 200)
    found.remove()
    logs = list(place.parent.glob("sternpost.log*"))
    assert len(logs) == unforeseen.LOG_FILES
    assert stat.S_IMODE(place.parent.stat().st_mode) == 0o700
    assert {stat.S_IMODE(log.stat().st_mode) for log in logs} == {0o600}


def test_the_window_lives_on_and_the_work_is_kept(
    driver: Driver, hook: Unforeseen, monkeypatch: pytest.MonkeyPatch
) -> None:
    window, shown = driver.window, []
    monkeypatch.setattr(QMessageBox, "exec", lambda box: shown.append(box.detailedText()))
    window.edits.set_units("in64")
    before = window.document.committed
    window.document.begin("a gesture")
    error = failed()
    sys.excepthook(type(error), error, error.__traceback__)
    driver.until(lambda: bool(shown))
    assert "the fin fell off" in shown[0]
    assert window.document.committed is before and not window.document.busy
    assert window.isVisible()
    assert "the fin fell off" in log_file().read_text("utf-8")


def test_work_is_kept_even_where_a_reading_fails(driver: Driver, monkeypatch: pytest.MonkeyPatch) -> None:
    document, recovery = driver.window.document, driver.window.keeper.recovery

    def failing(*_: object, **__: object) -> None:
        raise IndexError("no fin")

    with monkeypatch.context() as patch:
        patch.setattr(driver.window.readout._engine, "read", failing)
        with pytest.raises(IndexError):
            document.apply("title", lambda design: replace(design, title="Kept all the same"))
    recovery.flush()
    assert b"Kept all the same" in recovery._file.read_bytes()


def test_a_flood_of_errors_shows_one_dialogue(
    driver: Driver, hook: Unforeseen, monkeypatch: pytest.MonkeyPatch
) -> None:
    shown = []
    monkeypatch.setattr(QMessageBox, "exec", lambda box: shown.append(1))
    for _ in range(20):
        error = failed()
        sys.excepthook(type(error), error, error.__traceback__)
    driver.until(lambda: bool(shown))
    assert len(shown) == 1


def test_the_same_error_leaves_time_to_save_before_it_shows_again(
    driver: Driver, hook: Unforeseen, monkeypatch: pytest.MonkeyPatch
) -> None:
    shown, now = [], [1000.0]
    monkeypatch.setattr(QMessageBox, "exec", lambda box: shown.append(box.detailedText()))
    monkeypatch.setattr(unforeseen.time, "monotonic", lambda: now[0])

    def again(error: BaseException) -> int:
        sys.excepthook(type(error), error, error.__traceback__)
        QCoreApplication.processEvents()
        return len(shown)

    assert again(failed()) == 1
    now[0] += 30
    assert again(failed()) == 1
    assert "once more" in driver.window.strip._said.text()
    assert again(ValueError("another")) == 2
    now[0] += 31
    assert again(failed()) == 3


def test_a_thread_that_fails_is_told_and_the_gesture_goes_on(
    driver: Driver, hook: Unforeseen, monkeypatch: pytest.MonkeyPatch
) -> None:
    shown = []
    monkeypatch.setattr(QMessageBox, "exec", lambda box: shown.append(box.detailedText()))
    driver.window.document.begin("a gesture")

    def work() -> None:
        raise failed()

    thread = threading.Thread(target=work)
    thread.start()
    thread.join()
    driver.until(lambda: bool(shown))
    assert driver.window.document.busy
    driver.window.document.abort()
    assert "the fin fell off" in shown[0]
    assert "the fin fell off" in log_file().read_text("utf-8")


def test_an_interrupt_is_left_to_python(
    driver: Driver, monkeypatch: pytest.MonkeyPatch
) -> None:
    heard = []
    monkeypatch.setattr(sys, "excepthook", lambda kind, error, trace: heard.append(kind))
    found = Unforeseen(driver.window)
    found.install()
    sys.excepthook(KeyboardInterrupt, KeyboardInterrupt(), None)
    found.remove()
    assert heard == [KeyboardInterrupt]
    assert unforeseen.LOG_FILES == 3
