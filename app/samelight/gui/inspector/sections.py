"""The sections of the inspector's page, of which those are shown that have something to say."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from samelight.gui.inspector.places import Destination, Places
from samelight.gui.widgets.page_parts import Section, TextBlock


class Sections:
    """Sections by name, and which of them are wanted."""

    def __init__(self, sections: Mapping[str, Section]) -> None:
        self._sections = sections
        self._wanted: set[str] = set()

    def start(self) -> None:
        """Nothing is wanted yet."""
        self._wanted = set()

    def want(self, name: str, wanted: bool = True) -> None:
        """Have a section shown with the others."""
        if wanted:
            self._wanted.add(name)

    def lines(self, name: str, block: TextBlock, lines: Sequence[str]) -> None:
        """Fill a section with lines."""
        block.show_lines(lines)
        self.want(name, bool(lines))

    def places(self, name: str, places: Places, shown: Sequence[Destination], title: str = "") -> None:
        """Fill a section with places to go to."""
        places.show_places(shown)
        if title:
            self.entitle(name, title)
        self.want(name, bool(shown))

    def entitle(self, name: str, title: str) -> None:
        """Give a section another title."""
        self._sections[name].title.setText(title)

    def show_now(self, name: str, shown: bool = True) -> None:
        """Show a section now or, while the page is being put together, with the others."""
        self._wanted.discard(name)
        self.want(name, shown)
        self._sections[name].setVisible(shown)

    def finish(self) -> None:
        """Show the sections that have something to say, and no others."""
        for name, section in self._sections.items():
            section.setVisible(name in self._wanted)
