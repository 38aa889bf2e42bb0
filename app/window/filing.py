"""Opening, saving, and scans coming in; every fault is said, none loses work."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec.structs import replace
from PySide6.QtCore import QMimeData, QObject, Signal
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QFileDialog, QWidget

from app.keeping.claims import Claim
from app.keeping.folders import folder_of, remember_folder_of
from app.keeping.units import empty_design
from app.kit.asking_name import ask_name
from app.kit.beside import run_beside
from app.kit.fault_box import fault_box
from app.kit.plain import Box
from app.kit.plain import asked as asked_yes
from app.paper.png import png_bytes
from app.scans.coming import OPACITY, place_of, show_coming
from app.scans.kinds import may_have_pages
from app.scans.loader import ScanLoader
from app.scans.picture import Picture
from app.scans.shelf import Shelf
from app.window.leaving import asked
from app.window.telling_files import DESIGNS, PICTURES, UnknownFileError, told_apart
from app.work.document import Change, Document, Opening
from app.work.readout import Readout
from core.design import EMPTY, Design, Scan
from core.design_beside import renamed_words
from core.design_file import ENDING, DesignFileError, read
from core.design_scans import MOST_PICTURE, MOST_PICTURES
from core.file_names import plain_name
from core.file_reading import content, words_of
from core.redesign.design_edits import add_scan, fresh_id
from core.redesign.scan_edits import move_scan
from core.scan_map import edge_of

if TYPE_CHECKING:
    from app.panels.page_chooser import PageChoice


class Filing(QObject):
    """What the File menu does."""

    scan_opened = Signal()
    drawing_given = Signal(object)
    """(Path) A drawing of outlines was opened or dropped."""
    leaving = Signal()
    """The design may be given up next: what is half drawn must be put into it now."""
    opened = Signal(str)
    saved = Signal(str)
    sample_opened = Signal()
    busy = Signal(str, float)
    """(words, part done); 1 when there is nothing under way."""

    def __init__(
        self, window: QWidget, document: Document, readout: Readout, shelf: Shelf, say: Callable[[str], None]
    ) -> None:
        super().__init__(window)
        self._window, self._document, self._readout, self._shelf = window, document, readout, shelf
        self._say = say
        self.unsafe: Callable[[], str] = str
        """Why unsaved work cannot be kept safe; empty while it can."""
        self._claim, self._alone = Claim(), True
        document.listen(self._heard)
        self._incoming: dict[tuple[str, int], bytes] = {}
        """What is being opened, by name and page, in the order it was asked for."""
        self._pages: PageChoice | None = None
        self._loader = ScanLoader(self)
        self._loader.ready.connect(self._scan_ready)
        self._loader.failed.connect(self._scan_failed)
        self._loader.preview.connect(self._scan_coming)
        self._loader.progress.connect(lambda key, done: self.busy.emit(f"Opening {key[0]}", done))

    # Designs

    def _heard(self, change: Change) -> None:
        """The mark follows the design, whoever takes one up: a file that is left is open here no more."""
        if change.what == "file":
            if self._document.path is None:
                self._claim.release()
            else:
                self._alone = self._claim.take(self._document.path)

    def new(self) -> None:
        """An empty design, after asking about unsaved work."""
        if self.may_leave():
            self._document.start(empty_design())

    def open(self) -> None:
        """Ask for a design or a scan, and open it."""
        name, _ = QFileDialog.getOpenFileName(
            self._window, "Open", folder_of(self._document), f"{DESIGNS};;{PICTURES};;All files (*)"
        )
        if name:
            self.open_path(Path(name))

    def open_path(self, path: Path) -> None:
        """Open a design in place of this one, a scan or a drawing into it; a scan is told by its content."""
        try:
            what = told_apart(path)
        except UnknownFileError as error:
            fault_box(self._window, f"{path.name} could not be opened", [str(error)])
            return
        if what == "scan":
            self.open_scan_path(path)
            return
        if what == "drawing":
            self.drawing_given.emit(path)
            return
        if not self.may_leave():
            return
        try:
            found = run_beside(self._window, f"Opening {path.name}…", lambda: Opening.of(path))
        except DesignFileError as error:
            fault_box(self._window, f"{path.name} could not be opened", error.sentences)
            return
        self._document.take_up(found)
        remember_folder_of(path)
        self.opened.emit(str(path))
        if self._document.troubles:
            self._say(self._document.troubles[0])
        elif not self._alone:
            self._say(f"{path.name} is open in another window too: save there or here, not both")

    def open_sample(self, path: Path) -> None:
        """A sample, as a design without a file, so that saving cannot overwrite it."""
        if not self.may_leave():
            return
        try:
            found = read(path)
        except DesignFileError as error:
            self._say(str(error))
            return
        self._document.start(found.design, dict(found.pictures))
        self.sample_opened.emit()

    def save(self) -> bool:
        """Save to the design's own file, or ask for one; whether it is saved."""
        if self._document.path is None:
            return self.save_as()
        if self._document.changed_behind:
            return self._save_over_changes(self._document.path)
        return self._save_to(None)

    def _save_over_changes(self, path: Path) -> bool:
        """Somebody else has written the file since: never over it unasked; whether it is saved."""
        box = Box(
            self._window, Box.Icon.Warning,
            f"“{path.name}” was changed by another window or program since it was opened here.",
            "Saving over it loses what was changed there.",
        )
        other = box.addButton("Save under another name…", Box.ButtonRole.AcceptRole)
        over = box.addButton("Save over it", Box.ButtonRole.DestructiveRole)
        box.addButton(Box.StandardButton.Cancel)
        box.setDefaultButton(other)
        box.exec()
        box.deleteLater()
        if box.clickedButton() is other:
            return self.save_as()
        return box.clickedButton() is over and self._save_to(None)

    def save_as(self) -> bool:
        """Ask for a file and save to it; whether it is saved."""
        document = self._document
        name = f"{plain_name(document.committed.title)}{ENDING}"
        start = document.path or Path(folder_of(document)) / name
        asked_for = ask_name(self._window, "Save as", start, DESIGNS)
        return asked_for is not None and self._save_to(asked_for[0])

    def _save_to(self, path: Path | None) -> bool:
        name = (path or self._document.path or Path("the design")).name
        try:
            saving = self._document.saving(path)
            stamp = run_beside(self._window, f"Saving {name}…", saving.write)
        except DesignFileError as error:
            fault_box(self._window, f"{name} was not saved; your work is still here", error.sentences)
            return False
        self._document.was_saved(saving, stamp)
        remember_folder_of(saving.target)
        self.saved.emit(str(saving.target))
        for said in renamed_words(saving.target, saving.renamed)[:1]:
            self._say(said)
        if self._document.trace is not None:
            self._say(
                f"{name} is saved; the trace under way is not in the file until it is closed (Return)"
            )
        return True

    def revert(self) -> None:
        """Back to what the file holds, after asking."""
        path = self._document.path
        if path is None or not self._document.dirty:
            return
        trace, question = self._document.trace, f"Throw away what was changed since {path.name} was saved?"
        if trace is not None:
            question += f" What is half drawn goes with it, {trace.words}."
        if asked_yes(self._window, "Revert", question):
            try:
                found = run_beside(self._window, f"Opening {path.name}…", lambda: Opening.of(path))
                self._document.take_up(found)
            except DesignFileError as error:
                fault_box(self._window, "The file could not be read; nothing was changed", error.sentences)

    def may_leave(self) -> bool:
        """Whether the design may be given up: saved, thrown away on purpose, or unchanged."""
        self.leaving.emit()
        self._document.commit()
        way = asked(self._window, self._document, self.unsafe())
        return self.save() if way == "save" else way == "go"

    # Scans

    def open_scan(self) -> None:
        """Ask for scans and put them in."""
        names, _ = QFileDialog.getOpenFileNames(
            self._window, "Open a scan of the plan", folder_of(self._document), f"{PICTURES};;All files (*)"
        )
        for name in names:
            self.open_scan_path(Path(name))

    def open_scan_path(self, path: Path) -> None:
        """Read a picture's file and put it in as a scan."""
        try:
            data = run_beside(self._window, f"Reading {path.name}…", lambda: content(path, MOST_PICTURE))
        except OSError as error:
            why = f"the system says: {error.strerror or error}"
            fault_box(self._window, f"{path.name} could not be opened", [why])
            return
        remember_folder_of(path)
        self.add_scan(data, path.name)

    def add_scan(self, data: bytes, name: str) -> None:
        """Put a picture in as a scan, once it is decoded; nothing changes where that fails."""
        held = {scan.file for scan in self._document.committed.scans}
        sizes = [len(picture) for file, picture in self._document.pictures.items() if file in held]
        if sum(sizes) + len(data) > MOST_PICTURES:
            why = f"all scans together would be over {words_of(MOST_PICTURES)}; reduce them"
            fault_box(self._window, f"{name} was not put in", [why])
            return
        name = self._document.free_picture_name(name)
        while any(name == taken for taken, _ in self._incoming):
            name = f"next-{name}"
        self._incoming[name, 0] = data
        self.busy.emit(f"Opening {name}", 0.0)
        if may_have_pages(data):
            self._page_choice().begin(name, data)
        else:
            self._loader.start((name, 0), data, name)

    def cancel(self) -> None:
        """Stop opening what is being opened; the design is untouched."""
        if self._pages is not None:
            self._pages.drop()
        for key in list(self._incoming):
            self._loader.cancel(key)
        self._incoming.clear()
        self._shelf.drop_guest()
        self.busy.emit("", 1.0)

    def _page_choice(self) -> PageChoice:
        if self._pages is None:
            from app.panels.page_chooser import PageChoice

            self._pages = PageChoice(self._window, lambda: self._document.committed.display_units)
            self._pages.asking.connect(lambda: self.busy.emit("", 1.0))
            self._pages.chosen.connect(self._pages_chosen)
            self._pages.failed.connect(lambda name, sentence: self._scan_failed((name, 0), sentence))
            self._pages.dropped.connect(lambda name: self._forget((name, 0)))
        return self._pages

    def _pages_chosen(self, name: str, pages: list[int]) -> None:
        data = self._incoming.pop((name, 0))
        # Pages of one file share its bytes, those of an earlier opening too.
        held = next((n for n, other in self._document.pictures.items() if other == data), name)
        for page in pages:
            self._incoming[held, page] = data
        self._next_page(held)

    def _next_page(self, name: str) -> None:
        """Pages come in one after the other, in their order."""
        key = next((key for key in self._incoming if key[0] == name), None)
        if key is not None and not self._loader.is_loading(key):
            self._loader.start(key, self._incoming[key], *key)

    def _forget(self, key: tuple[str, int]) -> bytes | None:
        data = self._incoming.pop(key, None)
        self.busy.emit("", 1.0)
        return data

    def _scan_failed(self, key: tuple[str, int], sentence: str) -> None:
        name, _ = key
        self._forget(key)
        self._shelf.drop_guest()
        self._next_page(name)
        fault_box(self._window, f"{name} could not be opened", [sentence.removeprefix(f"{name}: ")])

    def _scan_coming(self, key: tuple[str, int], picture: Picture) -> None:
        """The first scan is seen as soon as there is anything of it, where it is going to lie."""
        if not self._document.committed.scans and key in self._incoming:
            show_coming(self._shelf, *key, self._incoming[key], picture)

    def _scan_ready(self, key: tuple[str, int], picture: Picture) -> None:
        (name, page), data = key, self._forget(key)
        if data is None:
            return
        matrix, scale_from = place_of(data, picture, page)
        self._document.pictures[name] = data
        self._shelf.put(name, data, picture, page)

        def edit(design: Design) -> Design:
            scan = Scan(
                id=fresh_id(design, Path(name).stem), file=name, page=page, to_mm=matrix,
                scale_from=scale_from, locked=not design.scans, opacity=OPACITY,
                photograph=picture.photograph,
            )
            changed = add_scan(design, scan)
            if design.title == EMPTY.title and not design.scans:
                changed = replace(changed, title=Path(name).stem.replace("_", " ").strip() or design.title)
            if design.scans:
                changed = _beneath(changed, scan, self._shelf)
            return changed

        self._document.apply("open scan", edit, "filing")
        if len(self._document.committed.scans) > 1:
            self._say("The scan lies under the others: drag it into place, then lock it in the list of scans")
        self.scan_opened.emit()
        self._next_page(name)

    def take_mime(self, mime: QMimeData) -> bool:
        """Take what was dropped or pasted: files, or a picture; whether there was anything."""
        paths = [Path(url.toLocalFile()) for url in mime.urls() if url.isLocalFile()]
        for path in paths:
            self.open_path(path)
        if paths:
            return True
        if mime.hasImage():
            image = mime.imageData()
            data = png_bytes(image) if isinstance(image, QImage) else b""
            if data:
                self.add_scan(data, "pasted.png")
                return True
        return False

    def stop(self) -> None:
        """Let all threads end."""
        self._claim.release()
        if self._pages is not None:
            self._pages.stop()
        self._loader.stop()


def _beneath(design: Design, scan: Scan, shelf: Shelf) -> Design:
    """The new scan set below the others, so that it hides nothing."""
    sizes = shelf.sizes(design)
    others = [edge_of(s, sizes[s.id]) for s in design.scans if s.id in sizes and s.id != scan.id]
    if scan.id not in sizes or not others:
        return design
    lowest = min(float(c[:, 1].min()) for c in others)
    left = min(float(c[:, 0].min()) for c in others)
    own = edge_of(scan, sizes[scan.id])
    return move_scan(design, scan.id, left - float(own[:, 0].min()), lowest - float(own[:, 1].max()) - 10.0)
