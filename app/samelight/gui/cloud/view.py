"""The panel with the colours of marks: which are shown, what is to be looked at, and the diagram."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QVBoxLayout, QWidget

from samelight.gui.cloud.plot import CloudPlot
from samelight.gui.paint import theme
from samelight.gui.widgets.page_parts import FittedLabel
from samelight.gui.widgets.plain_text import PlainLabel
from samelight.gui.widgets.seen_view import SeenView
from samelight.reports.colour_cloud import Cloud, Of, clouds
from samelight.sequence.session import Session

_ALL = "all marks"
_NONE = "No colour of a mark is known. Measure the frames (samelight measure), or give the sheets marks and lights with colours."


class CloudView(SeenView):
    """Shows the clouds of a session."""

    picked = Signal(str)
    """A shot was chosen."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.clouds: dict[Of, Cloud] = {}
        self.of_box, self.mark_box = QComboBox(), QComboBox()
        self.of_box.setToolTip("Where the colours come from")
        self.of_box.setAccessibleName("Where the colours come from")
        self.mark_box.setToolTip("Which marks are shown")
        self.mark_box.setAccessibleName("Which marks are shown")
        self.summary = PlainLabel()
        self.summary.setWordWrap(True)
        self.summary.setMargin(6)
        self.plot = CloudPlot()
        self.said = FittedLabel(points=theme.BODY, lines=4)
        boxes = QHBoxLayout()
        boxes.setContentsMargins(6, 4, 6, 0)
        boxes.addWidget(self.of_box, 1)
        boxes.addWidget(self.mark_box, 1)
        below = QVBoxLayout()
        below.setContentsMargins(6, 2, 6, 2)
        below.addWidget(self.said)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addLayout(boxes)
        layout.addWidget(self.summary)
        layout.addWidget(self.plot, 1)
        layout.addLayout(below)
        self.of_box.currentIndexChanged.connect(self._list_marks)
        self.mark_box.currentIndexChanged.connect(self._show)
        self.plot.picked.connect(self.picked)
        self.plot.read.connect(self.said.setText)

    def cursor_at(self, shot: str) -> None:
        """The cursor is in a shot."""
        self.plot.set_shot(shot)

    def _take(self, session: Session) -> None:
        contents = session.contents
        keys = {lit_on for shot in contents.shots if (lit_on := contents.setup_of(shot).lit_on)}
        self.clouds = clouds(session.table, keys)
        _fill(self.of_box, [str(of) for of in self.clouds])
        self._list_marks()

    def _cloud(self) -> Cloud:
        text = self.of_box.currentText()
        return self.clouds[Of(text)] if text in self.clouds else Cloud()

    def _list_marks(self) -> None:
        marks = self._cloud().marks
        _fill(self.mark_box, [_ALL, *marks] if len(marks) > 1 else marks)
        self.mark_box.setVisible(len(marks) > 1)
        self.of_box.setVisible(bool(self.clouds))
        self._show()

    def _show(self) -> None:
        cloud, mark = self._cloud(), self.mark_box.currentText()
        if self.mark_box.currentIndex() > 0 and mark in cloud.marks:
            cloud = replace(
                cloud,
                points=tuple(point for point in cloud.points if point.mark == mark),
                rings=tuple(ring for ring in cloud.rings if ring.mark == mark),
            )
        self.plot.show_cloud(cloud)
        self.summary.setText(cloud.says or _NONE)


def _fill(box: QComboBox, texts: list[str] | tuple[str, ...]) -> None:
    """Offer texts, with the one chosen that was, where it is still there; nobody is told."""
    if [box.itemText(index) for index in range(box.count())] == list(texts):
        return
    chosen, blocked = box.currentText(), box.blockSignals(True)
    box.clear()
    box.addItems(texts)
    box.setCurrentIndex(max(box.findText(chosen), 0))
    box.blockSignals(blocked)
