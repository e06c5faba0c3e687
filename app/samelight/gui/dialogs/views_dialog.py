"""The dialog that saves what is listed as a view, and deletes views."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QHBoxLayout,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QRadioButton,
    QVBoxLayout,
    QWidget,
)

from samelight.gui.widgets.boxes import agrees
from samelight.gui.widgets.plain_text import PlainLabel, plain
from samelight.reports.shown import shown
from samelight.sequence.saved_views import (
    Saved,
    View,
    ViewFolder,
    checked_name,
    delete_view,
    list_views,
    save_view,
)
from samelight.sheets.errors import SamelightError

EVERYBODY = "for everybody"
MINE = "for me"
_WITH_KEYS = {EVERYBODY: "for &everybody", MINE: "for &me"}
_SAVED = Qt.ItemDataRole.UserRole
_FAULTS_SAID = 3


class ViewsDialog(QDialog):
    """Saves a view under a name, for everybody or for the user; lists those there are, and deletes the chosen one.

    `folders` are where views are, by for whom. `opened` is the one that was asked to be shown.
    """

    def __init__(self, view: View, folders: dict[str, Path], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Saved views")
        self.resize(520, 420)
        self._view = view
        self._folders = folders
        self._listed: dict[str, ViewFolder] = {}
        self.opened: Saved | None = None
        self.name = QLineEdit()
        self.name.setPlaceholderText("Name of the view")
        self.name.setAccessibleName("Name of the view")
        self.name.setToolTip("Save the rows and shots listed now under this name")
        self.places = {place: QRadioButton(_WITH_KEYS[place]) for place in folders}
        self.places[MINE].setChecked(True)
        for place, button in self.places.items():
            button.setToolTip(plain(f"As a file in {folders[place]}"))
            button.toggled.connect(self._check)
        self.list = QListWidget()
        self.list.setAccessibleName("Saved views")
        self.list.setToolTip("Enter shows a view, Delete deletes it")
        self.list.currentItemChanged.connect(self._chosen)
        self.list.itemActivated.connect(self._open)
        self.said = PlainLabel()
        self.said.setWordWrap(True)
        self._lay_out()
        self.name.textChanged.connect(self._check)
        self._fill()
        self.name.setFocus()

    def _lay_out(self) -> None:
        row = QHBoxLayout()
        for place in self.places.values():
            row.addWidget(place)
        row.addStretch()
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)

        def added(text: str, tip: str, call: Callable[[], None]) -> QPushButton:
            button: QPushButton = buttons.addButton(text, QDialogButtonBox.ButtonRole.ActionRole)
            button.setToolTip(plain(tip))
            button.setAutoDefault(False)
            button.clicked.connect(call)
            return button

        self.save_button = added("&Save", "Save what is listed now (Enter)", self.save)
        self.show_button = added("Sho&w", "Show the chosen view (Enter in the list)", self._open)
        self.delete_button = added("&Delete", "Delete the chosen view (Delete)", self.delete)
        buttons.rejected.connect(self.reject)
        form = QFormLayout()
        form.addRow("&Name", self.name)
        form.addRow("", row)
        layout = QVBoxLayout(self)
        layout.addLayout(form)
        layout.addWidget(self.list, 1)
        layout.addWidget(self.said)
        layout.addWidget(buttons)
        # Enter saves: a dialog takes its default button only once it holds it.
        buttons.button(QDialogButtonBox.StandardButton.Close).setAutoDefault(False)
        self.save_button.setDefault(True)

    @property
    def place(self) -> str:
        """For whom it is saved."""
        return next(place for place, button in self.places.items() if button.isChecked())

    @property
    def chosen(self) -> Saved | None:
        """The view that is chosen in the list."""
        item = self.list.currentItem()
        saved = item.data(_SAVED) if item is not None else None
        return saved if isinstance(saved, Saved) else None

    def _fill(self) -> None:
        self._listed = {place: list_views(folder) for place, folder in self._folders.items()}
        self.list.clear()
        faults: list[str] = []
        for place, listed in self._listed.items():
            faults += [fault for _, fault in listed.faults]
            for saved in listed.saved:
                item = QListWidgetItem(shown(f"{saved.name}    {place}"))
                item.setData(_SAVED, saved)
                item.setToolTip(plain(str(saved.path)))
                self.list.addItem(item)
        more = len(faults) - _FAULTS_SAID
        said = [f"Skipped: {fault}" for fault in faults[:_FAULTS_SAID]]
        self.said.setText("\n".join([*said, f"and {more} more"] if more > 0 else said))
        self._check()

    def _chosen(self) -> None:
        saved = self.chosen
        if saved is not None:
            self.name.setText(saved.name)
            place = next(place for place, folder in self._folders.items() if saved.path.parent == folder)
            self.places[place].setChecked(True)
        self._check()

    def _check(self) -> None:
        there = self._listed[self.place].named(self.name.text())
        self.save_button.setText("&Replace" if there is not None else "&Save")
        self.save_button.setEnabled(bool(self.name.text().strip()))
        for button in (self.show_button, self.delete_button):
            button.setEnabled(self.chosen is not None)

    def save(self) -> None:
        """Save under the name that was typed."""
        try:
            name = checked_name(self.name.text())
            if not self._may_write(name):
                return
            save_view(self._folders[self.place], name, self._view)
        except SamelightError as error:
            self.said.setText(f"Not saved: {error}")
            return
        self.accept()

    def _may_write(self, name: str) -> bool:
        """Whether a view may be written; where one of its name came or changed since it was listed, the user says so."""
        was = self._listed[self.place].named(name)
        there = list_views(self._folders[self.place]).named(name)
        if there is None or there == was:
            return True
        place, kept = self.place, self.name.text()
        self._fill()
        self.places[place].setChecked(True)
        self.name.setText(kept)
        changed = "saved" if was is None else "changed"
        return agrees(
            self,
            "Replace the view?",
            f"Somebody {changed} “{there.name}” {place} after this list was made. Replace it with what is listed here?",
            "&Replace",
        )

    def delete(self) -> None:
        """Delete the chosen view."""
        saved = self.chosen
        if saved is None:
            return
        try:
            delete_view(saved)
        except SamelightError as error:
            self.said.setText(f"Not deleted: {error}")
            return
        self._fill()

    def _open(self) -> None:
        if self.chosen is not None:
            self.opened = self.chosen
            self.accept()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Delete and self.focusWidget() is self.list:
            self.delete()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.focusWidget() is self.list:
            self._open()
        else:
            super().keyPressEvent(event)
