"""The sections of the inspector's page: made when they have something to say, and shown while they do."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from samelight.gui.inspector.page import Page
from samelight.gui.inspector.places import Destination, Places
from samelight.gui.widgets.page_parts import Section, TextBlock


class Sections:
    """Sections of a page by name, in the order of what makes them, and which of them are wanted."""

    def __init__(self, makes: Mapping[str, Callable[[], Section]], page: Page) -> None:
        self._makes = makes
        self._page = page
        self._sections: dict[str, Section] = {}
        self._wanted: set[str] = set()

    def make(self, name: str) -> Section:
        """The section of a name. It is made before a part of it is shown, which would be a window of its own in no page."""
        if name not in self._sections:
            names = [*self._makes]
            section = self._sections[name] = self._makes[name]()
            section.hide()
            before = sum(1 for other in names[: names.index(name)] if other in self._sections)
            self._page.insert(before, section)
        return self._sections[name]

    def start(self) -> None:
        """Nothing is wanted yet."""
        self._wanted = set()

    def want(self, name: str, wanted: bool = True) -> None:
        """Have a section shown with the others."""
        if wanted:
            self.make(name)
            self._wanted.add(name)

    def lines(self, name: str, block: TextBlock, lines: Sequence[str]) -> None:
        """Fill a section with lines."""
        block.show_lines(lines)
        self.want(name, bool(lines))

    def places(self, name: str, places: Places, shown: Sequence[Destination], title: str = "") -> None:
        """Fill a section with places to go to."""
        places.show_places(shown)
        if title and shown:
            self.entitle(name, title)
        self.want(name, bool(shown))

    def entitle(self, name: str, title: str) -> None:
        """Give a section another title."""
        self.make(name).title.setText(title)

    def show_now(self, name: str, shown: bool = True) -> None:
        """Show a section now or, while the page is being put together, with the others."""
        self._wanted.discard(name)
        self.want(name, shown)
        if shown or name in self._sections:
            self.make(name).setVisible(shown)
        self._page.put_in_order()

    def finish(self) -> None:
        """Show the sections that have something to say, and no others."""
        for name in self._makes:
            if name in self._wanted or name in self._sections:
                self.make(name).setVisible(name in self._wanted)
        self._page.put_in_order()
