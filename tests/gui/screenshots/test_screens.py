"""Pictures of the screens: each shows something of its own, and no widget of the window is left out.

They are drawn once, of a sequence whose names and words look like mark-up: what is shown of those is held as well.
"""

from __future__ import annotations

import importlib
import inspect
import os
import pkgutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from PySide6.QtCore import QEvent, QObject
from PySide6.QtGui import QImage, QPainter, QRawFont
from PySide6.QtWidgets import QAbstractScrollArea, QApplication, QInputDialog, QMenu, QMessageBox, QWidget

import samelight.gui
from conftest import MakeSequence
from gui_audit import Audit
from gui_hostile import MARK, Lure, hostile_copy
from samelight.gui.paint import theme
from samelight.gui.screenshots.backstage import Stage, quiet
from samelight.gui.screenshots.screens import SCREENS
from samelight.gui.screenshots.screenshots import Look, draw
from samelight.gui.window.application import application
from samelight.sequence.session import Session, open_session
from samelight.sheets.errors import SamelightError

LOOK = Look((1120, 700))

FEWEST_COLOURS, FEWEST_GREYS, FEWEST_BRIGHT = 40, 30, 300


class Painted(QObject):
    """Notes the class of every widget that paints itself, and what all of them say."""

    def __init__(self) -> None:
        super().__init__()
        self.classes: set[type] = set()
        self.audit = Audit()

    @contextmanager
    def while_pictures_are_taken(self, app: QApplication) -> Iterator[None]:
        """Look on while the stage takes pictures, and not at the events of all that comes before them."""
        still = Stage.still

        def looked_at(stage: Stage, widget: QWidget) -> QImage:
            app.installEventFilter(self)
            try:
                return still(stage, widget)
            finally:
                app.removeEventFilter(self)
                self.audit.look()

        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(Stage, "still", looked_at)
            yield

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802 - Qt names it
        if event.type() == QEvent.Type.Paint:
            self.classes.update(type(watched).__mro__)
            area = watched.parent()  # what scrolls is painted on a plain widget of its own
            if isinstance(area, QAbstractScrollArea) and area.viewport() is watched:
                self.classes.update(type(area).__mro__)
        return False


@dataclass
class Gallery:
    """Every screen of a hostile copy of harbour, what painted itself on them, and the copy's files before and after."""

    tag: str
    """What the sun is called."""
    lure: Lure | None
    """Where a system has none, nothing shows who loads a picture."""
    session: Session
    pictures: dict[str, QImage] = field(default_factory=dict)
    painted: Painted = field(default_factory=Painted)
    before: dict[Path, bytes] = field(default_factory=dict)
    after: dict[Path, bytes] = field(default_factory=dict)


@pytest.fixture(scope="module")
def gallery(qapp: QApplication, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Gallery]:
    lure = Lure(tmp_path_factory.mktemp("lure")) if hasattr(os, "mkfifo") else None
    tag = lure.tag if lure is not None else "<img src=file:///no/picture>"
    folder = hostile_copy(tmp_path_factory.mktemp("screens") / "harbour", tag)
    app = application()
    made = Gallery(tag, lure, open_session(folder), before=files(folder))
    with quiet(app), made.painted.while_pictures_are_taken(app):
        for name, screen in SCREENS.items():
            made.pictures[name] = draw(screen, made.session, LOOK)
    made.after = files(folder)
    yield made
    if lure is not None:
        lure.close()


