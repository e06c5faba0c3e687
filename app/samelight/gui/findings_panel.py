"""The list of findings: sentences, worst first; choosing one selects its cells."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import QAbstractListModel, QModelIndex, QObject, QPersistentModelIndex, Qt, Signal
from PySide6.QtWidgets import QAbstractItemView, QListView, QVBoxLayout, QWidget

from samelight.findings.finding import Finding

Index = QModelIndex | QPersistentModelIndex
_NOWHERE = QModelIndex()
FINDING_ROLE = Qt.ItemDataRole.UserRole + 1


class FindingsModel(QAbstractListModel):
    """A thin model over a list of findings."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.findings: list[Finding] = []

    def set_findings(self, findings: list[Finding]) -> None:
        """Show other findings."""
        self.beginResetModel()
        self.findings = list(findings)
        self.endResetModel()

    def rowCount(self, parent: Index = _NOWHERE) -> int:
        return 0 if parent.isValid() else len(self.findings)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if not index.isValid():
            return None
        finding = self.findings[index.row()]
        if role == Qt.ItemDataRole.DisplayRole:
            return finding.says
        if role == Qt.ItemDataRole.ToolTipRole:
            parts = [finding.finding, f"How sure: {finding.sureness}."]
            parts += [finding.known, finding.guessed, finding.do]
            return "\n".join(part for part in parts if part)
        if role == FINDING_ROLE:
            return finding
        return None


class FindingsPanel(QWidget):
    """The list and its keyboard."""

    chosen = Signal(object)
    """The finding that was chosen."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.model = FindingsModel(self)
        self.list = QListView()
        self.list.setModel(self.model)
        self.list.setWordWrap(True)
        self.list.setSpacing(3)
        self.list.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.list.setResizeMode(QListView.ResizeMode.Adjust)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.list.setFrameShape(QListView.Shape.NoFrame)
        self.list.setAccessibleName("Findings")
        self.list.selectionModel().currentChanged.connect(self._changed)
        self.list.activated.connect(self._changed)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self.list)

    def _changed(self, current: QModelIndex, *_: object) -> None:
        finding = self.model.data(current, FINDING_ROLE)
        if finding is not None:
            self.chosen.emit(finding)

    def step(self, by: int) -> None:
        """Choose the next or the previous finding, round and round."""
        count = self.model.rowCount()
        if count:
            here = self.list.currentIndex().row()
            row = (here + by) % count if here >= 0 else (0 if by > 0 else count - 1)
            self.list.setCurrentIndex(self.model.index(row))
