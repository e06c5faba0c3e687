"""One view for all frames of the window and its review, from the colour config that the sequence or the environment names."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from textwrap import shorten
from typing import TYPE_CHECKING, Protocol

from PySide6.QtCore import QObject

from samelight.gui.background.background import Background
from samelight.gui.widgets.view_box import ViewBox
from samelight.sequence.colour_views import NamedConfig, named_config, views_of
from samelight.sequence.session import Session
from samelight.sources.pictures.colour_config import ColourView, ConfigViews
from samelight.sources.pictures.seen import PLAIN, Through

if TYPE_CHECKING:
    from samelight.gui.window.main_window import MainWindow

SRGB = "sRGB curve"
_FITS = 140
"""Letters for which the status bar has room in a window of 1280 pixels; all of it stands beside the box, and above the findings."""


class Looks(Protocol):
    """What shows frames."""

    def look_through(self, through: Through) -> None:
        """See them through something else."""


class ColourLink(QObject):
    """Reads what a config offers beside the window, offers it, and tells what is chosen to whatever shows frames."""

    def __init__(self, main: MainWindow) -> None:
        super().__init__(main)
        self._main = main
        self._background = Background(self)
        self._named: NamedConfig | None = None
        self._tied: list[QObject] = []
        self.offered: ConfigViews | None = None
        self.problem = ""
        """Why the config that is named cannot be used."""
        self.through = PLAIN

    @property
    def views(self) -> list[ColourView]:
        """What can be chosen beside the plain curve."""
        return [] if self.offered is None else self.offered.views

    def show_session(self, session: Session) -> None:
        """See the frames of a session through what it names, or of one that is read anew."""
        sequence = session.contents.sequence
        named = named_config(sequence)
        self.through = Through(self.through.view, sequence.conventions.working_space)
        if named != self._named or (named is not None and self.problem):
            self._named, self.offered, self.problem = named, None, ""
            self._background.cancel("config")
            self.look_again()
        self._choose_remembered()

    def look_again(self) -> None:
        """Read the config once more, as when it was edited; until it is read, frames stand as they are."""
        if self._named is not None:
            self._background.run("config", partial(views_of, self._named), self._take, self._refused)

    def tell(self) -> None:
        """Tell everything that shows frames, and the boxes, what is chosen."""
        views, view = self.views, self.through.view
        texts = [f"{SRGB}: the config cannot be used" if self.problem else SRGB, *map(str, views)]
        place = views.index(view) + 1 if view in views else 0
        for shows, box in self._showing():
            shows.look_through(self.through)
            if box is not None:
                if box not in self._tied:
                    self._tied.append(box)
                    box.chosen.connect(self.choose)
                    box.destroyed.connect(partial(self._tied.remove, box))
                box.offer(texts, place, self.problem)

    def choose(self, place: int) -> None:
        """See all frames through the view at a place, from 1; 0 is the plain curve."""
        view = self.views[place - 1] if place > 0 else None
        self._main.settings.keep("colour_display", view.display if view is not None else "")
        self._main.settings.keep("colour_view", view.view if view is not None else SRGB)
        self.through = self.through._replace(view=view)
        self.tell()

    def _take(self, offered: ConfigViews) -> None:
        self.offered, self.problem = offered, ""
        self._choose_remembered()

    def _refused(self, says: str) -> None:
        self.offered, self.problem = None, says
        found = says.rpartition(", found ")[2]
        self._main.say(shorten(f"The colour config cannot be used: {found}", _FITS, placeholder=" …"))
        self._choose_remembered()

    def _choose_remembered(self) -> None:
        """The view that was chosen last, where the config has it, else the config's own."""
        view = None
        if self.offered is not None:
            settings = self._main.settings
            wanted = settings.text("colour_display"), settings.text("colour_view")
            view = next(
                (one for one in self.views if (one.display, one.view) == wanted), self.offered.default
            )
            if wanted[1] == SRGB:
                view = None
        self.through = self.through._replace(view=view)
        self.tell()

    def _showing(self) -> Iterator[tuple[Looks, ViewBox | None]]:
        opened, review = self._main.opened, self._main.review.window
        if opened is not None:
            yield opened.views.grid.shots.strip.frames, None
            yield opened.work.contact.cache, opened.work.contact.view_box
        if review is not None:
            yield review.pictures, review.bar.view_box
