"""Every test runs without a screen, with settings and home of its own."""

from __future__ import annotations

import os
import random
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
# The scale of the machine's own screen must not leak into where the mouse goes.
os.environ.setdefault("QT_SCALE_FACTOR", "1")
# The same examples at every run: a test that fails today fails tomorrow.
settings.register_profile("repeatable", derandomize=True, deadline=None, database=None)
settings.load_profile("repeatable")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--shuffle", type=int, metavar="SEED", help="run the tests in the random order of SEED")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """No test may need another to have run before it, or not to have."""
    seed = config.getoption("--shuffle")
    if seed is not None:
        random.Random(seed).shuffle(items)


@pytest.fixture(autouse=True)
def own_home(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A home that no other test has written to, and Qt's settings in it."""
    home = tmp_path_factory.mktemp("home")
    for name in ("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME"):
        monkeypatch.setenv(name, str(home))
    if "PySide6.QtCore" in sys.modules:
        from PySide6.QtCore import QSettings

        for kind in (QSettings.Format.NativeFormat, QSettings.Format.IniFormat):
            QSettings.setPath(kind, QSettings.Scope.UserScope, str(home))
    yield home
