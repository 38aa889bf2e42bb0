"""Opening, saving, scans coming in, and the bench sheet going out; every fault is said, none loses work."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from pathlib import Path
from typing import Literal

from msgspec.structs import replace
from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QLocale, QMimeData, QObject, QSettings, Signal
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QFileDialog, QMessageBox, QWidget

from app.document import Document
from app.readout import Readout
from app.scans.loader import ScanLoader
from app.scans.opening import picture_dpi
from app.scans.picture import Picture
from app.scans.placing import place_by_dpi, place_unscaled
from app.scans.shelf import Shelf
from app.sentences import as_sentence
from core.design import EMPTY, Design, Scan
from core.design_file import ENDING, DesignFileError
from core.redesign.design_edits import add_scan, fresh_id
from core.redesign.scan_edits import corners_of, move_scan

DESIGNS = "Sternpost designs (*.sternpost *.json)"
PICTURES = "Scans (*.png *.jpg *.jpeg *.tif *.tiff)"
PICTURE_ENDINGS = {".png", ".jpg", ".jpeg", ".tif", ".tiff", ".bmp", ".webp", ".gif", ".pdf"}
Paper = Literal["a4", "letter"]


class Filing(QObject):
    """What the File menu does."""

    scan_opened = Signal()
    leaving = Signal()
    """The design may be given up next: what is half drawn must be put into it now."""
    opened = Signal(str)
    saved = Signal(str)
    busy = Signal(str, float)
    """(words, part done); 1 when there is nothing under way."""

    def __init__(
        self, window: QWidget, document: Document, readout: Readout, shelf: Shelf, say: Callable[[str], None]
    ) -> None:
        super().__init__(window)
        self._window, self._document, self._readout, self._shelf = window, document, readout, shelf
        self._say = say
        self._incoming: dict[str, bytes] = {}
        self._loader = ScanLoader(self)
        self._loader.ready.connect(self._scan_ready)
        self._loader.failed.connect(self._scan_failed)
        self._loader.progress.connect(lambda name, done: self.busy.emit(f"Opening {name}", done))

    # Designs

    def new(self) -> None:
        """An empty design, after asking about unsaved work."""
        if self.may_leave():
            self._document.start(EMPTY)

    def open(self) -> None:
        """Ask for a design or a scan, and open it."""
        name, _ = QFileDialog.getOpenFileName(
            self._window, "Open", self._folder(), f"{DESIGNS};;{PICTURES};;All files (*)"
        )
        if name:
            self.open_path(Path(name))

    def open_path(self, path: Path) -> None:
        """Open a design in place of this one, or a scan into it."""
        if path.suffix.lower() in PICTURE_ENDINGS:
            self.open_scan_path(path)
            return
        if not self.may_leave():
            return
        try:
            self._document.open(path)
        except DesignFileError as error:
            self._fault(f"{path.name} could not be opened", error.sentences)
            return
        self._remember(path)
        self.opened.emit(str(path))
        if self._document.troubles:
            self._say(self._document.troubles[0])

    def save(self) -> bool:
        """Save to the design's own file, or ask for one; whether it is saved."""
        return self._save_to(None) if self._document.path else self.save_as()

    def save_as(self) -> bool:
        """Ask for a file and save to it; whether it is saved."""
        start = self._document.path or Path(self._folder()) / f"{self._document.committed.title}{ENDING}"
        name, _ = QFileDialog.getSaveFileName(self._window, "Save as", str(start), DESIGNS)
        if not name:
            return False
        path = Path(name)
        return self._save_to(path if path.suffix else path.with_suffix(ENDING))

    def _save_to(self, path: Path | None) -> bool:
        try:
            self._document.save(path)
        except DesignFileError as error:
            name = (path or self._document.path or Path("the design")).name
            self._fault(f"{name} was not saved; your work is still here", error.sentences)
            return False
        assert self._document.path is not None
        self._remember(self._document.path)
        self.saved.emit(str(self._document.path))
        return True

    def revert(self) -> None:
        """Back to what the file holds, after asking."""
        if self._document.path is None or not self._document.dirty:
            return
        answer = QMessageBox.question(
            self._window, "Revert", f"Throw away what was changed since {self._document.path.name} was saved?"
        )
        if answer == QMessageBox.StandardButton.Yes:
            try:
                self._document.revert()
            except DesignFileError as error:
                self._fault("The file could not be read; nothing was changed", error.sentences)

    def may_leave(self) -> bool:
        """Whether the design may be given up: saved, thrown away on purpose, or unchanged."""
        self.leaving.emit()
        self._document.commit()
        if not self._document.dirty:
            return True
        box = QMessageBox(self._window)
        box.setIcon(QMessageBox.Icon.Question)
        box.setText(f"“{self._document.name}” has changes that are not saved.")
        box.setInformativeText("Save them before going on?")
        save, discard, cancel = (
            QMessageBox.StandardButton.Save, QMessageBox.StandardButton.Discard,
            QMessageBox.StandardButton.Cancel,
        )
        box.setStandardButtons(save | discard | cancel)
        box.setDefaultButton(save)
        chosen = box.exec()
        if chosen == save:
            return self.save()
        return chosen == discard

    def _fault(self, title: str, sentences: list[str]) -> None:
        shown = sentences[:6]
        if len(sentences) > 6:
            shown.append(f"and {len(sentences) - 6} more; “sternpost check” lists them all")
        box = QMessageBox(QMessageBox.Icon.Warning, "Sternpost", f"{title}.", parent=self._window)
        box.setInformativeText("\n".join(map(as_sentence, shown)))
        box.exec()

    def _folder(self) -> str:
        if self._document.path is not None:
            return str(self._document.path.parent)
        return str(QSettings().value("folder", ""))

    def _remember(self, path: Path) -> None:
        QSettings().setValue("folder", str(path.parent))

    # Scans

    def open_scan(self) -> None:
        """Ask for scans and put them in."""
        names, _ = QFileDialog.getOpenFileNames(
            self._window, "Open a scan of the plan", self._folder(), f"{PICTURES};;All files (*)"
        )
        for name in names:
            self.open_scan_path(Path(name))

    def open_scan_path(self, path: Path) -> None:
        """Read a picture's file and put it in as a scan."""
        try:
            data = path.read_bytes()
        except OSError as error:
            self._fault(f"{path.name} could not be opened", [f"the system says: {error.strerror or error}"])
            return
        self._remember(path)
        self.add_scan(data, path.name)

    def add_scan(self, data: bytes, name: str) -> None:
        """Put a picture in as a scan, once it is decoded; nothing changes where that fails."""
        name = self._document.free_picture_name(name)
        while name in self._incoming:
            name = f"next-{name}"
        self._incoming[name] = data
        self.busy.emit(f"Opening {name}", 0.0)
        self._loader.start(name, data, name)

    def cancel(self) -> None:
        """Stop opening what is being opened; the design is untouched."""
        for name in list(self._incoming):
            self._loader.cancel(name)
        self._incoming.clear()
        self.busy.emit("", 1.0)

    def _scan_failed(self, name: str, sentence: str) -> None:
        self._incoming.pop(name, None)
        self.busy.emit("", 1.0)
        self._fault(f"{name} could not be opened", [sentence.removeprefix(f"{name}: ")])

    def _scan_ready(self, name: str, picture: Picture) -> None:
        data = self._incoming.pop(name, None)
        self.busy.emit("", 1.0)
        if data is None:
            return
        dpi = picture_dpi(data)
        size = (picture.width, picture.height)
        matrix = place_by_dpi(*size, dpi) if dpi else place_unscaled(*size)
        self._document.pictures[name] = data
        self._shelf.put(name, data, picture)

        def edit(design: Design) -> Design:
            scan = Scan(
                id=fresh_id(design, Path(name).stem), file=name, to_mm=matrix,
                scale_from="dpi" if dpi else "none", locked=not design.scans, opacity=0.85,
            )
            changed = add_scan(design, scan)
            if design.title == EMPTY.title and not design.scans:
                changed = replace(changed, title=Path(name).stem.replace("_", " ").strip() or design.title)
            if design.scans:
                changed = _beneath(changed, scan, self._shelf)
            return changed

        self._document.apply("open scan", edit, "filing")
        if len(self._document.design.scans) > 1:
            self._say("The scan lies under the others: drag it into place, then lock it in the list of scans")
        self.scan_opened.emit()

    def take_mime(self, mime: QMimeData) -> bool:
        """Take what was dropped or pasted: files, or a picture; whether there was anything."""
        paths = [Path(url.toLocalFile()) for url in mime.urls() if url.isLocalFile()]
        for path in paths:
            self.open_path(path)
        if paths:
            return True
        if mime.hasImage():
            image = mime.imageData()
            data = _png_of(image) if isinstance(image, QImage) else b""
            if data:
                self.add_scan(data, "pasted.png")
                return True
        return False

    # The bench sheet

    def export_sheet(self, paper: Paper) -> None:
        """Ask where to, and write the bench sheet as PDF."""
        from app.sheets.bench_sheet import write_bench_sheet

        stem = self._document.path.stem if self._document.path else self._document.design.title
        start = str(Path(self._folder()) / f"{stem} bench sheet.pdf")
        name, _ = QFileDialog.getSaveFileName(self._window, "Export the bench sheet", start, "PDF (*.pdf)")
        if not name:
            return
        path = Path(name) if Path(name).suffix else Path(name).with_suffix(".pdf")
        try:
            write_bench_sheet(
                path, self._document.design, self._readout.readings, self._readout.counted_areas(),
                paper=paper, today=datetime.date.today(),
            )
        except DesignFileError as error:
            self._fault("The bench sheet was not written", error.sentences)
            return
        self._say(f"The bench sheet is in {path.name}")

    def print_sheet(self) -> None:
        """Ask for a printer and print the bench sheet."""
        from PySide6.QtPrintSupport import QPrintDialog, QPrinter

        from app.sheets.bench_sheet import print_bench_sheet

        printer = QPrinter(QPrinter.PrinterMode.HighResolution)
        if QPrintDialog(printer, self._window).exec():
            print_bench_sheet(
                printer, self._document.design, self._readout.readings, self._readout.counted_areas(),
                today=datetime.date.today(),
            )

    def stop(self) -> None:
        """Let all threads end."""
        self._loader.stop()


def home_paper() -> Paper:
    """The paper that printers here are likely to hold."""
    letter = QLocale().measurementSystem() == QLocale.MeasurementSystem.ImperialUSSystem
    return "letter" if letter else "a4"


def _png_of(image: QImage) -> bytes:
    held = QByteArray()
    buffer = QBuffer(held)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    image.save(buffer, "PNG")  # type: ignore[call-overload]
    buffer.close()
    return bytes(held.data())


def _beneath(design: Design, scan: Scan, shelf: Shelf) -> Design:
    """The new scan set below the others, so that it hides nothing."""
    sizes = shelf.sizes(design)
    others = [corners_of(s, sizes[s.id]) for s in design.scans if s.id in sizes and s.id != scan.id]
    if scan.id not in sizes or not others:
        return design
    lowest = min(float(c[:, 1].min()) for c in others)
    left = min(float(c[:, 0].min()) for c in others)
    own = corners_of(scan, sizes[scan.id])
    return move_scan(design, scan.id, left - float(own[:, 0].min()), lowest - float(own[:, 1].max()) - 10.0)
