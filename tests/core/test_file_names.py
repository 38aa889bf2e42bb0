"""Names of files: what a title becomes, which ending a name gets, and what it may replace."""

from __future__ import annotations

import os
import zipfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.design import EMPTY
from core.design_file import encode, write
from core.file_kinds import KINDS, kind_of_ending
from core.file_names import FileNameError, has_ending, named, plain_name, taken

NOT_OURS = "that this program did not write, such as a plan"
DESIGNS = (".sternpost", ".json")


@pytest.mark.parametrize(("title", "name"), [
    ("Quarter 1/4 Meadow", "Quarter 1-4 Meadow"), ("Nose v1.2", "Nose v1.2"), ("A\\B: C|D", "A-B- C-D"),
    ('The "Long" <one>?', "The 'Long' one"), ("Trailing...  ", "Trailing"), ("..", "Untitled"),
    ("", "Untitled"), ("///", "Untitled"), (".hidden", "hidden"),
    ("two\nlines\tand\u2028more", "two lines and more"),
    ("CON", "CON-"), ("con.5", "con-.5"), ("Lpt1 .x", "Lpt1-.x"), ("COM\u00b9", "COM\u00b9-"),
    ("Contest", "Contest"),
    ("COM10", "COM10"), ("Möwe 52", "Möwe 52"), ("\u202eback", "back"),
    ("../../etc/passwd", "-..-etc-passwd"),
])
def test_a_title_becomes_a_plain_name(title: str, name: str) -> None:
    assert plain_name(title) == name


@settings(max_examples=300, deadline=None)
@given(st.text(
    st.one_of(st.characters(codec="utf-8"), st.sampled_from('./\\:*?"<>| -CONAUX1\0\n')), max_size=300,
))
def test_every_title_becomes_a_name_that_windows_and_others_take(title: str) -> None:
    name = plain_name(title)
    # The rules as Windows' documentation words them, once more and in another way.
    assert name and not set(name) & set('<>:"/\\|?*') and all(ord(ch) > 31 for ch in name)
    assert name[-1] not in " ." and name[0] not in " ." and len(name.encode()) <= 121
    assert name.split(".")[0].strip().upper() not in {
        "CON", "PRN", "AUX", "NUL", "CONIN$", "CONOUT$",
        *(f"{port}{n}" for port in ("COM", "LPT") for n in "0123456789\u00b9\u00b2\u00b3"),
    }
    full = named(Path(name), DESIGNS, windows=True).name
    assert full == f"{name}.sternpost" or name.lower().endswith(DESIGNS)
    assert plain_name(name) == name


@pytest.mark.parametrize(("typed", "is_called"), [
    ("other", "other.sternpost"), ("nose v1.2", "nose v1.2.sternpost"), ("bare.JSON", "bare.JSON"),
    ("x.sternpost", "x.sternpost"), ("plan.pdf", "plan.pdf.sternpost"), ("dot.", "dot.sternpost"),
    ("x.sternpost. ", "x.sternpost"),
])
def test_a_name_gets_its_ending(typed: str, is_called: str) -> None:
    assert named(Path("folder") / typed, DESIGNS) == Path("folder") / is_called


@pytest.mark.parametrize(("typed", "windows", "why"), [
    ("...", False, "no name in front"), (".json", False, "no name in front"),
    ("a\nb", False, "cannot be seen"),
    ("a?b:c", True, "cannot hold ? :"), ("nul.pdf", True, "keeps “nul” for a device"),
    ("COM3", True, "for a device"),
])
def test_a_name_that_cannot_be_is_refused(typed: str, windows: bool, why: str) -> None:
    with pytest.raises(FileNameError, match=why.replace("?", r"\?")):
        named(Path(typed), DESIGNS, windows=windows)


def test_elsewhere_a_question_mark_is_a_letter() -> None:
    assert named(Path("a?b"), DESIGNS, windows=False).name == "a?b.sternpost"


