"""The container: what pack writes, and containers made to do harm."""

from __future__ import annotations

import io
import random
import struct
import tracemalloc
import warnings
import zipfile
import zlib

import pytest
from making import box, design_of, trainer

from core.design import Scan
from core.design_file import DesignFileError, encode, pack, unpack

PICTURE = bytes(range(256)) * 40
DESIGN = trainer(scans=(Scan("plan", "plan.png"),))
WHOLE = pack(DESIGN, {"plan.png": PICTURE, "not named.png": b"stray"})
DAMAGED = "the container is damaged or is not a Sternpost design; open another copy of it"


def fault(data: bytes) -> str:
    with pytest.raises(DesignFileError) as caught:
        unpack(data)
    assert len(caught.value.sentences) == 1
    return str(caught.value)


def zipped(*members: tuple[str, bytes], how: int = zipfile.ZIP_DEFLATED) -> bytes:
    held = io.BytesIO()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # zipfile warns of duplicate names
        with zipfile.ZipFile(held, "w", how) as container:
            for name, data in members:
                container.writestr(name, data)
    return held.getvalue()


def patched(data: bytes, signature: bytes, offset: int, value: bytes, nth: int = 0) -> bytes:
    """``data`` with ``value`` at ``offset`` into the nth header of that signature."""
    at = -1
    for _ in range(nth + 1):
        at = data.index(signature, at + 1)
    at += offset
    return data[:at] + value + data[at + len(value) :]


LOCAL, CENTRAL = b"PK\x03\x04", b"PK\x01\x02"


def test_scans_are_stored_as_they_are_and_strays_left_out() -> None:
    with zipfile.ZipFile(io.BytesIO(WHOLE)) as container:
        assert container.namelist() == ["design.json", "plan.png"]
        assert container.getinfo("plan.png").compress_type == zipfile.ZIP_STORED
        assert container.getinfo("design.json").compress_type == zipfile.ZIP_DEFLATED
        assert container.read("plan.png") == PICTURE
        assert container.testzip() is None
        assert {entry.date_time for entry in container.infolist()} == {(1980, 1, 1, 0, 0, 0)}
    assert PICTURE in WHOLE, "byte for byte, uncompressed"


def test_an_unsafe_name_is_never_packed() -> None:
    design = design_of(scans=(Scan("a", "../up.png"),))
    with zipfile.ZipFile(io.BytesIO(pack(design, {"../up.png": b"x"}))) as container:
        assert container.namelist() == ["design.json"]


@pytest.mark.parametrize("name", ("../../evil.png", "/etc/passwd", "..\\evil.png", "C:evil.png"))
def test_names_that_climb_out_are_refused(name: str) -> None:
    design = design_of(scans=(Scan("a", name),))
    sentence = fault(zipped(("design.json", encode(design)), (name, b"x")))
    assert sentence.startswith("scans[0].file:") and "not a plain file name" in sentence


def test_members_that_no_scan_names_are_not_looked_at() -> None:
    found = unpack(zipped(("design.json", encode(trainer())), ("../../evil", b"x"), ("big", b"y" * 100)))
    assert (found.design, dict(found.pictures)) == (trainer(), {})


@pytest.mark.parametrize(
    "data", (b"", b"PK", b"hello", encode(DESIGN), b"\x89PNG\r\n\x1a\n" * 20, b"\0" * 5000)
)
def test_what_is_no_container(data: bytes) -> None:
    assert fault(data) == DAMAGED


def test_a_container_without_a_design() -> None:
    assert (
        fault(zipped(("plan.png", b"x")))
        == '"design.json" is missing from the container; open another copy of it'
    )
    assert fault(zipped(("folder/design.json", encode(DESIGN)))).startswith('"design.json" is missing')


def test_two_designs_in_one_container() -> None:
    data = zipped(("design.json", encode(trainer())), ("design.json", encode(DESIGN)))
    assert fault(data) == '"design.json" is in the container twice; it was not written by Sternpost'


def test_a_scan_that_is_there_twice_is_trouble_but_the_outlines_open() -> None:
    data = zipped(("design.json", encode(DESIGN)), ("plan.png", b"a"), ("plan.png", b"b"))
    found = unpack(data)
    assert found.design == DESIGN and dict(found.pictures) == {}
    assert "twice" in found.troubles[0]


def test_an_encrypted_member() -> None:
    for header, offset in ((LOCAL, 6), (CENTRAL, 8)):
        data = patched(WHOLE, header, offset, b"\x01\x00")
        if header is CENTRAL:
            assert fault(data) == '"design.json" is encrypted; save the design without a password'
        else:
            # Only the local header claims it; the directory at the end is what is believed.
            assert unpack(data).design == DESIGN


