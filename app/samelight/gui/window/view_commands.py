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
        "copy": grid.chosen.copy,
        "expand": lambda: expand({group.name for group in views.state.groups}),
        "collapse": lambda: expand(set()),
        "wider": lambda: grid.widths.zoom(1),
        "narrower": lambda: grid.widths.zoom(-1),
        "fit": grid.widths.fit,
        "pin": grid.relisting.pin,
        "hide_rows": grid.relisting.hide_lines,
        "hide_shots": grid.relisting.hide_shots,
        "show_hidden": grid.relisting.show_hidden,
        "together": grid.relisting.plot_together,
        "alone": grid.relisting.plot_alone,
        "overview": overview,
        "frames": frames,
        "contact": lambda: work.show_contact(not work.shows_contact),
    }
