"""The process that reads PDFs: what hostile files make of it, and that none is left behind."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
import zlib
from collections.abc import Iterator
from pathlib import Path

import pytest
from driving import ROOT
from pdf_files import box, crowded, encrypted, pages_pdf, pdf, plan, stream

from app.scans.faults import OpeningCancelledError, ScanError
from app.scans.opening import open_picture
from app.scans.pdf import open_pdf
from app.scans.pdf_detail import stop_pdf
from app.scans.pdf_file import PdfFile
from app.scans.pdf_reader import PdfReader, shared_reader


@pytest.fixture(autouse=True, scope="module")
def _shared() -> Iterator[None]:
    yield
    stop_pdf()


@pytest.fixture
def reader() -> Iterator[PdfReader]:
    reader = PdfReader()
    yield reader
    reader.stop()
    assert reader.process_id is None
    assert not [t for t in threading.enumerate() if t.name == "pdf-answers" and reader._process is not None]


def alive(process_id: int) -> bool:
    try:
        os.kill(process_id, 0)
    except ProcessLookupError:
        return False
    return True


NO_PAGES = pdf([b"<</Type/Catalog/Pages 2 0 R>>", b"<</Type/Pages/Kids[]/Count 0>>"])
# Each with a word of its sentence.
REFUSED = {
    "encrypted": (encrypted(), "asks for a password; print it to a new PDF without one"),
    "cut short": (plan()[:-60], "damaged or cut short"),
    "half of it": (plan() [: len(plan()) // 2], "damaged or cut short"),
    "noise": (b"%PDF-1.7\n" + bytes(range(256)) * 20 + b"startxref\n9\n%%EOF", "damaged or cut short"),
    "no pages": (NO_PAGES, "has no pages"),
    "no width": (pages_pdf(("/MediaBox[0 0 0 800]", "")), "no size"),
    "no size": (pages_pdf(("/MediaBox[7 7 7 7]", "")), "no size"),
    "a hair": (pages_pdf(("/MediaBox[0 0 1 800]", "")), "no size"),
    "a field": (pages_pdf(("/MediaBox[0 0 90000 90000]", "")), "at most 5.5 m"),
    "a field by units": (pages_pdf((box(2000, 2000) + "/UserUnit 40", "")), "28.2 × 28.2 m large"),
}


@pytest.mark.parametrize("kind", REFUSED)
def test_what_cannot_be_shown_is_refused_in_one_sentence(kind: str) -> None:
    data, words = REFUSED[kind]
    with pytest.raises(ScanError) as refused:
        open_picture(data, "folder/plan.pdf")
    text = str(refused.value)
    assert text.startswith("plan.pdf: ") and words in text and text.endswith(".")
    assert "\n" not in text and ". " not in text.removeprefix("plan.pdf: ").replace("5.5 m", "")


def test_a_loop_in_the_tree_of_pages_and_in_a_drawing_ends(reader: PdfReader) -> None:
    tree = pdf([b"<</Type/Catalog/Pages 2 0 R>>", b"<</Type/Pages/Kids[2 0 R 2 0 R]/Count 9>>"])
    with pytest.raises(ScanError):
        open_pdf(tree, "loop.pdf", reader=reader)
    form = "/Type/XObject/Subtype/Form/BBox[0 0 99 99]/Resources<</XObject<</X 5 0 R>>>>"
    drawing = pdf([
        b"<</Type/Catalog/Pages 2 0 R>>", b"<</Type/Pages/Kids[3 0 R]/Count 1>>",
        b"<</Type/Page/Parent 2 0 R/Contents 4 0 R/MediaBox[0 0 99 99]/Resources<</XObject<</X 5 0 R>>>>>>",
        stream(b"/X Do"), stream(b"/X Do 9 9 m 50 50 l S", form),
    ])
    assert open_pdf(drawing, "loop.pdf", reader=reader).width == 413


def test_a_page_that_takes_too_long_is_interrupted_and_the_next_file_opens() -> None:
    reader, data, usual = PdfReader(), crowded(150_000), PdfReader().seconds
    told: list[float] = []
    try:
        assert open_pdf(pages_pdf((box(100, 100), "")), "first.pdf", reader=reader)
        # Before it is whole, on any machine; its size is asked for with the time there is.
        PdfFile(data, "crowded.pdf", reader).size(0)
        reader.seconds = 0.0
        with pytest.raises(ScanError, match="page 1 takes too long to draw, it has too many objects; print"):
            open_pdf(data, "crowded.pdf", reader=reader, progress=told.append)
        assert all(done < 1.0 for done in told) and reader.process_id is None
        reader.seconds = usual
        assert open_pdf(pages_pdf((box(100, 100), "")), "next.pdf", reader=reader)
    finally:
        reader.stop()


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="only Linux keeps to the limit of memory")
def test_a_file_that_eats_memory_comes_up_against_the_limit() -> None:
    reader = PdfReader(memory=230 << 20)
    packer = zlib.compressobj(1)
    bomb = b"".join(packer.compress(b"0 0 m 9 9 l S\n" * 75_000) for _ in range(100)) + packer.flush()
    page = b"<</Type/Page/Parent 2 0 R/Contents 4 0 R/MediaBox[0 0 99 99]>>"
    data = pdf([
        b"<</Type/Catalog/Pages 2 0 R>>", b"<</Type/Pages/Kids[3 0 R]/Count 1>>", page,
        stream(bomb, "/Filter/FlateDecode"),
    ])
    try:
        with pytest.raises(ScanError, match=r"too much memory|too long|damaged"):
            open_pdf(data, "bomb.pdf", reader=reader)
        assert open_pdf(pages_pdf((box(100, 100), "")), "next.pdf", reader=reader)
    finally:
        reader.stop()


def test_a_process_that_falls_over_is_said_and_started_anew(reader: PdfReader) -> None:
    open_pdf(pages_pdf((box(100, 100), "")), "first.pdf", reader=reader)
    was = reader.process_id
    assert was is not None
    data = crowded(150_000)
    begun: list[float] = []

    def fall(done: float) -> None:
        begun.append(done)
        os.kill(was, signal.SIGKILL)

    with pytest.raises(ScanError, match="cannot be read, it is damaged or needs too much memory; print the"):
        open_pdf(data, "crowded.pdf", reader=reader, progress=fall)
    assert 0 < begun[0] < 0.9, "in the midst of the page"
    assert open_pdf(pages_pdf((box(100, 100), "")), "next.pdf", reader=reader)
    assert reader.process_id not in (None, was)
    # One that died between two questions is no fault of the next file.
    assert reader._process is not None
    reader._process.child.kill()
    reader._process.child.wait()
    assert open_pdf(pages_pdf((box(100, 100), "")), "last.pdf", reader=reader)


def test_cancelling_ends_it_soon(reader: PdfReader) -> None:
    data = crowded(150_000)
    open_pdf(pages_pdf((box(100, 100), "")), "first.pdf", reader=reader)
    told: list[float] = []
    with pytest.raises(OpeningCancelledError):
        open_pdf(data, "crowded.pdf", reader=reader, progress=told.append, cancelled=lambda: bool(told))
    assert max(told) < 0.9, "the page was not drawn to its end"
    assert open_pdf(pages_pdf((box(100, 100), "")), "next.pdf", reader=reader)


def test_who_waits_for_another_can_be_cancelled_too(reader: PdfReader) -> None:
    data, ended, drawing = crowded(150_000), [], threading.Event()

    def draw() -> None:
        try:
            open_pdf(data, "a.pdf", reader=reader, progress=lambda _: drawing.set())
        except OpeningCancelledError:
            ended.append("taken back")

    open_pdf(pages_pdf((box(100, 100), "")), "first.pdf", reader=reader)
    slow = threading.Thread(target=draw)
    slow.start()
    assert drawing.wait(60)
    with pytest.raises(OpeningCancelledError):
        open_pdf(plan(), "b.pdf", reader=reader, cancelled=lambda: True)
    reader.stop()
    slow.join(5)
    assert ended == ["taken back"] and reader.process_id is None


def test_threads_take_turns(reader: PdfReader) -> None:
    found: list[float] = []

    def look(side: int) -> None:
        for _ in range(5):
            found.append(PdfFile(pages_pdf((box(side, 90), "")), "a.pdf", reader).size(0).width - side)

    threads = [threading.Thread(target=look, args=(side,)) for side in (100, 200, 300, 400)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(20)
    assert found == [0.0] * 20


def test_progress_is_told_and_rises(reader: PdfReader) -> None:
    told: list[float] = []
    open_pdf(pages_pdf((box(180, 800), "")), "plan.pdf", reader=reader, progress=told.append)
    assert told == sorted(told) and told[-1] == 1.0 and len(told) > 2


def test_stopping_leaves_no_process_and_asking_again_starts_one() -> None:
    stop_pdf()
    open_picture(pages_pdf((box(100, 100), "")), "a.pdf")
    first = shared_reader().process_id
    assert first is not None and alive(first)
    process = shared_reader()._process
    assert process is not None and process._listener.is_alive()
    stop_pdf()
    assert not alive(first)
    # This one's own: a reader of another test may still be ending for want of questions.
    assert not process._listener.is_alive()
    open_picture(pages_pdf((box(100, 100), "")), "a.pdf")
    second = shared_reader().process_id
    assert second not in (None, first)


def test_one_that_is_not_asked_any_more_ends_and_is_started_when_it_is() -> None:
    reader = PdfReader(idle=0.3)
    try:
        file = PdfFile(plan(), "plan.pdf", reader)
        assert file.pages() == 1
        first, until = reader.process_id, time.monotonic() + 10
        while reader.process_id is not None and time.monotonic() < until:
            time.sleep(0.02)
        assert reader.process_id is None
        assert file.pages() == 1 and reader.process_id not in (None, first)
    finally:
        reader.stop()


@pytest.mark.skipif(os.name != "posix", reason="asks the system for a process by its number")
def test_the_process_ends_with_one_that_was_killed_in_the_midst_of_a_page(tmp_path: Path) -> None:
    (tmp_path / "a.pdf").write_bytes(crowded(150_000))
    words = (
        f"import sys; sys.path.insert(0, {str(ROOT)!r})\n"
        "from pathlib import Path; from app.scans.pdf_reader import PdfReader\n"
        f"reader, data = PdfReader(), Path({str(tmp_path / 'a.pdf')!r}).read_bytes()\n"
        "reader.ask({'op': 'open'}, 'a', data); print(reader.process_id, flush=True)\n"
        "part = {'across': 4, 'down': 4, 'left': 0, 'top': 0, 'width': 2400, 'height': 3300, 'grey': True}\n"
        "reader.ask({'op': 'draw', 'page': 0, **part}, 'a', data, progress=lambda d: print(d, flush=True))\n"
    )
    ours = subprocess.Popen([sys.executable, "-c", words], stdout=subprocess.PIPE)
    assert ours.stdout is not None
    child = int(ours.stdout.readline())
    assert 0 < float(ours.stdout.readline()) < 1 and alive(child)
    ours.kill()
    ours.wait()
    ours.stdout.close()
    until = time.monotonic() + 60
    while alive(child) and time.monotonic() < until:
        time.sleep(0.02)
    assert not alive(child)


def test_a_folder_named_app_where_it_was_started_is_not_taken_for_ours(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, reader: PdfReader
) -> None:
    (tmp_path / "app").mkdir()
    (tmp_path / "app" / "__init__.py").write_text("raise SystemExit(3)")
    monkeypatch.chdir(tmp_path)
    assert PdfFile(plan(), "plan.pdf", reader).pages() == 1


def test_no_screen_is_needed_in_it() -> None:
    words = (
        f"import sys; sys.path.insert(0, {str(ROOT)!r})\n"
        "import app.scans.pdf_process, app.scans.pdf_pages\n"
        "print([m for m in sys.modules if m.split('.')[0] in ('PySide6', 'numpy', 'PIL', 'core')])"
    )
    done = subprocess.run([sys.executable, "-c", words], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