def files(folder: Path) -> dict[Path, bytes]:
    return {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def pixels(picture: QImage) -> NDArray[np.uint32]:
    """Red, green and blue of every pixel, one number each."""
    plain = picture.convertToFormat(QImage.Format.Format_RGB32)
    return np.frombuffer(plain.constBits(), np.uint32).copy()  # the bytes go with the picture


def kinds(numbers: NDArray[np.integer], most: int) -> int:
    """How many of them differ; none is larger than `most`."""
    seen = np.zeros(most + 1, np.bool_)
    seen[numbers] = True
    return int(np.count_nonzero(seen))


def has_text(picture: QImage) -> bool:
    """Whether there is much as bright as text is, and the greys of its smoothed edges."""
    found = pixels(picture)
    blue, green, red = found & 255, found >> 8 & 255, found >> 16 & 255
    greys = blue[(blue == green) & (green == red)]
    return (greys >= 200).sum() >= FEWEST_BRIGHT and kinds(greys, 255) >= FEWEST_GREYS


def test_what_counts_as_text() -> None:
    picture = QImage(400, 300, QImage.Format.Format_RGB32)
    picture.fill(theme.TEXT)
    assert not has_text(picture)
    picture.fill(theme.WINDOW)
    with QPainter(picture) as painter:
        painter.fillRect(20, 20, 60, 60, theme.TEXT)
    assert not has_text(picture)
    with QPainter(picture) as painter:
        painter.setPen(theme.TEXT)
        painter.setFont(theme.font(11.5))
        for line in range(12):
            painter.drawText(100, 20 + 20 * line, "Say which differences are meant")
    assert has_text(picture)


def test_the_text_face_has_letters() -> None:
    """Without it text would be boxes, which are bright as well."""
    face = QRawFont.fromFont(theme.font())
    assert face.familyName() == theme.TEXT_FAMILY
    assert all(face.supportsCharacter(ord(letter)) for letter in "AzÄ0°")


@pytest.mark.parametrize("name", SCREENS)
def test_a_screen_shows_something(gallery: Gallery, name: str) -> None:
    picture = gallery.pictures[name]
    ratio = picture.devicePixelRatio()
    assert (picture.width(), picture.height()) == tuple(round(side * ratio) for side in LOOK.size)
    assert kinds(pixels(picture) & 0xFFFFFF, 0xFFFFFF) >= FEWEST_COLOURS
    assert has_text(picture)


def test_no_two_screens_are_alike(gallery: Gallery) -> None:
    shown = {name: pixels(picture).tobytes() for name, picture in gallery.pictures.items()}
    assert len(set(shown.values())) == len(SCREENS)


@pytest.mark.parametrize("name", ["window", "review-wipe", "intend"])
def test_a_screen_is_the_same_each_time(gallery: Gallery, qapp: QApplication, name: str) -> None:
    """Whatever is read in threads is there. Qt smooths large letters otherwise the second time: far fewer pixels."""
    with quiet(qapp):
        again = draw(SCREENS[name], gallery.session, LOOK)
    changed = pixels(again) != pixels(gallery.pictures[name])
    rows, columns = np.divmod(np.flatnonzero(changed), again.width())
    assert changed.mean() < 0.005, f"from {columns.min()}, {rows.min()} to {columns.max()}, {rows.max()}"


def widget_classes() -> set[type]:
    """Every kind of widget that the program has of its own."""
    found = set()
    for module in pkgutil.walk_packages(samelight.gui.__path__, "samelight.gui."):
        for _, one in inspect.getmembers(importlib.import_module(module.name), inspect.isclass):
            if issubclass(one, QWidget) and one.__module__ == module.name:
                found.add(one)
    return found


def test_every_widget_is_on_some_screen(gallery: Gallery) -> None:
    own = widget_classes()
    assert len(own) > 15
    assert {one.__name__ for one in own - gallery.painted.classes} == set()
    assert {QMessageBox, QInputDialog, QMenu} <= gallery.painted.classes


def test_the_sequence_is_left_as_it_is(gallery: Gallery) -> None:
    assert gallery.before == gallery.after


def test_every_screen_shows_names_to_the_letter(gallery: Gallery) -> None:
    assert gallery.lure is None or gallery.lure.opened == 0
    said, tag = gallery.painted.audit.said, gallery.tag
    for place in ("tool tip", "label", "item"):
        text = "\n".join(said[place])
        assert tag in text and MARK in text, place
    assert any(MARK in text or tag in text for text in said["page"])
    assert any("[*][*]" in title or "[*]" in title for title in said["title"])
    assert gallery.painted.audit.hiding == set()
    assert f"{MARK}��" in "\n".join(said["tool tip"])


def test_names_and_what_they_show() -> None:
    for name, screen in SCREENS.items():
        assert screen.name == name
        assert name.replace("-", "").isalpha() and name.islower()
    assert len({screen.shows for screen in SCREENS.values()}) == len(SCREENS)


def test_the_list_of_screens_loads_no_qt() -> None:
    said = "import sys, samelight.gui.screenshots.screens; print([name for name in sys.modules if 'PySide' in name])"
    done = subprocess.run(
        [sys.executable, "-c", said],
        env={"PYTHONPATH": str(Path(samelight.gui.__path__[0]).parents[1]), "PATH": ""},
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("older-master", "there is no other master"),
        ("send-back", "there is nothing here to ask about"),
        ("publish", "no shot drifts without"),
    ],
)
def test_what_a_sequence_cannot_show_is_said(
    make_sequence: MakeSequence, qapp: QApplication, name: str, says: str
) -> None:
    sun = {"lights": {"sun": {"type": "distant", "azimuth": 131, "elevation": 24, "intensity": 3.2}}}
    session = open_session(make_sequence(master=sun, shots={"QU_010": sun, "QU_020": sun}))
    with quiet(qapp), pytest.raises(SamelightError, match=says):
        draw(SCREENS[name], session, LOOK)


@pytest.mark.parametrize("name", ["window", "intend", "view-menu", "review"])
def test_a_size_that_no_window_takes(gallery: Gallery, qapp: QApplication, name: str) -> None:
    with quiet(qapp), pytest.raises(SamelightError, match=r"300x200 is too small: this window needs \d+x\d+"):
        draw(SCREENS[name], gallery.session, Look((300, 200)))


def test_a_cell_can_be_asked_for(gallery: Gallery, qapp: QApplication) -> None:
    there = Look(LOOK.size, cell_name=("HB_180", "lights.window_fill.level"))
    with quiet(qapp):
        assert draw(SCREENS["window"], gallery.session, there) != gallery.pictures["window"]
        with pytest.raises(SamelightError, match=r"HB_180 lights\.moon\.level"):
            draw(
                SCREENS["window"], gallery.session, Look(LOOK.size, cell_name=("HB_180", "lights.moon.level"))
            )