# What stands in the files, by the standards that define them, not made by the program.
CONTENTS: dict[str, bytes] = {
    ".pdf": b"%PDF-1.7\n1 0 obj\n<< /Creator (\xfe\xff\0S\0t\0e\0r\0n\0p\0o\0s\0t) >>\n",
    ".svg": b"<?xml version='1.0'?>\n<!-- drawn -->\n<svg xmlns='http://www.w3.org/2000/svg'/>",
    ".dxf": b"  0\r\nSECTION\r\n  2\r\nHEADER\r\n",
    ".csv": "key;value\nlänge;3,5\n".encode(),
    ".png": b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR....\0\0\0\x12tEXtSoftware\0Sternpost",
    "a plan.pdf": b"%PDF-1.4\n1 0 obj\n<< /Creator (a scanner) >>\n",
    "a plan.png": b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR",
    ".jpg": b"\xff\xd8\xff\xe0\0\x10JFIF",
    ".txt": b"shopping: balsa, glue\n",
    ".bin": bytes(range(256)),
}


def made(folder: Path, kind: str) -> bytes:
    """The content of a file of that kind."""
    path = folder / "made"
    if kind == ".sternpost":
        write(path, EMPTY, {})
    elif kind == ".json":
        path.write_bytes(encode(EMPTY))
    elif kind == ".zip":
        with zipfile.ZipFile(path, "w") as held:
            held.writestr("letter.txt", "no design")
    else:
        path.write_bytes(CONTENTS[kind])
    data = path.read_bytes()
    path.unlink()
    return data


@pytest.mark.parametrize("there", [".sternpost", ".json", ".zip", *CONTENTS])
@pytest.mark.parametrize("wanted", sorted(ending for kind in KINDS for ending in kind.endings))
def test_only_a_file_of_the_same_kind_is_replaced(tmp_path: Path, wanted: str, there: str) -> None:
    path = tmp_path / f"there{wanted}"
    assert not taken(path)
    data = made(tmp_path, there)
    path.write_bytes(data)
    same = there in kind_of_ending(wanted).endings or (wanted, there) == (".csv", ".txt")
    if same:
        assert taken(path)
    else:
        with pytest.raises(FileNameError, match=r"what is there already is .* would replace it"):
            taken(path)
    assert path.read_bytes() == data


@pytest.mark.parametrize(("there", "words"), [
    (".sternpost", "a design"), (".jpg", rf"a picture \(JPEG\) {NOT_OURS}"), (".svg", "an SVG drawing"),
    (".txt", "text"), (".bin", "something else"), ("a plan.pdf", f"a PDF {NOT_OURS}"), (".csv", "text"),
])
def test_what_is_there_is_named(tmp_path: Path, there: str, words: str) -> None:
    path = tmp_path / "sheet.pdf"
    path.write_bytes(made(tmp_path, there))
    with pytest.raises(FileNameError, match=f"^what is there already is {words}, and a PDF would replace it"):
        taken(path)


def test_a_damaged_design_is_a_design(tmp_path: Path) -> None:
    path = tmp_path / "x.sternpost"
    path.write_bytes(made(tmp_path, ".sternpost")[:-30])
    assert taken(path)


def test_an_empty_file_may_be_replaced_and_folders_pipes_and_links_are_told_apart(tmp_path: Path) -> None:
    empty, folder, pipe, link = (tmp_path / f"{n}.pdf" for n in ("empty", "folder", "pipe", "link"))
    empty.touch()
    assert taken(empty)
    folder.mkdir()
    with pytest.raises(FileNameError, match="this is a folder"):
        taken(folder)
    if hasattr(os, "mkfifo"):
        os.mkfifo(pipe)
        with pytest.raises(FileNameError, match="a pipe or a device"):
            taken(pipe)
    write(tmp_path / "design", EMPTY, {})
    link.symlink_to(tmp_path / "design")
    with pytest.raises(FileNameError, match="a design"):
        taken(link)
    with pytest.raises(FileNameError, match="the name is too long"):
        taken(tmp_path / f"{'x' * 300}.pdf")


@pytest.mark.parametrize(("name", "why"), [
    ("plan", "the name has no ending, and a PDF is written here; let it end in .pdf"),
    ("plan.sternpost", "the name ends in .sternpost, and a PDF is written here; let it end in .pdf"),
])
def test_a_wrong_ending_is_named(name: str, why: str) -> None:
    with pytest.raises(FileNameError, match=f"^{why}$"):
        has_ending(Path(name), kind_of_ending(".pdf"))
    has_ending(Path("plan.PDF"), kind_of_ending(".pdf"))
