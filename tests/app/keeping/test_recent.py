from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import QSettings

from app.keeping.recent import note, recent


@pytest.fixture
def settings(tmp_path: Path) -> QSettings:
    return QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat)


def made(folder: Path, *names: str) -> list[Path]:
    paths = [folder / name for name in names]
    for path in paths:
        path.write_text("x")
    return paths


def test_nothing_was_opened_yet(settings: QSettings) -> None:
    assert recent(settings) == []


def test_newest_first_and_each_once(settings: QSettings, tmp_path: Path) -> None:
    a, b = made(tmp_path, "a.sternpost", "b, with = signs; and ü.sternpost")
    for path in (a, b, a):
        note(settings, path)
    assert recent(settings) == [a, b]


def test_one_alone_survives_the_settings_file(settings: QSettings, tmp_path: Path) -> None:
    (a,) = made(tmp_path, "a.sternpost")
    note(settings, a)
    settings.sync()
    again = QSettings(settings.fileName(), QSettings.Format.IniFormat)
    assert recent(again) == [a]


def test_the_ninth_falls_off(settings: QSettings, tmp_path: Path) -> None:
    paths = made(tmp_path, *(f"{i}.sternpost" for i in range(9)))
    for path in paths:
        note(settings, path)
    assert recent(settings) == paths[:0:-1]


def test_what_is_gone_is_left_out_and_comes_back(settings: QSettings, tmp_path: Path) -> None:
    a, b = made(tmp_path, "a.sternpost", "b.sternpost")
    note(settings, a)
    note(settings, b)
    b.unlink()
    assert recent(settings) == [a]
    b.write_text("x")
    assert recent(settings) == [b, a]


def test_a_relative_path_is_kept_whole(
    settings: QSettings, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (a,) = made(tmp_path, "a.sternpost")
    monkeypatch.chdir(tmp_path)
    note(settings, Path("a.sternpost"))
    note(settings, Path("nowhere/../a.sternpost"))
    monkeypatch.chdir("/")
    assert recent(settings) == [a]


@pytest.mark.parametrize("left", ["text", 7, ["a", "b"], "\0"])
def test_settings_that_someone_else_wrote_do_no_harm(settings: QSettings, left: object) -> None:
    settings.setValue("recent", left)
    settings.setValue("recent/size", left)
    settings.setValue("recent/1/path", left)
    assert recent(settings) == []
