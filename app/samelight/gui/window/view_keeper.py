"""Saved views in the window: taking one of what is listed, showing one, and the menu that lists them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QMenu, QWidget

from samelight.drift.words import counted, first_names
from samelight.gui.dialogs.views_dialog import EVERYBODY, MINE, ViewsDialog
from samelight.gui.state.rows import GridState
from samelight.gui.widgets.plain_text import plain, plain_item
from samelight.gui.window.bar import Bar
from samelight.gui.window.my_shots import MyShots
from samelight.gui.window.views import Views
from samelight.gui.window.workspace import Workspace
from samelight.sequence.saved_views import Names, Saved, View, list_views, own_folder, shared_folder

_NAMED = 4
_PLACES = {EVERYBODY: "For everybody", MINE: "For me"}


class ViewKeeper(QObject):
    """Ties saved views to the bar, the grid and the switch for my shots."""

    said = Signal(str)

    def __init__(self, work: Workspace, bar: Bar, my_shots: MyShots, menu: QMenu, window: QWidget) -> None:
        super().__init__(work)
        self._work = work
        self._bar = bar
        self._my_shots = my_shots
        self._window = window
        self.menu = menu
        self.menu.aboutToShow.connect(self.fill_menu)

    def folders(self) -> dict[str, Path]:
        """Where views are, by for whom."""
        return {EVERYBODY: shared_folder(self._work.views.session.contents.folder), MINE: own_folder()}

    # Taking and showing

    def take(self, views: Views) -> View:
        """What is listed now, and how."""
        width = None if views.grid.widths.fitted else float(views.grid.widths.width)
        return replace(views.state.view, column_width=width)

    def show(self, saved: Saved) -> None:
        """List what a view says. What the sequence does not have is left out, and told."""
        views = self._work.views
        view = saved.view
        self._work.keeping_the_spot(lambda: self._list(views, view))
        remark = ""
        is_listed = self._my_shots.list_only(view.only_my_shots)
        if not self._work.is_current:
            return
        if not is_listed:
            remark = ". Your shots are not known, so all are listed"
        missing = view.unknown(_rows(views.state), set(views.state.table.shots))
        if missing:
            names = first_names(missing, _NAMED)
            remark += f". It names {counted(len(missing), 'row or shot', 'rows or shots')} not here: {names}"
        self.said.emit(f"View {saved.name}{remark}")

    def _list(self, views: Views, view: View) -> None:
        self._bar.ask_for(view)
        state, rows = views.state, _rows(views.state)
        groups, shots = {group.name for group in state.groups}, set(state.table.shots)
        views.model.show(
            replace(
                view,
                only_my_shots=state.mine is not None,
                column_width=state.view.column_width,
                fitted=state.view.fitted,
                expanded=_known(view.expanded, groups),
                pinned=_known(view.pinned, rows),
                hidden_rows=_known(view.hidden_rows, rows),
                hidden_shots=_known(view.hidden_shots, shots),
                together=_known(view.together, groups),
            )
        )
        views.grid.order_box.setCurrentText(str(view.order))
        views.grid.widths.zoom_as(view)
        views.grid.names.viewport().update()
        views.grid.together_changed.emit()

    # Menu and dialog

    def fill_menu(self) -> None:
        """List the views there are now; a file that was skipped is told in its place."""
        self.menu.clear()
        for place, folder in self.folders().items():
            listed = list_views(folder)
            self.menu.addSection(_PLACES[place])
            for saved in listed.saved:
                action = self.menu.addAction(plain_item(saved.name))
                action.setToolTip(plain(str(saved.path)))
                action.triggered.connect(lambda *_, one=saved: self.show(one))
            for path, fault in listed.faults:
                action = self.menu.addAction(plain_item(f"Skipped: {path.name}"))
                action.setToolTip(plain(fault))
                action.triggered.connect(lambda *_, text=fault: self.said.emit(text))
            if not listed.saved and not listed.faults:
                self.menu.addAction("Nothing yet").setEnabled(False)

    def open_dialog(self) -> None:
        """Save what is listed, or show or delete what was saved."""
        dialog = ViewsDialog(self.take(self._work.views), self.folders(), self._window)
        agreed = dialog.exec() == ViewsDialog.DialogCode.Accepted
        opened, name = dialog.opened, dialog.name.text().strip()
        dialog.deleteLater()
        if not self._work.is_current:
            return
        if opened is not None:
            self.show(opened)
        elif agreed:
            self.said.emit(f"Saved the view {name}")


def _rows(state: GridState) -> set[str]:
    """The names that a view may have for rows: those of groups and of parameters."""
    return {group.name for group in state.groups} | {row.parameter for row in state.table.rows}


def _known(names: Names, there: set[str]) -> Names:
    return tuple(name for name in names if name in there)
