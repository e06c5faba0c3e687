"""The shot's frame as it would be: its layers are read beside the window, and put together anew as trims are dragged."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QGuiApplication

from samelight.changes.looks import NOTHING, FrameLook, Looked, looked
from samelight.changes.matching import Match, matches
from samelight.changes.trims import gel_text, stops_text
from samelight.findings.words import sentence, thing
from samelight.gui.background.background import Background
from samelight.gui.background.frames import FULL, Frame, exposed
from samelight.gui.review.lights_panel import LightsPanel
from samelight.sequence.session import Session
from samelight.sheets.frames import MEASURED
from samelight.sheets.measured import LAYERS_AGREE
from samelight.sheets.vocabulary import LIT
from samelight.sources.errors import CaptureError
from samelight.sources.limits import PICTURE
from samelight.sources.pictures.light_layers import LightLayers, read_light_layers
from samelight.sources.pictures.pictures import PictureError, find_frame
from samelight.sources.pictures.reduced import UnreadablePictureError
from samelight.sources.pictures.seen import PLAIN, Through
from samelight.sources.trial import tried

LONGEST = 1024
"""The longest side of a frame that is put together anew: forty layers of it are 140 MB."""
_EXACT = "Exact for level and colour of each light."


_Wanted = tuple[Looked, float, Through]
"""How the lights are, the exposure, and what the frame is seen through."""


class WouldBe(QObject):
    """Keeps the layers of the shot that is shown, while the panel is shown."""

    changed = Signal()
    """The frame is another one."""

    def __init__(self, panel: LightsPanel, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.panel = panel
        self._background = Background(self)
        self._session: Session | None = None
        self._of: tuple[Path, str] | None = None
        """The folder of the sequence, and the shot in it."""
        self._shot = ""
        self._layers: LightLayers | str | None = None
        self._read_of: tuple[object, ...] | None = None
        self._looked: Looked = NOTHING
        self._made: tuple[_Wanted, Frame] | None = None
        self._making: _Wanted | None = None
        panel.changed.connect(self._look)
        panel.match_asked.connect(self._match)
        panel.copy_asked.connect(self._copy)

    @property
    def layers(self) -> LightLayers | None:
        """The layers of the shot's frame, once they are read and where there are any."""
        return self._layers if isinstance(self._layers, LightLayers) and self._layers.layers else None

    @property
    def busy(self) -> bool:
        """Whether layers are being read."""
        return self._background.busy

    def show_shot(self, session: Session, shot: str) -> None:
        """Go to a shot; its layers are read while the panel is shown."""
        sheet = session.contents.sheets.get(shot)
        of = session.contents.folder, shot
        is_other, self._of, self._session, self._shot = of != self._of, of, session, shot
        if is_other:
            self._layers = None
            self.panel.set_look(FrameLook.RENDERED)
            self.panel.set_trims({})
        if self.panel.isHidden():
            return
        if sheet is None:
            self._background.cancel("layers")
            self._layers, self._read_of = "The shot has no sheet that can be read.", None
            self._look()
            return
        try:
            path = find_frame(session.contents.folder, shot)
            stamp = None if path is None else (path, path.stat().st_mtime_ns, path.stat().st_size)
        except (OSError, PictureError):
            path, stamp = None, None
        names = tuple(name for section in LIT for name in sheet.sections.get(section, {}))
        read_of = shot, stamp, names, sheet.conventions.working_space
        if self._layers is None or self._read_of != read_of:
            self._read_of = read_of
            self._layers = None
            reading = partial(_read, path, names, sheet.conventions.working_space)
            self._background.run("layers", reading, take := partial(self._take, shot), take)
        self._look()

    def frame(
        self, shot: str, rendered: Frame | None, stops: float, through: Through = PLAIN
    ) -> Frame | None:
        """The shot's frame as it is looked at, exposed by `stops`: the rendered one where nothing is changed of it. Through a view it
        takes its time and is made beside the window; until then the one before stays."""
        layers = self.layers
        if layers is None or not self._is_other(shot):
            return rendered
        wanted = self._looked, stops, through
        if self._made is None or self._made[0] != wanted:
            making = partial(_put_together, shot, layers, wanted, str(self.panel.look))
            if through.view is None:
                self._made = making()
            elif wanted != self._making or "look" not in self._background:
                self._making = wanted
                self._background.run("look", making, self._take_look)
        return rendered if self._made is None else self._made[1]

    def title(self, shot: str) -> str:
        """The shot's name, and how its frame is looked at where that is not as rendered."""
        return f"{shot}, {self.panel.look}" if self._is_other(shot) else shot

    def _is_other(self, shot: str) -> bool:
        """Whether the frame is looked at in another way than as rendered."""
        is_shown = shot == self._shot and not self.panel.isHidden()
        return is_shown and self.layers is not None and bool(self._looked.changes)

    def _take_look(self, made: tuple[_Wanted, Frame]) -> None:
        if made[1].shot == self._shot:
            self._made = made
            self.changed.emit()

    def stop(self) -> None:
        """Let go of what is read."""
        self._background.cancel_all()
        self._background.wait()

    def _take(self, shot: str, layers: LightLayers | str) -> None:
        if shot == self._shot:
            self._layers, self._made = layers, None
            self._look()

    def _look(self) -> None:
        layers, panel = self.layers, self.panel
        panel.show_lights(() if layers is None else list(layers.layers))
        for widget in (panel.look_box, panel.match_button):
            widget.setEnabled(layers is not None)
        self._looked = NOTHING
        if layers is not None and self._session is not None:
            self._looked = looked(self._session, self._shot, panel.look, panel.stops, panel.gels)
        panel.said.setText(self._says())
        self.changed.emit()

    def _says(self) -> str:
        layers = self.layers
        if layers is None:
            if self._layers is None:
                return "Reading the layers…"
            return self._layers if isinstance(self._layers, str) else "The frame has no layers of lights."
        said = [_EXACT]
        if layers.off is not None and abs(layers.off) > LAYERS_AGREE:
            more = "more" if layers.off > 0.0 else "less"
            said.append(
                f"The layers add up to {abs(layers.off):.2f} stops {more} than the frame: what they lack stays."
            )
        lacking = [light for light in self._looked.changes if light not in layers.layers]
        if lacking:
            said.append(f"No layer of {', '.join(lacking)}.")
        if self._looked.not_shown:
            said.append(f"Not shown, since no layer tells: {', '.join(self._looked.not_shown)}.")
        if self.panel.look in (FrameLook.MASTER, FrameLook.FIXED) and not self._looked.changes:
            said.append("Nothing of the lights' level or colour would change.")
        return " ".join(said)

    def _match(self) -> None:
        if self._session is None:
            return
        found = matches(self._session, {self._shot})
        one = found[0] if found else "This is the key shot, or nothing was measured of it"
        if isinstance(one, Match):
            self.panel.set_trims({trim.light: trim.stops for trim in one.trims})
            notes = [
                sentence(f"{thing(one.mark)} as in {one.against}."),
                *(sentence(f"{note}.") for note in one.notes),
            ]
            self.panel.said.setText(" ".join([self._says(), *notes]))
        else:
            self.panel.said.setText(one)

    def _copy(self) -> None:
        stops, gels = self.panel.stops, self.panel.gels
        lines = [self._shot]
        for light in dict.fromkeys((*stops, *gels)):
            parts = [stops_text(stops[light])] if light in stops else []
            parts += [f"gel {gel_text(gels[light])}"] if light in gels else []
            lines.append(f"{light}: {', '.join(parts)}")
        QGuiApplication.clipboard().setText("\n".join([*lines, ""]))


def _put_together(shot: str, layers: LightLayers, wanted: _Wanted, look: str) -> tuple[_Wanted, Frame]:
    """The frame as it would be."""
    looked_at, stops, through = wanted
    picture = replace(layers.picture(looked_at.changes), remarks=(f"{look}: {_EXACT.lower().rstrip('.')}",))
    return wanted, exposed(Frame(shot, FULL, stops, picture=picture), stops, through)


def _read(path: Path | None, lights: tuple[str, ...], space: str) -> LightLayers | str:
    """The layers of a frame; in words, why there are none."""
    if path is None or path.suffix.lower() != MEASURED:
        return "There is no OpenEXR frame with a layer for each light."
    try:
        return tried(path, PICTURE, read_light_layers, path, lights, space, LONGEST)
    except UnreadablePictureError as error:
        return f"{path.name} cannot be read by layers: {error}."
    except CaptureError as error:
        return f"{path.name} cannot be read by layers: it is {error.fault.found}."
    except OSError as error:
        return f"{path.name} cannot be read by layers: {error.strerror or error}."
