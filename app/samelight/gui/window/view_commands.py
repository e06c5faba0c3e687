"""The commands that change what the grid shows and where its cursor is."""

from __future__ import annotations

from collections.abc import Callable

from samelight.gui.widgets.settings import Settings
from samelight.gui.window.views import Views
from samelight.gui.window.workspace import Workspace


def view_commands(work: Workspace, memory: Settings) -> dict[str, Callable[[], None]]:
    """What each of them does, by name; without a sequence they do nothing."""

    def on(act: Callable[[Views], object]) -> Callable[[], None]:
        def run() -> None:
            if work.views is not None:
                act(work.views)

        return run

    def expand(names: Callable[[Views], set[str]]) -> Callable[[Views], None]:
        return lambda views: work.keeping_the_spot(lambda: views.model.set_expanded(names(views)))

    def overview(views: Views) -> None:
        views.overview.setVisible(not views.overview.isVisible())
        memory.keep("overview", "shown" if views.overview.isVisible() else "hidden")

    return {
        "copy": on(lambda views: views.grid.copy()),
        "expand": on(expand(lambda views: {group.name for group in views.state.groups})),
        "collapse": on(expand(lambda views: set())),
        "wider": on(lambda views: views.grid.zoom(1)),
        "narrower": on(lambda views: views.grid.zoom(-1)),
        "fit": on(lambda views: views.grid.fit()),
        "pin": on(lambda views: views.grid.pin()),
        "hide_rows": on(lambda views: views.grid.hide_lines()),
        "hide_shots": on(lambda views: views.grid.hide_shots()),
        "show_hidden": on(lambda views: views.grid.show_hidden()),
        "together": on(lambda views: views.grid.plot_together()),
        "alone": on(lambda views: views.grid.plot_alone()),
        "overview": on(overview),
    }
