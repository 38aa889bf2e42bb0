"""One page of the help as it is read: words, drawings, pictures, and links that lead to other places."""

from __future__ import annotations

from itertools import groupby

from PySide6.QtCore import QRectF, Qt, QUrl, Signal
from PySide6.QtGui import (
    QColor,
    QFont,
    QImage,
    QPainter,
    QPen,
    QResizeEvent,
    QTextBlockFormat,
    QTextCharFormat,
    QTextCursor,
    QTextDocument,
    QTextImageFormat,
    QTextLength,
    QTextTable,
    QTextTableFormat,
)
from PySide6.QtWidgets import QTextBrowser, QTextEdit

from app.kit.inks import mixed
from app.kit.overrides import errors_told
from app.kit.theme import Theme, data_folder
from app.side.help_drawings import drawn
from app.side.help_sketch import HIGH, WIDE
from app.side.help_text import Block, Page, Section

_MARGIN = 18
_NARROWEST = 200
_BESIDE = WIDE + 200
"""From this width on a word stands beside its drawing."""


def picture_file(name: str, theme: Theme) -> str:
    """Where the picture of that name lies, taken in the theme's light."""
    return str(data_folder("icons") / "help" / f"{name}-{'night' if theme.dark else 'day'}.png")


@errors_told
class HelpView(QTextBrowser):
    """Builds its text from blocks, never from marked-up strings."""

    led_to = Signal(str)
    """(place) A link was followed."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._theme, self._page, self._section, self._asked = theme, Page("", ""), "", ""
        self._room = 0
        self.setOpenLinks(False)
        self.setFrameShape(QTextBrowser.Shape.NoFrame)
        self.setAccessibleName("Help")
        # Always: one that comes while the page is written would change the room for it.
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOn)
        self.document().setDocumentMargin(_MARGIN)
        self.anchorClicked.connect(lambda url: self.led_to.emit(url.toString()))

    @property
    def shown(self) -> tuple[str, str]:
        """Page and section that are read."""
        return self._page.key, self._section

    def set_theme(self, theme: Theme) -> None:
        """Other colours, other pictures."""
        self._theme = theme
        self._write()

    def show_section(self, page: Page, section: str) -> None:
        """Show that page, from that section on."""
        changed = page is not self._page
        self._page, self._section = page, section
        if changed:
            self._write()
        else:
            self._reach()

    def mark(self, asked: str) -> None:
        """Bring out every place where one of the words stands; none for an empty text."""
        self._asked = asked
        found = []
        for word in asked.split():
            at = self.document().find(word)
            while not at.isNull():
                one = QTextEdit.ExtraSelection()
                one.cursor = at
                one.format.setBackground(
                    mixed(self._theme.aim, self._theme.paper, 0.55)
                )
                found.append(one)
                at = self.document().find(word, at)
        self.setExtraSelections(found)

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: D102
        super().resizeEvent(event)
        if self._page.sections and self._wide() != self._room:
            self._write()
        else:
            self._reach()

    # Writing

    def _wide(self) -> int:
        return max(_NARROWEST, self.viewport().width() - 2 * _MARGIN - 4)

    def _reach(self) -> None:
        first = self._page.sections[0].key if self._page.sections else ""
        if self._section == first:
            self.verticalScrollBar().setValue(0)
        else:
            self.scrollToAnchor(self._section)

    def _write(self) -> None:
        self._room = self._wide()
        self.document().clear()
        at = QTextCursor(self.document())
        at.insertText(self._page.title, self._letters(1.6, bold=True))
        for section in self._page.sections:
            beside = self._page.key == "words" and self._room >= _BESIDE
            if beside and section.blocks and section.blocks[0].what == "drawing":
                self._term(at, section)
            else:
                self._heading(at, section)
                self._blocks(at, section.blocks)
        self.mark(self._asked)
        self._reach()

    def _letters(self, size: float = 1.0, *, bold: bool = False, soft: bool = False) -> QTextCharFormat:
        letters = QTextCharFormat()
        letters.setFontPointSize(self.font().pointSizeF() * size)
        letters.setFontWeight(QFont.Weight.Bold if bold else QFont.Weight.Normal)
        letters.setForeground(QColor(self._theme.ink_soft if soft else self._theme.ink))
        return letters

    def _new_line(
        self, at: QTextCursor, above: float = 8.0, indent: int = 0, *, picture: bool = False
    ) -> None:
        line = QTextBlockFormat()
        line.setTopMargin(above)
        line.setLeftMargin(indent)
        line.setTextIndent(-12 if indent else 0)
        # A picture's line is as high as the picture.
        line.setLineHeight(
            100 if picture else 118, QTextBlockFormat.LineHeightTypes.ProportionalHeight.value
        )
        at.insertBlock(line, self._letters())

    def _heading(self, at: QTextCursor, section: Section, *, new_line: bool = True) -> None:
        if new_line:
            self._new_line(at, 20.0)
        letters = self._letters(1.2, bold=True)
        letters.setAnchor(True)
        letters.setAnchorNames([section.key])
        at.insertText(section.heading, letters)

    def _blocks(self, at: QTextCursor, blocks: tuple[Block, ...]) -> None:
        for is_row, run in groupby(blocks, lambda block: block.what == "row"):
            if is_row:
                self._rows(at, list(run))
                continue
            for block in run:
                if block.what == "drawing":
                    self._new_line(at, picture=True)
                    self._drawing(at, block.name)
                elif block.what == "picture":
                    self._picture(at, block)
                else:
                    point = block.what == "point"
                    self._new_line(at, 4.0 if point else 8.0, 16 if point else 0)
                    self._spans(at, block, "–  " if point else "")

    def _spans(self, at: QTextCursor, block: Block, before: str = "") -> None:
        if before:
            at.insertText(before, self._letters(soft=True))
        soft = block.what == "soft"
        for span in block.spans:
            letters = self._letters(0.94 if soft else 1.0, bold=span.stress == 2, soft=soft)
            if span.stress == 1:
                letters.setFontItalic(True)
            if span.place:
                letters.setAnchor(True)
                letters.setAnchorHref(span.place)
                letters.setForeground(QColor(self._theme.pick))
                letters.setFontUnderline(True)
            at.insertText(span.words, letters)

    def _table(self, at: QTextCursor, rows: int, first: QTextLength, above: float) -> QTextTable:
        form = QTextTableFormat()
        form.setBorder(0)
        form.setCellPadding(3)
        form.setCellSpacing(0)
        form.setTopMargin(above)
        form.setWidth(QTextLength(QTextLength.Type.FixedLength, self._room))
        rest = QTextLength(QTextLength.Type.VariableLength, 0)
        form.setColumnWidthConstraints([first, rest])
        return at.insertTable(rows, 2, form)

    def _rows(self, at: QTextCursor, rows: list[Block]) -> None:
        first = QTextLength(QTextLength.Type.PercentageLength, 30)
        table = self._table(at, len(rows), first, 4.0)
        for row, block in enumerate(rows):
            left, right = (table.cellAt(row, column).firstCursorPosition() for column in (0, 1))
            left.insertText(block.name, self._letters(bold=True))
            self._spans(right, block)
        at.movePosition(QTextCursor.MoveOperation.End)

    def _term(self, at: QTextCursor, section: Section) -> None:
        first = QTextLength(QTextLength.Type.FixedLength, WIDE + 14)
        table = self._table(at, 1, first, 12.0)
        self._drawing(table.cellAt(0, 0).firstCursorPosition(), section.blocks[0].name)
        right = table.cellAt(0, 1).firstCursorPosition()
        self._heading(right, section, new_line=False)
        for block in section.blocks[1:]:
            self._new_line(right, 4.0)
            self._spans(right, block)
        at.movePosition(QTextCursor.MoveOperation.End)

    # Pictures

    def _drawing(self, at: QTextCursor, name: str) -> None:
        image = drawn(name, self._theme, self.devicePixelRatioF())
        self._insert(at, f"drawing:{name}", image, WIDE, HIGH)

    def _picture(self, at: QTextCursor, block: Block) -> None:
        kept = QImage(picture_file(block.name, self._theme))
        image = kept.convertToFormat(QImage.Format.Format_RGB32)
        wide = min(image.width(), self._room)
        high = round(image.height() * wide / max(1, image.width()))
        ratio = self.devicePixelRatioF()
        fine = image.scaled(
            round(wide * ratio), round(high * ratio), Qt.AspectRatioMode.IgnoreAspectRatio,
            Qt.TransformationMode.SmoothTransformation,
        )
        fine.setDevicePixelRatio(ratio)
        painter = QPainter(fine)
        painter.setPen(QPen(QColor(self._theme.line), 1.0))
        painter.drawRect(QRectF(0.5, 0.5, wide - 1, high - 1))
        painter.end()
        self._new_line(at, 10.0, picture=True)
        self._insert(at, f"picture:{block.name}", fine, wide, high)
        self._new_line(at, 2.0)
        for span in block.spans:
            at.insertText(span.words, self._letters(0.94, soft=True))

    def _insert(self, at: QTextCursor, name: str, image: QImage, wide: int, high: int) -> None:
        self.document().addResource(QTextDocument.ResourceType.ImageResource.value, QUrl(name), image)
        form = QTextImageFormat()
        form.setName(name)
        form.setWidth(wide)
        form.setHeight(high)
        at.insertImage(form)
