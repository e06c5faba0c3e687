"""What the inspector is put together from: text that wraps or elides, text to copy, a titled section."""

from __future__ import annotations

import html
from collections.abc import Iterable
from typing import Protocol, runtime_checkable

from PySide6.QtCore import QPointF, QSize, Qt
from PySide6.QtGui import (
    QFont,
    QFontMetricsF,
    QPainter,
    QPaintEvent,
    QPen,
    QResizeEvent,
    QTextLayout,
    QTextOption,
    QWheelEvent,
)
from PySide6.QtWidgets import (
    QFrame,
    QSizePolicy,
    QTextBrowser,
    QVBoxLayout,
    QWidget,
)

from samelight.gui.paint import theme
from samelight.gui.paint.drawn_text import draw_text
from samelight.gui.widgets.plain_text import PlainLabel, plain
from samelight.reports.shown import clean_lines

LEAST_WIDTH = 40


@runtime_checkable
class Speaking(Protocol):
    """A part of the page that can say in text what it shows."""

    def words(self) -> str:
        """What it says."""


class Laid:
    """A text laid out in a width: it wraps, within words where it must, and ends in … after so many lines."""

    def __init__(self, text: str, font: QFont, width: float, lines: int) -> None:
        self._metrics = QFontMetricsF(font)
        self._font, self._width = font, max(width, 8.0)
        self.lines: list[str] = []
        self.elided = False
        paragraphs = text.split("\n")
        for number, paragraph in enumerate(paragraphs):
            found = self._wrapped(paragraph, lines - len(self.lines))
            self.lines += found
            if self.elided:
                return
            if len(self.lines) >= lines and number < len(paragraphs) - 1:
                self._end(self.lines[-1] + "…")
                return

    @property
    def height(self) -> float:
        """In pixels."""
        return max(len(self.lines), 1) * self._metrics.lineSpacing()

    @property
    def widest(self) -> float:
        """The width of the longest line, in pixels."""
        return max((self._metrics.horizontalAdvance(line) for line in self.lines), default=0.0)

    def _wrapped(self, text: str, room: int) -> list[str]:
        layout = QTextLayout(text, self._font)
        option = QTextOption()
        option.setWrapMode(QTextOption.WrapMode.WrapAtWordBoundaryOrAnywhere)
        layout.setTextOption(option)
        layout.beginLayout()
        found: list[str] = []
        while (line := layout.createLine()).isValid():
            line.setLineWidth(self._width)
            start, length = line.textStart(), line.textLength()
            if len(found) == room - 1 and start + length < len(text):
                found.append(self._cut(text[start:]))
                break
            found.append(text[start : start + length].rstrip())
        layout.endLayout()
        return found or [""]

    def _cut(self, text: str) -> str:
        self.elided = True
        return self._metrics.elidedText(text, Qt.TextElideMode.ElideRight, self._width)

    def _end(self, text: str) -> None:
        self.lines[-1] = self._cut(text)

    def draw(self, painter: QPainter, left: float, top: float) -> None:
        """Draw it with the painter's pen."""
        painter.setFont(self._font)
        for number, line in enumerate(self.lines):
            baseline = top + number * self._metrics.lineSpacing() + self._metrics.ascent()
            draw_text(painter, QPointF(left, baseline), line)