def test_a_bomb_is_refused_by_its_stated_size(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("core.design_file.MOST_JSON", 1 << 20)
    data = zipped(("design.json", b" " * (3 << 20)))
    assert len(data) < 10_000
    assert fault(data) == '"design.json" unpacks to over 1 MB; that is not a design'


def test_a_bomb_that_lies_about_its_size(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("core.design_file.MOST_JSON", 1 << 20)
    data = zipped(("design.json", b" " * (3 << 20)))
    small = struct.pack("<L", 500)
    data = patched(patched(data, LOCAL, 22, small), CENTRAL, 24, small)
    assert fault(data) == '"design.json" is damaged in the container; open another copy of it'


def test_a_size_stated_too_large_harms_nothing() -> None:
    """Unpacking ends where the packed data end, and the checksum vouches for them."""
    for size in (len(encode(DESIGN)) + 1, 60 << 20):
        assert unpack(patched(WHOLE, CENTRAL, 24, struct.pack("<L", size))).design == DESIGN


def test_a_stored_scan_stated_longer_than_the_container_is_trouble() -> None:
    for offset in (20, 24):
        data = patched(WHOLE, CENTRAL, offset, struct.pack("<L", 900 << 20), nth=1)
        found = unpack(data)
        assert found.design == DESIGN
        assert dict(found.pictures) in ({}, {"plan.png": PICTURE})
        assert len(found.troubles) == 1 - len(found.pictures)


def test_a_wrong_checksum_of_the_design_and_of_a_scan() -> None:
    wrong = struct.pack("<L", zlib.crc32(b"other"))
    assert "damaged" in fault(patched(WHOLE, CENTRAL, 16, wrong))
    found = unpack(patched(WHOLE, CENTRAL, 16, wrong, nth=1))
    assert found.design == DESIGN
    assert found.troubles == (
        'scans[0].file: "plan.png" could not be opened: "plan.png" is damaged in the container; '
        "open another copy of it",
    )


@pytest.mark.parametrize("how", (zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA, 9, 97, 99, 65535))
def test_ways_of_packing_that_are_not_ours(how: int) -> None:
    """Sternpost stores and deflates; bzip2 and lzma pack bombs a thousand times denser."""
    data = patched(patched(WHOLE, CENTRAL, 10, struct.pack("<H", how)), LOCAL, 8, struct.pack("<H", how))
    assert (
        fault(data) == '"design.json" is packed in a way that Sternpost does not use; pack it as a plain ZIP'
    )
    if how in (zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA):
        sound = zipped(("design.json", encode(DESIGN)), how=how)
        assert "packed in a way" in fault(sound)


def test_an_offset_that_points_elsewhere() -> None:
    for offset in (1, 7, len(WHOLE) - 3, 0x7FFFFFFF, 0xFFFFFFFF):
        fault(patched(WHOLE, CENTRAL, 42, struct.pack("<L", offset)))


def test_cut_off_at_every_97th_byte() -> None:
    for length in range(0, len(WHOLE), 97):
        assert fault(WHOLE[:length]) == DAMAGED


def test_bytes_changed_at_random_give_the_design_or_a_sentence() -> None:
    dice = random.Random(20)
    small = pack(design_of(box("a", "fin", 0, 0, 1, 1), scans=(Scan("p", "p.png"),)), {"p.png": b"picture"})
    refused = 0
    for _ in range(3000):
        data = bytearray(small)
        for _ in range(dice.randint(1, 4)):
            data[dice.randrange(len(data))] = dice.choice((0, 1, 255, 0x50, dice.randrange(256)))
        try:
            unpack(bytes(data))
        except DesignFileError:
            refused += 1
    assert 1000 < refused < 3000


def test_things_before_and_after_the_container() -> None:
    """A container behind other bytes is still one, as zipfile reads it; a comment may follow."""
    assert unpack(b"#!/bin/sh\n" + WHOLE).design == DESIGN


def many_entries(number: int) -> bytes:
    """WHOLE with so many entries more in its directory, by the records of APPNOTE 4.3.12, 4.3.14 to 16."""
    begin, end = WHOLE.index(b"PK\x01\x02"), WHOLE.rindex(b"PK\x05\x06")
    one = b"PK\x01\x02" + struct.pack("<6H3L5H2L", 20, 20, 0, 0, 0, 33, 0, 0, 0, 7, 0, 0, 0, 0, 0, 0)
    listed = WHOLE[begin:end] + b"".join(one + b"%07d" % i for i in range(number))
    count = number + WHOLE.count(b"PK\x01\x02")
    record = b"PK\x06\x06" + struct.pack("<QHHLLQQQQ", 44, 45, 45, 0, 0, count, count, len(listed), begin)
    locator = b"PK\x06\x07" + struct.pack("<LQL", 0, begin + len(listed), 1)
    last = b"PK\x05\x06" + struct.pack("<HHHHLLH", 0, 0, 0xFFFF, 0xFFFF, 0xFFFFFFFF, 0xFFFFFFFF, 0)
    return WHOLE[:begin] + listed + record + locator + last


def test_a_directory_without_end_is_refused_unread() -> None:
    assert unpack(many_entries(1000)).design == DESIGN
    data = many_entries(200_000)
    tracemalloc.start()
    try:
        with pytest.raises(DesignFileError, match="not a Sternpost design"):
            unpack(data)
        assert tracemalloc.get_traced_memory()[1] < 2 * len(data)
    finally:
        tracemalloc.stop()
