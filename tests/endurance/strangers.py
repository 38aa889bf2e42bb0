"""For the fuzzer: a stranger's words, what he names beside his design, and scans that swell when unpacked."""

from __future__ import annotations

import atexit
import io
import json
import os
import shutil
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from functools import cache
from pathlib import Path

PNG = b"\x89PNG\r\n\x1a\n" + bytes(300)
SECRET = b"the safe opens at 17 23 5"
SMALL_CAP, SMALL_SUM = 64 * 1024, 96 * 1024


# Words: whatever a title says, no widget that takes HTML opens a file for it.


def words() -> tuple[bytes, ...]:
    """Texts that Qt takes for HTML, or nearly."""
    return tuple(text.encode() for text in (
        '<img src="file:///etc/passwd">', "<b>Fin</b> & rudder", '<table background="file:///etc/passwd"><tr>',
        '<style>body{background-image:url("file:///etc/passwd")}</style><p>x', "<!DOCTYPE html><img src=a>",
        "&lt;img src='file:///etc/passwd'&gt; <i>", '\n <br/><img src="/etc/passwd">', "a < b > c", "</p>",
        '<a href="file:///etc/passwd">x</a><object data="/etc/passwd">',
        "<ul><li style='list-style: url(/etc)'>",
        '“<img src="file:///etc/passwd">” was not saved',
        "<qt>&#60;img src=/etc/passwd&#62;", "Marsh Harrow 52",
    ))


def read_words(data: bytes) -> None:
    """As a tool tip and as a label: letter by letter, and nothing is loaded."""
    from PySide6.QtGui import Qt as Gui
    from PySide6.QtGui import QTextDocument

    from app.kit.plain import plain

    loaded: list[str] = []

    class Watched(QTextDocument):
        def loadResource(self, kind: int, name: object) -> object:
            loaded.append(str(name))
            return None

    text = data.decode("utf-8", "replace")
    shown = plain(text)
    if not Gui.mightBeRichText(shown):
        assert shown == text
        return
    document = Watched()
    document.setHtml(shown)
    document.size()
    assert not loaded, f"it loads {loaded}"

    def letters(words: str) -> str:
        return "".join(ch for ch in words if ch.isprintable() and not ch.isspace())

    assert letters(document.toPlainText()) == letters(text), "it is not what was written"


# Beside a bare design


@cache
def folder() -> Path:
    """A folder with everything in it that a design beside it must not get at."""
    home = Path(tempfile.mkdtemp(prefix="strangers-"))
    atexit.register(shutil.rmtree, home, ignore_errors=True)
    place = home / "plans"
    (place / "below").mkdir(parents=True)
    (home / "plan.png").write_bytes(PNG + SECRET)
    (place / "plan.png").write_bytes(PNG)
    (place / "below/plan.png").write_bytes(PNG)
    (place / "secret.txt").write_bytes(SECRET)
    (place / "link.png").symlink_to(home / "plan.png")
    (place / "up").symlink_to(home, target_is_directory=True)
    (place / "round.png").symlink_to(place / "round.png")
    (place / "zero.png").symlink_to("/dev/zero")
    with (place / "huge.png").open("wb") as stream:
        stream.write(PNG)
        stream.truncate(3 << 30)
    if hasattr(os, "mkfifo"):
        os.mkfifo(place / "pipe.png")
    return place


_NAMED = (
    "plan.png", "pipe.png", "link.png", "up/plan.png", "secret.txt", "huge.png", "below/plan.png",
    "round.png", "zero.png", "below", "none.png", "a.json",
)


def bare_designs() -> tuple[bytes, ...]:
    """Designs that name all of it, together and one at a time."""
    whole = [{"id": f"s{i}", "file": name} for i, name in enumerate(_NAMED)]
    return tuple(
        json.dumps({"format": 1, "title": "Found", "scans": scans}, indent=1).encode()
        for scans in (whole, *([scan] for scan in whole))
    )


def read_bare(data: bytes) -> None:
    """What comes with the design is in its folder, plain, a picture, and no secret."""
    from core.design_file import DesignFileError, pack, read

    path = folder() / "a.json"
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    try:
        os.write(handle, data)
    finally:
        os.close(handle)
    for pictures in (False, True):
        try:
            found = read(path, pictures=pictures)
        except DesignFileError as error:
            assert error.sentences and all(error.sentences)
            continue
        assert set(found.pictures) <= {"plan.png", "below/plan.png"} and (pictures or not found.pictures)
        missing = {scan.file for scan in found.design.scans} - {"plan.png", "below/plan.png"}
        assert len(found.troubles) >= len(missing)
        assert SECRET not in pack(found.design, found.pictures)


# Scans that swell


@contextmanager
def small_caps() -> Iterator[None]:
    """The limits of scans, small enough to be met in no time."""
    from core import design_scans

    before = design_scans.MOST_PICTURE, design_scans.MOST_PICTURES
    design_scans.MOST_PICTURE, design_scans.MOST_PICTURES = SMALL_CAP, SMALL_SUM
    try:
        yield
    finally:
        design_scans.MOST_PICTURE, design_scans.MOST_PICTURES = before


def bombs() -> tuple[bytes, ...]:
    """Containers whose scans are large one by one, or together."""
    made = []
    for sizes in (
        (10_000,), (200_000,), (60_000, 60_000), (30_000,) * 3, (30_000,) * 12, (0, 65_536, 30_000),
    ):
        held = io.BytesIO()
        with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as container:
            scans = [{"id": f"s{i}", "file": f"{i}.png"} for i in range(len(sizes))]
            container.writestr("design.json", json.dumps({"format": 1, "title": "Swelling", "scans": scans}))
            for i, size in enumerate(sizes):
                container.writestr(f"{i}.png", bytes(size))
        made.append(held.getvalue())
    return tuple(made)


def read_bombs(data: bytes) -> None:
    """Never more than the limits, one by one and together."""
    from core.design_file import DesignFileError, unpack

    with small_caps(), suppress(DesignFileError):
        sizes = [len(picture) for picture in unpack(data).pictures.values()]
        assert max(sizes, default=0) <= SMALL_CAP and sum(sizes) <= SMALL_SUM
