"""A design on its way to its file and out of it, in any thread. No Qt."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from app.scans.genuine import only_pictures
from app.work.stamp import Stamp, stamp_of
from core.design import Design
from core.design_file import DesignFile, read, write


@dataclass(frozen=True)
class Saving:
    """A state of the design on its way to a file; ``write`` may run in any thread."""

    target: Path
    design: Design
    pictures: dict[str, bytes]
    home: Path | None = None
    """The folder in which a bare design's scans lie."""
    taken: frozenset[str] = frozenset()
    """Names of other pictures, which undo may bring back."""
    renamed: dict[str, str] = field(default_factory=dict)
    """Scans that have another name in the file, once it is written."""

    def write(self) -> Stamp:
        """Write it; what the file looks like afterwards. DesignFileError, the old file whole, on failure."""
        self.renamed.update(write(self.target, self.design, self.pictures, self.home, self.taken))
        return stamp_of(self.target)


@dataclass(frozen=True)
class Opening:
    """What was read from a file, and how the file looked just before."""

    found: DesignFile
    stamp: Stamp

    @classmethod
    def of(cls, path: Path) -> Opening:
        """Read ``path``, in any thread. DesignFileError where it is at fault."""
        stamp = stamp_of(path)
        return cls(only_pictures(read(path)), stamp)
