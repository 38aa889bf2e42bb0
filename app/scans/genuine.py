"""Which of the files beside a stranger's design are pictures indeed; no window."""

from __future__ import annotations

from dataclasses import replace

from core.design_file import DesignFile, DesignFileError
from core.design_scans import trouble


def only_pictures(found: DesignFile) -> DesignFile:
    """``found`` without what does not open as a picture, where its pictures lay beside it.

    A file that merely begins like one, or is named like one, would else go with the design wherever
    that is packed and sent. For use in any thread.
    """
    if not found.bare or not found.held:
        return found
    from app.scans.faults import ScanError
    from app.scans.pages import pages_of

    held, troubles = dict(found.held), list(found.troubles)
    refused: set[str] = set()
    for i, name in enumerate(scan.file for scan in found.design.scans):
        picture = held.pop(name, None)
        if picture is None:
            continue
        try:
            # One after the other in memory, where they need not all be there.
            data = picture if isinstance(picture, bytes) else picture.content()
            pages_of(data, name).numbers(lambda: False)
            del data
        except (ScanError, DesignFileError) as error:
            refused.add(name)
            troubles.append(trouble(i, name, str(error).removeprefix(f"{name}: ")))
    return replace(
        found, troubles=tuple(troubles),
        pictures={name: data for name, data in found.pictures.items() if name not in refused},
        stored={name: place for name, place in found.stored.items() if name not in refused},
    )
