"""Which of the files beside a stranger's design are pictures indeed; no window."""

from __future__ import annotations

from dataclasses import replace

from core.design_file import DesignFile
from core.design_scans import trouble


def only_pictures(found: DesignFile) -> DesignFile:
    """``found`` without what does not open as a picture, where its pictures lay beside it.

    A file that merely begins like one, or is named like one, would else go with the design wherever
    that is packed and sent. For use in any thread.
    """
    if not found.bare or not found.pictures:
        return found
    from app.scans.faults import ScanError
    from app.scans.pages import pages_of

    kept, troubles = dict(found.pictures), list(found.troubles)
    for i, scan in enumerate(found.design.scans):
        if scan.file not in kept:
            continue
        try:
            pages_of(kept[scan.file], scan.file).numbers(lambda: False)
        except ScanError as error:
            del kept[scan.file]
            troubles.append(trouble(i, scan.file, str(error).removeprefix(f"{scan.file}: ")))
    return replace(found, pictures=kept, troubles=tuple(troubles))
