"""The File menu's part in exchange: outlines and pictures to other programs, outlines from drawings."""

from __future__ import annotations

import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QLocale
from PySide6.QtWidgets import QDialog, QFileDialog, QInputDialog, QWidget

from app.keeping.folders import folder_of, remember_folder_of
from app.kit.beside import run_beside
from app.kit.fault_box import fault_box
from app.kit.plain import Box, plain
from app.kit.sentences import as_sentence
from app.kit.worker import Job
from app.paper.exchange import IMPORTS, exported, read_outlines
from app.paper.writing import write_file
from app.side.outgoing import ask_path_and_kind, out_while_waiting
from app.work.document import Document
from app.work.readout import read_apart
from app.work.selection import Picked, Selection
from core.design import Design
from core.design_check import problems
from core.exchange.closed import answered, count_words
from core.exchange.csv_table import Decimal
from core.exchange.faults import ExchangeError, ScaleUnknownError, UnseenError
from core.file_reading import opened
from core.kinds import Kind
from core.redesign.design_edits import paste_outlines
from core.units import UnitError, parse_number

if TYPE_CHECKING:
    from core.exchange.closed import Imported

# The kinds of a table to choose from, and the decimal mark of each.
_TABLES: dict[str, Decimal] = {
    "Tables with decimal points (*.csv)": "point",
    "Tables with decimal commas, parted by semicolons (*.csv)": "comma",
}
# What it is called in the menu's dialogue, its filter, its ending.
_WAYS = {
    "svg": ("the outlines as SVG", "SVG drawings (*.svg)", ".svg"),
    "dxf": ("the outlines as DXF", "DXF drawings (*.dxf)", ".dxf"),
    "csv": ("the readings as CSV", ";;".join(_TABLES), ".csv"),
    "png": ("a picture of the profile", "PNG pictures (*.png)", ".png"),
    "svg-picture": ("a picture of the profile", "SVG pictures (*.svg)", ".svg"),
}


class Exchanging:
    """Asks where to or from, and does it; every fault is one sentence, and nothing is half done."""

    def __init__(
        self, window: QWidget, document: Document, picked: Picked, say: Callable[[str], None]
    ) -> None:
        self._window, self._document, self._picked, self._say = window, document, picked, say

    def export(self, to: str) -> None:
        """Ask for a file and write the design to it as ``to``, one of ``app.paper.exchange.EXPORTS``."""
        words, kinds, ending = _WAYS[to]
        if to == "csv" and QLocale().decimalPoint() == ",":
            kinds = ";;".join(reversed(_TABLES))
        asked = ask_path_and_kind(self._window, self._document, f"Export {words}", ending, kinds)
        if asked is None:
            return
        path, decimal = asked[0], _TABLES.get(asked[1], "point")
        self._document.settle()
        design = self._document.committed

        def out(job: Job) -> str:
            write_file(path, lambda: exported(design, to, decimal, read_apart), job)
            return f"{words[:1].upper()}{words[1:]}: written to {path.name}"

        out_while_waiting(
            self._window, self._say, f"{path.name} was not written", f"Writing {path.name}…", out
        )

    def import_outlines(self) -> None:
        """Ask for a drawing and put its outlines into the design, selected, as one edit."""
        endings = " ".join(f"*{ending}" for ending in IMPORTS)
        name, _ = QFileDialog.getOpenFileName(
            self._window, "Import outlines from a drawing", folder_of(self._document), f"Drawings ({endings})"
        )
        if name:
            self.import_path(Path(name))

    def import_path(self, path: Path) -> None:
        """Put the outlines of the drawing ``path`` in; its scale is asked for where it says none."""
        scale: float | None = None
        unseen: bool | None = None
        while True:
            try:
                found = run_beside(
                    self._window, f"Reading {path.name}…", partial(_read, path, scale, unseen=bool(unseen))
                )
                if not found.unseen or unseen is not None:
                    break
                unseen = self._ask_unseen(path, found.unseen, len(found.outlines))
                if not unseen:
                    break
            except UnseenError:
                unseen = self._ask_unseen(path, 0, 0)
                if not unseen:
                    return
            except ScaleUnknownError as error:
                # What follows the semicolon is for the command line.
                scale = self._ask_scale(path, str(error).split(";")[0])
                if scale is None:
                    return
            except (ExchangeError, OSError) as error:
                why = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
                fault_box(self._window, f"{path.name} was not imported", [why])
                return
        if found.ours and found.uncounted:
            answered = self._ask_counts(path, found)
            if answered is None:
                return
            found = answered
        self._take(path, found)

    def _take(self, path: Path, found: Imported) -> None:
        made: list[str] = []

        def edit(design: Design) -> Design:
            changed, ids = paste_outlines(design, found.outlines, 0.0, 0.0)
            made.extend(ids)
            return changed

        faults = problems(edit(self._document.committed))
        if faults:
            fault_box(self._window, f"{path.name} was not imported", faults[:1])
            return
        made.clear()
        self._document.apply("import outlines", edit, "exchange")
        self._picked.set(Selection(outlines=tuple(made)))
        remember_folder_of(path)
        count = len(found.outlines)
        said = ["1 outline was read" if count == 1 else f"{count} outlines were read"]
        if found.uncounted:
            said.append(count_words(found))
        self._say(" ".join(as_sentence(words) for words in (*said, *found.notes)))

    def _ask_unseen(self, path: Path, unseen: int, seen: int) -> bool:
        """Whether what is switched off in the drawing is to be brought in too."""
        what = f"{unseen} of {unseen + seen} outlines in it are" if seen else "All outlines in it are"
        box = Box(
            self._window, Box.Icon.Question, f"{what} switched off or frozen there.",
            f"What is switched off in {path.name} was most likely put aside, such as an older fin.",
            title="Import outlines",
        )
        leave = box.addButton("&Leave them out", Box.ButtonRole.RejectRole)
        bring = box.addButton("&Bring them in", Box.ButtonRole.AcceptRole)
        box.setDefaultButton(leave)
        box.setEscapeButton(leave)
        box.exec()
        chosen = box.clickedButton() is bring
        box.deleteLater()
        return chosen

    def _ask_counts(self, path: Path, found: Imported) -> Imported | None:
        """With what another program dropped; None where the import is called off."""
        from app.window.asking_counts import CountsDialogue

        dialogue = CountsDialogue(self._window, path.name, found)
        taken = dialogue.exec() == QDialog.DialogCode.Accepted
        answers = dialogue.answers()
        dialogue.deleteLater()
        return answered(found, answers) if taken else None

    def _ask_scale(self, path: Path, why: str) -> float | None:
        text, given = QInputDialog.getText(
            self._window, "Import outlines",
            plain(f"{as_sentence(why)}\nHow many millimetres is one unit of {path.name}? (an inch is 25.4)"),
            text="1",
        )
        if not given:
            return None
        try:
            return parse_number(text, low=1e-6, high=1e6, what="Millimetres a unit")
        except UnitError as error:
            fault_box(self._window, f"{path.name} was not imported", [str(error)])
            return None


def _read(
    path: Path, mm_per_unit: float | None, kind: Kind | None = None, *, unseen: bool = False
) -> Imported:
    from core.exchange.closed import MOST_BYTES

    with opened(path, sys.maxsize) as stream:
        data = stream.read(MOST_BYTES + 1)
    return read_outlines(path.suffix.lower(), data, kind, mm_per_unit, unseen=unseen)
