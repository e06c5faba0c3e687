"""Pictures of the program's screens, made without anyone looking: for the README, and for eyes."""

from __future__ import annotations

import json
import os
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import chdir, contextmanager
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import (
    QMessageLogContext,
    QSize,
    QtMsgType,
    qFormatLogMessage,
    qInstallMessageHandler,
)
from PySide6.QtGui import QImage

from samelight.drift.cells import CellName
from samelight.gui.background.sweeping import swept_in_this_thread
from samelight.gui.paint.png_bytes import png_bytes
from samelight.gui.screenshots.backstage import Stage, quiet
from samelight.gui.screenshots.screens import SCREENS, Screen
from samelight.gui.window.application import application
from samelight.sequence.session import Session, open_session
from samelight.sheets.documents import write_document
from samelight.sheets.errors import SamelightError

_SCALE = "QT_SCALE_FACTOR"
_PLATFORM = "QT_QPA_PLATFORM"
_OWN_FOLDER = "XDG_CONFIG_HOME"
_OF_THE_PLATFORM = "This plugin does not support"


@dataclass(frozen=True, slots=True)
class Look:
    """How screens are drawn: `size` of the window at 100 %, `scale` in per cent, the cell that the cursor is on."""

    size: tuple[int, int] = (1600, 950)
    scale: int = 100
    cell_name: CellName | None = None


def save_pictures(folder: Path, files: Mapping[str, Path], look: Look, told: Callable[[Path], None]) -> None:
    """Open a sequence and save screens by name, each as a PNG file; `told` hears of every file that was written.

    One that the sequence has nothing to show for does not keep the others from being made. Raises `SamelightError`.
    """
    missed = []
    with tempfile.TemporaryDirectory() as scratch, _platform(look, Path(scratch)):
        app = application()
        session = open_session(folder.resolve())  # as screens are drawn in a working folder of their own
        with quiet(app), _without_talk_of_the_platform():
            for name, path in files.items():
                try:
                    picture = draw(SCREENS[name], session, look)
                except SamelightError as error:
                    missed.append(f"{name}: {error}")
                else:
                    write_document(path, _png(picture, path))
                    told(path)
    if missed:
        raise SamelightError("\n".join(missed))


def draw(screen: Screen, session: Session, look: Look) -> QImage:
    """A picture of one screen. Raises `SamelightError` when the sequence has nothing to show on it."""
    with tempfile.TemporaryDirectory() as scratch, chdir(scratch), swept_in_this_thread():
        stage = Stage(session, QSize(*look.size), look.cell_name)
        try:
            picture = screen.draw(stage)
        finally:
            stage.close()
    expected = (QSize(*look.size).toSizeF() * (look.scale / 100)).toSize()
    if picture.size() != expected:
        ratio = f"{picture.devicePixelRatio():.0%}".replace("%", " %")
        raise SamelightError(
            f"expected a display that draws at {look.scale} %, found one that draws at {ratio}"
        )
    return picture


def _png(picture: QImage, output: Path) -> bytes:
    try:
        return png_bytes(picture)
    except SamelightError as error:
        raise SamelightError(f"{output}: {error}") from None


@contextmanager
def _platform(look: Look, scratch: Path) -> Iterator[None]:
    """Ask Qt, before it starts, for a desktop that nobody sees, unless QT_QPA_PLATFORM names one, and for the scale.

    Nothing that is the user's own is seen in a picture.
    """
    kept = {name: os.environ.get(name) for name in (_SCALE, _PLATFORM, _OWN_FOLDER)}
    os.environ[_OWN_FOLDER] = str(scratch)
    if kept[_PLATFORM] in (None, "", "offscreen"):
        # As if the window filled the screen: its own desktop is so small that boxes with much text would lie about their size.
        width, height = (side * look.scale // 100 for side in look.size)
        screen = {"name": "pictures", "x": 0, "y": 0, "width": width, "height": height}
        screen |= {"logicalDpi": 96, "logicalBaseDpi": 96, "dpr": 1}
        desktop = scratch / "desktop.json"
        desktop.write_text(json.dumps({"windowFrameMargins": False, "screens": [screen]}), encoding="utf-8")
        os.environ[_PLATFORM] = f"offscreen:configfile={desktop}"
    os.environ[_SCALE] = str(look.scale / 100)
    try:
        yield
    finally:
        for name, value in kept.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value


@contextmanager
def _without_talk_of_the_platform() -> Iterator[None]:
    """The offscreen platform says of size hints, of raising and of grabbing that it has none, which helps nobody here."""

    def say(kind: QtMsgType, context: QMessageLogContext, text: str) -> None:
        if text.startswith(_OF_THE_PLATFORM):
            return
        if before is not None:
            before(kind, context, text)
        elif sys.stderr is not None:
            print(qFormatLogMessage(kind, context, text), file=sys.stderr)  # noqa: T201 - as Qt does

    before = qInstallMessageHandler(say)
    try:
        yield
    finally:
        qInstallMessageHandler(before)
