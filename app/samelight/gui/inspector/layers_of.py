"""Which layers of its scene a captured value comes from: asked for with a click, and read beside the window."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import Any

from PySide6.QtCore import QObject

from samelight.drift.rows import Row
from samelight.gui.background.background import Background
from samelight.gui.inspector.places import Destination, Places
from samelight.gui.widgets.page_parts import TextBlock
from samelight.sequence.session import Session
from samelight.sheets.vocabulary import LIT, typed_names
from samelight.sources.limits import SCENE
from samelight.sources.scenes import USD_ENDINGS
from samelight.sources.trial import tried

_NONE = "No layer says anything of it: it is what the schema says where nobody does."


class LayersOf(QObject):
    """A button that asks which layers say what of a value, and the lines that it gets."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.ask = Places(lines=2)
        self.said = TextBlock("Layers of the scene")
        self._background = Background(self)

    def show_for(self, session: Session, shot: str, row: Row) -> bool:
        """Offer to look at a value of a shot; False where it was captured from no USD scene that is there."""
        self._background.cancel("layers")
        self.said.hide()
        sheet = session.contents.sheets.get(shot)
        source = sheet.typed.get("source") if sheet is not None else None
        scene = _scene_of(session.contents.folder, source) if isinstance(source, Mapping) else None
        if scene is None or not isinstance(source, Mapping) or row.section not in LIT or not row.leaf:
            return False
        look = partial(_look, scene, dict(source), row.group, typed_names(row.section, row.leaf))
        going = "Reads the scene, and lists what each layer says, the strongest first"
        self.ask.show_places(
            [Destination("Which layers say so", scene.name, "", 0.0, going, partial(self._start, look))]
        )
        return True

    def _start(self, look: partial[list[str]]) -> None:
        self._show(["The scene is being read …"])
        self._background.run("layers", look, self._show, lambda why: self._show([why]))

    def _show(self, lines: list[str]) -> None:
        self.said.show_lines(lines or [_NONE])
        self.said.show()


def _look(scene: Path, source: dict[str, Any], group: str, names: tuple[str, ...]) -> list[str]:
    from samelight.sources.usd.opinions import opinions_on

    return [opinion.text for opinion in tried(scene, SCENE, opinions_on, scene, source, group, names)]


def _scene_of(folder: Path, source: Mapping[str, Any]) -> Path | None:
    stated = source.get("scene")
    if not isinstance(stated, str) or Path(stated).suffix.lower() not in USD_ENDINGS:
        return None
    return next((path for path in (folder / stated, Path(stated)) if path.is_file()), None)
