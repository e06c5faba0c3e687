"""The commands that change what the grid shows and where its cursor is."""

from __future__ import annotations

from collections.abc import Callable

from samelight.gui.widgets.settings import Settings
from samelight.gui.window.workspace import Workspace


def view_commands(work: Workspace, settings: Settings) -> dict[str, Callable[[], None]]:
    """What each of them does, by name."""
    views, grid = work.views, work.views.grid

    def expand(names: set[str]) -> None:
        work.keeping_the_spot(lambda: views.model.set_expanded(names))

    def overview() -> None:
        views.overview.setVisible(not views.overview.isVisible())
        settings.keep("overview", "shown" if views.overview.isVisible() else "hidden")

    def frames() -> None:
        shown = not grid.shots.strip.shown
        grid.show_frames(shown)
        settings.keep("frames", "shown" if shown else "hidden")

    return {
        "copy": grid.copy,
        "expand": lambda: expand({group.name for group in views.state.groups}),
        "collapse": lambda: expand(set()),
        "wider": lambda: grid.zoom(1),
        "narrower": lambda: grid.zoom(-1),
        "fit": grid.fit,
        "pin": grid.pin,
        "hide_rows": grid.hide_lines,
        "hide_shots": grid.hide_shots,
        "show_hidden": grid.show_hidden,
        "together": grid.plot_together,
        "alone": grid.plot_alone,
        "overview": overview,
        "frames": frames,
        "contact": lambda: work.show_contact(not work.shows_contact),
    }
