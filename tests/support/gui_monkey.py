"""A hand that does anything at all in the window, while others change the folder. By hand: python tests/gui_monkey.py 50 0."""

from __future__ import annotations

import random
import shutil
import sys
import tempfile
import traceback
from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QEvent, QPoint, QPointF, QSettings, QSize, Qt, QTimer, qInstallMessageHandler
from PySide6.QtGui import QHelpEvent, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QDialog, QFileDialog, QLineEdit, QMenu, QWidget
from shiboken6 import isValid

from samelight.decisions.decision import Verb
from samelight.decisions.ledger import Subject, open_ledger
from samelight.gui.background.sweeping import swept_in_this_thread
from samelight.gui.paint import theme
from samelight.gui.window.main_window import MainWindow
from samelight.sheets.resources import sample_sequence

KEYS = [
    getattr(Qt.Key, f"Key_{name}")
    for name in [
        "A",
        "B",
        "F",
        "H",
        "I",
        "K",
        "L",
        "M",
        "N",
        "O",
        "P",
        "R",
        "S",
        "T",
        "U",
        "V",
        "W",
        "Up",
        "Down",
        "Left",
        "Right",
        "Home",
        "End",
    ]
]
KEYS += [
    Qt.Key.Key_PageUp,
    Qt.Key.Key_PageDown,
    Qt.Key.Key_Escape,
    Qt.Key.Key_Return,
    Qt.Key.Key_Tab,
    Qt.Key.Key_Space,
]
KEYS += [
    Qt.Key.Key_Plus,
    Qt.Key.Key_Minus,
    Qt.Key.Key_0,
    Qt.Key.Key_Delete,
    Qt.Key.Key_Backspace,
    Qt.Key.Key_Period,
]
NOTHING = Qt.KeyboardModifier.NoModifier
MODIFIERS = [NOTHING] * 6 + [Qt.KeyboardModifier.ShiftModifier, Qt.KeyboardModifier.ControlModifier]
LEFT_ALONE = {"quit", "sample"}
"""What would end the run, or leave the folder that is the test's own."""

DAMAGE = (b"", b"samelight: 2\nlighst: {}\n", b"\xff\xfe\x00", b"samelight: 2\nshot: [", b"samelight: 9\n")