class FittedLabel(PlainLabel):
    """Text of at most so many lines, whatever its width; what does not fit ends in …, and the whole is its tooltip."""

    def __init__(
        self,
        text: str = "",
        *,
        points: float = theme.BODY,
        bold: bool = False,
        dim: bool = False,
        lines: int = 1,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent=parent)
        self._lines = lines
        self._laid: dict[float, Laid] = {}
        self._ink = theme.DIM_TEXT if dim else theme.TEXT
        self.tip = ""
        """What the tooltip says where nothing is left out."""
        self.setFont(theme.font(points, bold=bold))
        policy = QSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.setText(text)

    def setText(self, text: str) -> None:
        self._laid.clear()
        if text != self.text():
            super().setText(text)
            self.updateGeometry()
        self._tell()

    def words(self) -> str:
        """What it says."""
        return self.text()

    def laid(self, width: float) -> Laid:
        """The text as it is laid out in a width."""
        if width not in self._laid:
            self._laid[width] = Laid(self.text(), self.font(), width, self._lines)
        return self._laid[width]

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, width: int) -> int:
        return round(self.laid(width).height + 0.499)

    def sizeHint(self) -> QSize:
        return QSize(LEAST_WIDTH, self.heightForWidth(max(self.width(), LEAST_WIDTH)))

    def minimumSizeHint(self) -> QSize:
        return QSize(LEAST_WIDTH, round(QFontMetricsF(self.font()).lineSpacing() + 0.499))

    def _tell(self) -> None:
        self.setToolTip(plain(self.text() if self._now().elided else self.tip))

    def _now(self) -> Laid:
        """The text as it is shown: where there is no height for all of its lines, it ends earlier."""
        whole = self.laid(self.width())
        room = max(int((self.height() + 0.5) // QFontMetricsF(self.font()).lineSpacing()), 1)
        return whole if len(whole.lines) <= room else Laid(self.text(), self.font(), self.width(), room)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._tell()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setPen(self._ink)
        self._now().draw(painter, 0.0, 0.0)
        painter.end()


class TextBlock(QTextBrowser):
    """Lines to read and to copy, as high as they need; the page around them scrolls."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setOpenLinks(False)
        self.setAccessibleName(name)
        self.setToolTip(plain(f"{name}: can be selected and copied"))
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setTabChangesFocus(True)
        self.setTextInteractionFlags(
            Qt.TextInteractionFlag.TextSelectableByMouse | Qt.TextInteractionFlag.TextSelectableByKeyboard
        )
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.setMinimumWidth(LEAST_WIDTH)
        self.viewport().setAutoFillBackground(False)
        self.document().setDocumentMargin(0.0)
        self.document().documentLayout().documentSizeChanged.connect(self._fit)

    def show_lines(self, lines: Iterable[str]) -> None:
        """Show plain lines."""
        self.show_html(
            "".join(
                f"<p style='margin: 0 0 1px 0; white-space: pre-wrap'>{html.escape(line)}</p>"
                for line in lines
            )
        )

    def show_html(self, text: str) -> None:
        """Show text with marks."""
        self.setFont(theme.font())
        self.setHtml(clean_lines(text))
        self._fit()

    def _fit(self, *_: object) -> None:
        self.setFixedHeight(max(round(self.document().size().height() + 0.499), 1))

    def wheelEvent(self, event: QWheelEvent) -> None:
        event.ignore()

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        if self.hasFocus():
            painter = QPainter(self.viewport())
            painter.setPen(QPen(theme.HIGHLIGHT, 1, Qt.PenStyle.DotLine))
            painter.drawRect(self.viewport().rect().adjusted(0, 0, -1, -1))
            painter.end()

    def words(self) -> str:
        """What it says."""
        return self.toPlainText()


class Section(QWidget):
    """A title with what stands under it."""

    def __init__(self, title: str, *parts: QWidget, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.title = FittedLabel(title, points=theme.BODY, bold=True, dim=True, lines=2)
        self.parts = parts
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 8, 0, 0)
        layout.setSpacing(3)
        layout.addWidget(self.title)
        for part in parts:
            layout.addWidget(part)

    def words(self) -> str:
        """The section as text."""
        return f"{self.title.text()}\n{words_of(self.parts)}"


def words_of(parts: Iterable[QWidget]) -> str:
    """What the parts of a page that are shown say, one under the other."""
    said = [part.words() for part in parts if not part.isHidden() and isinstance(part, Speaking)]
    return "\n".join(words for words in said if words)