class Monkey:
    """Does one thing after another, always the same ones for a seed."""

    def __init__(self, window: MainWindow, folder: Path, seed: int) -> None:
        self.window, self.folder = window, folder
        self.dice = random.Random(seed)
        self.done: list[str] = []
        self._whole = folder.with_name(f"{folder.name}-whole")
        shutil.copytree(folder, self._whole)
        self._closer = QTimer()
        self._closer.setInterval(15)
        self._closer.timeout.connect(self._close_what_is_modal)
        self._closer.start()
        self._acts: list[tuple[int, Callable[[], str]]] = [
            (8, self._key),
            (6, self._click),
            (3, self._wheel),
            (1, self._resize),
            (5, self._command),
            (2, self._hover),
            (1, self._drop_down),
            (1, self._type),
            (3, self._change_the_folder),
            (2, self._wait),
        ]

    def run(self, events: int) -> None:
        """Do so many things."""
        weights, acts = [weight for weight, _ in self._acts], [act for _, act in self._acts]
        for _ in range(events):
            self.done.append(self.dice.choices(acts, weights)[0]())
            QApplication.processEvents()
        self._closer.stop()
        self._close_popups()

    # What the hand does

    def _widgets(self) -> list[QWidget]:
        windows = [
            one for one in QApplication.topLevelWidgets() if one.isVisible() and not isinstance(one, QMenu)
        ]
        return [
            one for window in windows for one in (window, *window.findChildren(QWidget)) if one.isVisible()
        ]

    def _some(self) -> tuple[QWidget, QPoint]:
        widget = self.dice.choice(self._widgets())
        while not isValid(widget):  # it went with a window that nothing but that list held any more
            widget = self.dice.choice(self._widgets())
        size = widget.size()
        return widget, QPoint(
            self.dice.randrange(max(size.width(), 1)), self.dice.randrange(max(size.height(), 1))
        )

    def _key(self) -> str:
        key, modifier = self.dice.choice(KEYS), self.dice.choice(MODIFIERS)
        target = QApplication.focusWidget() or self.window
        QTest.keyClick(target, key, modifier)
        return f"key {key.name} {modifier.name}"

    def _click(self) -> str:
        widget, place = self._some()
        said = f"click {type(widget).__name__} {place.toTuple()}"
        button = Qt.MouseButton.LeftButton
        act = self.dice.choice((QTest.mouseClick, QTest.mouseClick, QTest.mouseDClick))
        act(widget, button, self.dice.choice(MODIFIERS), place)
        self._close_popups()
        return said

    def _wheel(self) -> str:
        widget, place = self._some()
        turn = QPoint(0, self.dice.choice((-240, -120, 120, 240)))
        event = QWheelEvent(
            QPointF(place),
            QPointF(widget.mapToGlobal(place)),
            QPoint(),
            turn,
            Qt.MouseButton.NoButton,
            self.dice.choice(MODIFIERS),
            Qt.ScrollPhase.NoScrollPhase,
            False,
        )
        said = f"wheel {type(widget).__name__}"
        QApplication.sendEvent(widget, event)
        return said

    def _hover(self) -> str:
        widget, place = self._some()
        said = f"hover {type(widget).__name__}"
        QTest.mouseMove(widget, place)
        if not isValid(widget):
            return said
        help_ = QHelpEvent(QEvent.Type.ToolTip, place, widget.mapToGlobal(place))
        QApplication.sendEvent(widget, help_)
        return said

    def _resize(self) -> str:
        size = QSize(self.dice.randrange(900, 1900), self.dice.randrange(560, 1100))
        self.window.resize(size)
        return f"resize {size.toTuple()}"

    def _command(self) -> str:
        name = self.dice.choice(sorted(self.window.actions_by_name.keys() - LEFT_ALONE))
        self.window.actions_by_name[name].trigger()
        review = self.window.review.window
        if review is not None and review.isVisible() and self.dice.random() < 0.5:
            others = sorted(review.actions_by_name.keys() - {"close"})
            name = self.dice.choice(others)
            review.actions_by_name[name].trigger()
        self._close_popups()
        return f"command {name}"

    def _drop_down(self) -> str:
        boxes = [one for one in self._widgets() if isinstance(one, QComboBox) and one.count()]
        box = self.dice.choice(boxes)
        place = self.dice.randrange(box.count())
        box.setCurrentIndex(place)
        box.activated.emit(place)
        return f"choose {place} of {box.accessibleName()}"

    def _type(self) -> str:
        fields = [one for one in self._widgets() if isinstance(one, QLineEdit) and one.isEnabled()]
        if fields:
            QTest.keyClicks(
                self.dice.choice(fields), self.dice.choice(("sun", "HB_1", "nothing like it", "<b>&x"))
            )
        return "type"

    def _wait(self) -> str:
        QTest.qWait(self.dice.choice((1, 20, 150)))
        return "wait"

    def _close_what_is_modal(self) -> None:
        box = QApplication.activeModalWidget()
        if isinstance(box, QFileDialog):
            box.reject()  # it has questions of its own about what is typed
        elif isinstance(box, QDialog):
            fields = box.findChildren(QLineEdit)
            if fields and self.dice.random() < 0.5:
                fields[0].setText("as asked for in dailies")
            (box.accept if self.dice.random() < 0.4 else box.reject)()
        self._close_popups()

    def _close_popups(self) -> None:
        popup = QApplication.activePopupWidget()
        while popup is not None:
            popup.close()
            popup = (
                QApplication.activePopupWidget() if popup is not QApplication.activePopupWidget() else None
            )

    # What others do to the folder

    def _change_the_folder(self) -> str:
        act = self.dice.choice(
            (
                self._damage,
                self._damage,
                self._mend,
                self._mend,
                self._remove,
                self._decide,
                self._damage_decision,
            )
        )
        return act()

    def _sheet(self) -> Path:
        return self.dice.choice(sorted(self._whole.rglob("*.yaml"))).relative_to(self._whole)

    def _damage(self) -> str:
        place = self._sheet()
        (self.folder / place).parent.mkdir(parents=True, exist_ok=True)
        (self.folder / place).write_bytes(self.dice.choice(DAMAGE))
        return f"damage {place}"

    def _mend(self) -> str:
        shutil.copytree(self._whole, self.folder, dirs_exist_ok=True)
        return "mend"

    def _remove(self) -> str:
        place = self._sheet()
        (self.folder / place).unlink(missing_ok=True)
        return f"remove {place}"

    def _decide(self) -> str:
        session = self.window.session
        if session is None or not session.table.rows or not session.contents.shots:
            return "nothing to decide on"
        subject = Subject(
            self.dice.choice(session.contents.shots), self.dice.choice(session.table.rows).parameter, 1.0, 2.0
        )
        open_ledger(self.folder).decide(Verb.RETURN, [subject], "another", "to be mended")
        return f"decide elsewhere {subject.shot} {subject.parameter}"

    def _damage_decision(self) -> str:
        there = self.folder / "decisions"
        if there.is_dir() and (files := sorted(there.glob("*.yaml"))):
            self.dice.choice(files).write_bytes(b"verb: int")
        return "damage a decision"


def run_by_hand(runs: int, first: int, events: int = 300) -> int:
    """Runs of many events each on copies of harbour; how many of them ended in an error or a warning of Qt."""
    app = QApplication(["monkey"])
    theme.apply(app)
    heard: list[str] = []
    sys.excepthook = lambda kind, error, where: heard.append(
        "".join(traceback.format_exception(kind, error, where))
    )
    qInstallMessageHandler(
        lambda _kind, _where, said: (
            None if "This plugin does not support" in said else heard.append(f"Qt: {said}")
        )
    )
    bad = 0
    for seed in range(first, first + runs):
        with tempfile.TemporaryDirectory() as scratch, swept_in_this_thread():
            QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, scratch)
            folder = Path(scratch, "harbour")
            shutil.copytree(sample_sequence("harbour"), folder)
            window = MainWindow()
            window.show()
            window.open_folder(folder)
            while window.session is None:
                QTest.qWait(10)
            monkey = Monkey(window, folder, seed)
            monkey.run(events)
            window.close()
            window.deleteLater()
            QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)
            QApplication.processEvents()
        if heard:
            bad += 1
            print(
                f"seed {seed}: {len(heard)} heard, after {monkey.done[-6:]}",
                *dict.fromkeys(heard),
                sep="\n",
                flush=True,
            )
            heard.clear()
    print(f"{runs} runs from {first}: {bad} bad", flush=True)
    return bad


if __name__ == "__main__":
    sys.exit(bool(run_by_hand(int(sys.argv[1]), int(sys.argv[2]))))
