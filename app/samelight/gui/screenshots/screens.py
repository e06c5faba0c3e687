"""Every screen of the program that a picture can be made of: its name, what it shows, and how it comes about.

No Qt is loaded before a screen is drawn, so that the command line can list them.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from samelight.changes.publishing import unsettled_breaks
from samelight.changes.starting import look_at
from samelight.drift.cells import Cell, CellName
from samelight.gui.review.review_state import Compare, Other
from samelight.gui.screenshots.altered_copies import (
    all_well,
    copied,
    refusal,
    with_a_fault,
    with_a_view,
    with_profiles,
    with_unread_decisions,
)
from samelight.gui.state.sky_data import MapFrame
from samelight.reports.since import Since
from samelight.sequence.case_events import snapshot
from samelight.sequence.references import Against, Reference
from samelight.sequence.session import Session, open_session
from samelight.sheets.errors import SamelightError
from samelight.sheets.folder_files import SEQUENCE_FILE
from samelight.sheets.production import Production
from samelight.sheets.resources import sample_sequence
from samelight.sheets.vocabulary import COLOUR, COMPARED_SECTIONS, DIRECTION, LEVEL

if TYPE_CHECKING:
    from PySide6.QtGui import QImage
    from PySide6.QtWidgets import QDialog

    from samelight.gui.screenshots.backstage import Stage


@cache
def _landing() -> Session:
    """A sample whose frames were measured and hold a layer for each light; read once for all screens that show it."""
    return open_session(sample_sequence("landing"))


@dataclass(frozen=True, slots=True)
class Screen:
    """One screen. `draw` sets it up as a user would, and takes its picture."""

    name: str
    shows: str
    draw: Callable[[Stage], QImage]


def _window(stage: Stage) -> QImage:
    return stage.take(stage.window())


def _whole_cut(stage: Stage) -> QImage:
    window = stage.window()
    window.bar.list_all()
    for command in ("expand", "fit", "overview"):
        window.actions_by_name[command].trigger()
    return stage.take(window)


def _values(stage: Stage) -> QImage:
    from samelight.gui.grid.model import Shown

    window = stage.window(_worst(stage.session, DIRECTION))
    window.bar.shown_box.setCurrentText(str(Shown.BOTH))
    return stage.take(window)


def _traces(stage: Stage) -> QImage:
    window = stage.window()
    lights = [row for row in stage.session.table.rows if row.section == "lights" and row.kind == DIRECTION]
    for row in lights[:3]:
        window.select(stage.session.table.shots[0], row.parameter)
        window.actions_by_name["together"].trigger()
    return stage.take(window)


def _older_master(stage: Stage) -> QImage:
    session = open_session(
        stage.session.contents.folder
    )  # one of its own, since the others go on against the master
    older = [version for version in session.contents.masters if version != session.contents.master_version]
    if not older:
        raise SamelightError(f"{session.contents.folder}: there is no other master to compare the shots with")
    window = stage.window(session=session)
    box, wanted = window.bar.reference_box, Reference(Against.OLDER_MASTER, max(older))
    box.activated.emit(next(index for index in range(box.count()) if box.itemData(index) == wanted))
    return stage.take(window)


def _no_rows(stage: Stage) -> QImage:
    window = stage.window()
    window.bar.filter_edit.setText("no such row")
    return stage.take(window)


def _all_well(stage: Stage) -> QImage:
    return stage.take(stage.window(session=all_well(stage.session)))


def _remarks(stage: Stage) -> QImage:
    session = with_a_fault(stage.session)
    window = stage.window(session=session)
    shot = next(shot for shot in session.contents.shots if shot not in session.contents.sheets)
    window.go_to_shot(shot)
    return stage.take(window)


def _not_known(stage: Stage) -> QImage:
    session = with_unread_decisions(stage.session)
    window = stage.window(session=session)
    window.watching.stop()  # or it would say soon that all is well
    window.watching.troubled.emit(f"{session.contents.folder}: the folder cannot be reached")
    return stage.take(window)


def _view_menu(stage: Stage) -> QImage:
    return stage.menu(stage.window(), "&View")


def _drop_down(stage: Stage) -> QImage:
    window = stage.window()
    return stage.drop_down(window, window.bar.reference_box)


def _recent_menu(stage: Stage) -> QImage:
    window = stage.empty_window()
    for folder in (Path("films", "lighthouse"), copied(stage.session)):
        window.settings.opened(folder)
    return stage.menu(window, "Open re&cent")


def _inspector(stage: Stage) -> QImage:
    return stage.take(stage.window(_decided(stage.session)))


def _versions(stage: Stage) -> QImage:
    window = stage.window(_worst(stage.session, DIRECTION))
    stage.take(window)  # the versions are read then
    window.inspector.page.ensureWidgetVisible(window.inspector.versions, 0, 0)
    return stage.take(window)


def _colour(stage: Stage) -> QImage:
    return stage.take(stage.window(_worst(stage.session, COLOUR)))


def _profiles(stage: Stage) -> QImage:
    session, cell_name = with_profiles(stage.session)
    window = stage.window(cell_name, session)
    stage.take(window)  # it is laid out then
    window.inspector.page.ensureWidgetVisible(window.inspector.profiles, 0, 0)
    return stage.take(window)


def _findings(stage: Stage) -> QImage:
    window = stage.window()
    window.actions_by_name["next_finding"].trigger()
    return stage.take(window)


def _contact(stage: Stage) -> QImage:
    window = stage.window()
    window.actions_by_name["contact"].trigger()
    return stage.take(window)


def _sky(stage: Stage) -> QImage:
    window = stage.window(_worst(stage.session, DIRECTION))
    window.actions_by_name["sky"].trigger()
    return stage.take(window)


def _sky_camera(stage: Stage) -> QImage:
    window = stage.window(_worst(stage.session, DIRECTION))
    window.actions_by_name["sky"].trigger()
    window.panels.sky.frame_box.setCurrentText(str(MapFrame.CAMERA))
    return stage.take(window)


def _sky_closer(stage: Stage) -> QImage:
    window = stage.window(_worst(stage.session, DIRECTION))
    window.actions_by_name["sky"].trigger()
    window.panels.sky.closer_button.setChecked(True)
    return stage.take(window)


def _cloud(stage: Stage) -> QImage:
    session = _landing()
    window = stage.window(("LA_060", "picture.face.colour"), session)
    window.actions_by_name["cloud"].trigger()
    return stage.take(window)


def _over_frames(stage: Stage) -> QImage:
    session = _landing()  # of which one shot has many frames
    window = stage.window(("LA_070", "picture.face.level"), session)
    stage.until(lambda: not window.inspector.frames.isHidden(), "the curve")
    window.findings.choose(next(one for one in session.cases.findings if one.frames))
    return stage.take(window)


def _plan(stage: Stage) -> QImage:
    window = stage.window()
    window.actions_by_name["plan"].trigger()
    return stage.take(window)


def _review(stage: Stage) -> QImage:
    return stage.take(stage.review(_in_a_frame(stage.session), str(Compare.ALONE)))


def _review_side(stage: Stage) -> QImage:
    return stage.take(stage.review(_in_a_frame(stage.session), str(Compare.SIDE)))


def _review_wipe(stage: Stage) -> QImage:
    return stage.take(stage.review(_in_a_frame(stage.session), str(Compare.WIPE)))


def _review_stops(stage: Stage) -> QImage:
    session = _landing()
    review = stage.review(None, str(Compare.SIDE), session)
    review.go("LA_040")
    review.actions_by_name["lights"].trigger()
    from samelight.gui.review.picture_views import PictureView  # which loads Qt

    review.pictures.lights.view_box.setCurrentText(str(PictureView.STOPS))
    return stage.take(review)


def _review_view(stage: Stage) -> QImage:
    landing = _landing()
    review = stage.review(None, str(Compare.WIPE), with_a_view(landing, "ocio://cg-config-latest"))
    stage.until(lambda: not review.bar.view_box.isHidden(), "what the config offers")
    review.go("LA_060")
    review.pictures.compare_with("LA_020")
    return stage.take(review)


def _review_perceived(stage: Stage) -> QImage:
    session = open_session(sample_sequence("landing"))
    review = stage.review(None, str(Compare.SIDE), session)
    review.go("LA_060")
    review.bar.other_box.setCurrentText(str(Other.RENDERED))
    review.actions_by_name["lights"].trigger()
    pictures = review.pictures
    stage.until(lambda: pictures.would_be.layers is not None, "the layers of the frame")
    pictures.lights.match_button.click()
    from samelight.gui.review.picture_views import PictureView  # which loads Qt

    pictures.lights.view_box.setCurrentText(str(PictureView.PERCEIVED))
    return stage.take(review)


def _review_lights(stage: Stage) -> QImage:
    session = _landing()
    review = stage.review(None, str(Compare.WIPE), session)
    review.go("LA_060")
    review.bar.stops_box.setValue(1.0)
    review.actions_by_name["lights"].trigger()
    stage.until(lambda: review.pictures.would_be.layers is not None, "the layers of the frame")
    review.pictures.lights.match_button.click()
    return stage.take(review)


def _review_details(stage: Stage) -> QImage:
    review = stage.review(_in_a_frame(stage.session), str(Compare.ALONE))
    review.show_details(True)
    return stage.take(review)


def _review_verdict(stage: Stage) -> QImage:
    review = stage.review(_in_a_frame(stage.session), str(Compare.ALONE))
    review.actions_by_name["return"].trigger()
    return stage.take(review)


def _review_playing(stage: Stage) -> QImage:
    review = stage.review(_in_a_frame(stage.session), str(Compare.ALONE))
    review.playing.play(1)
    picture = stage.take(review)
    review.playing.stop()
    return picture


def _review_keys(stage: Stage) -> QImage:
    review = stage.review(_in_a_frame(stage.session), str(Compare.ALONE))
    return stage.dialog(review, review.actions_by_name["keys"].trigger)


def _asked_by(command: str) -> Callable[[Stage], QImage]:
    """How the dialog of a command of the main window comes about."""

    def draw(stage: Stage) -> QImage:
        window = stage.window()
        return stage.dialog(window, window.actions_by_name[command].trigger)

    return draw


def _tolerance(stage: Stage) -> QImage:
    window = stage.window(_worst(stage.session, LEVEL))
    return stage.dialog(window, window.actions_by_name["tolerance"].trigger)


def _since(stage: Stage) -> QImage:
    window = stage.window()
    if window.opened is not None:
        cells = stage.session.cases.unsettled_cells()
        names = [
            (stage.session.table.shots[column], stage.session.table.rows[row].parameter)
            for row, column in cells
        ]
        before = {name: now for name, now in snapshot(stage.session).items() if name in names[::2]}
        moved = {name: replace(now, off="") for name, now in before.items() if name in names[::4]}
        window.opened.work.look_back(Since("yesterday 18:00", before | moved))
    return stage.take(window)


def _send_back(stage: Stage) -> QImage:
    window = stage.window()
    window.actions_by_name["next_finding"].trigger()
    return stage.dialog(window, window.actions_by_name["return"].trigger)


def _publish(stage: Stage) -> QImage:
    return _publishing(stage, broken=False)


def _publish_refused(stage: Stage) -> QImage:
    return _publishing(stage, broken=True)


def _publishing(stage: Stage, *, broken: bool) -> QImage:
    from samelight.gui.dialogs.publish_dialog import PublishDialog

    session = stage.session
    table = session.table
    typed = (
        cell for cell in session.cases.unsettled_cells() if table.rows[cell[0]].section in COMPARED_SECTIONS
    )
    drifting = {table.shots[column] for _, column in typed}
    shots = [
        shot
        for shot in session.contents.shots
        if shot in drifting and bool(unsettled_breaks(session, shot)) is broken
    ]
    if not shots:
        raise SamelightError(
            f"{session.contents.folder}: no shot {'has breaks that are not intended' if broken else 'drifts without'}"
        )

    def choose(dialog: QDialog) -> None:
        if isinstance(dialog, PublishDialog):
            dialog.shot.setCurrentText(shots[0])

    window = stage.window()
    return stage.dialog(window, window.actions_by_name["publish"].trigger, choose)


def _compare_with(stage: Stage) -> QImage:
    window = stage.window()
    box = window.bar.reference_box
    return stage.dialog(window, lambda: box.activated.emit(box.findData(Against.SHOT)))


def _production(stage: Stage) -> QImage:
    folder = stage.session.contents.folder.resolve()
    places = [folder, *(sample_sequence(name) for name in ("first_steps", "mole", "quay_usd", "lighthouse"))]
    window = stage.production(Production(folder.parent, "A town", {place.name: place for place in places}))
    follower = window.follower
    follower.box.setCurrentIndex(follower.box.findData("lights.sun"))
    follower.follow()
    stage.until(
        lambda: follower.plot.trace is not None and follower.height() > follower.plot.height(),
        "the sun over the film",
    )
    return stage.take(window)


def _first_start(stage: Stage) -> QImage:
    return stage.take(stage.first_window())


def _open_again(stage: Stage) -> QImage:
    window = stage.empty_window()
    window.welcome.show_recent(
        [Path("films", name) for name in (stage.session.contents.folder.name, "lighthouse")]
    )
    return stage.take(window)


def _welcome(stage: Stage) -> QImage:
    return stage.take(stage.empty_window())


def _loading(stage: Stage) -> QImage:
    window, session = stage.empty_window(), stage.session
    third = len(session.contents.shots) // 3
    window.welcome.show_loading(session.contents.folder.resolve().name)
    window.loader.progressed.emit(
        len(session.contents.masters) + third,
        len(session.contents.masters) + len(session.contents.shots),
        session.contents.shots[third] if session.contents.shots else "",
    )
    return stage.take(window)


def _failed(stage: Stage) -> QImage:
    window = stage.empty_window()
    window.loader.failed.emit(refusal(stage.session))
    return stage.take(window)


def _failed_again(stage: Stage) -> QImage:
    window, said = stage.window(), refusal(stage.session)
    return stage.dialog(window, lambda: window.loader.failed.emit(said))


def _start(stage: Stage) -> QImage:
    folder = copied(stage.session)
    (folder / SEQUENCE_FILE).unlink()
    window = stage.empty_window()
    return stage.dialog(window, lambda: window.opening.offer(look_at(folder)))


SCREENS: dict[str, Screen] = {
    screen.name: screen
    for screen in (
        Screen("window", "the grid, its traces, the findings and the inspector", _window),
        Screen("whole-cut", "every row of all shots, under a map of them", _whole_cut),
        Screen("values", "the shots' values beside their drift", _values),
        Screen("traces", "the traces of three lights together", _traces),
        Screen("older-master", "the shots against the master before", _older_master),
        Screen("no-rows", "a filter that no row meets", _no_rows),
        Screen("all-well", "a copy in which every shot is as the master says", _all_well),
        Screen("remarks", "a copy with sheets that cannot be read", _remarks),
        Screen("not-known", "a copy that cannot be reached, with decisions that cannot be read", _not_known),
        Screen("view-menu", "the menu View", _view_menu),
        Screen("drop-down", "the list of what shots can be compared with", _drop_down),
        Screen("recent-menu", "the menu of what was opened last", _recent_menu),
        Screen("inspector", "a cell that was decided on", _inspector),
        Screen("versions", "what a value was in every version of its shot", _versions),
        Screen("colour", "a colour that drifts", _colour),
        Screen("profiles", "a copy in which a light has another photometric profile", _profiles),
        Screen("findings", "a finding and its cells", _findings),
        Screen("contact-sheet", "the shots as frames", _contact),
        Screen("sky", "where the lights come from, north up", _sky),
        Screen("sky-camera", "the same as the cameras see it", _sky_camera),
        Screen("sky-closer", "the same close to one light", _sky_closer),
        Screen("cloud", "the colours of a mark in all shots", _cloud),
        Screen("over-frames", "a mark that flickers, over the frames of its shot", _over_frames),
        Screen("plan", "what the sequence costs to render", _plan),
        Screen("review", "the review window", _review),
        Screen("review-details", "all that is said of a shot, beside its neighbours", _review_details),
        Screen("review-side", "two frames side by side", _review_side),
        Screen("review-wipe", "two frames in a wipe", _review_wipe),
        Screen("review-stops", "two frames by their stops from middle grey", _review_stops),
        Screen(
            "review-perceived", "what a match with the key shot changes, as it is seen", _review_perceived
        ),
        Screen("review-view", "two frames through a view of a colour config", _review_view),
        Screen("review-lights", "a frame with its lights trimmed as in the key shot", _review_lights),
        Screen("review-verdict", "what is sent back from dailies", _review_verdict),
        Screen("review-playing", "the cut as it plays, with a trace of what is looked at", _review_playing),
        Screen("review-keys", "the keys of the review window", _review_keys),
        Screen("intend", "the question for a reason", _asked_by("intend")),
        Screen("send-back", "what is sent back of a finding", _send_back),
        Screen("publish", "what the next master would do", _publish),
        Screen("publish-refused", "a shot that cannot become the master yet", _publish_refused),
        Screen("pages", "what each lighter has to mend", _asked_by("pages")),
        Screen("mend", "what the next version of a shot would say", _asked_by("mend")),
        Screen("tolerance", "a tolerance of a cell's own", _tolerance),
        Screen("since", "what is new since a moment", _since),
        Screen("since-asked", "the question since when", _asked_by("since")),
        Screen("compare-with", "the choice of a shot to compare with", _compare_with),
        Screen("save-view", "the question under which name to keep what is listed", _asked_by("save_view")),
        Screen("my-shots", "the choice of one's own shots", _asked_by("my_shots")),
        Screen("keys", "the keys of the main window", _asked_by("keys")),
        Screen("about", "what this program is", _asked_by("about")),
        Screen(
            "production",
            "the overview of several sequences, of which one is not there, and one light over all of them",
            _production,
        ),
        Screen("first-start", "what comes up at the first start", _first_start),
        Screen("welcome", "nothing open yet", _welcome),
        Screen("open-again", "the same with what was open before", _open_again),
        Screen("start", "the choice of a key shot for a folder that is no sequence yet", _start),
        Screen("loading", "a sequence being read", _loading),
        Screen("failed", "a sequence that could not be opened", _failed),
        Screen("failed-again", "the same while another one is open", _failed_again),
    )
}


# Cells that have something to show


def _decided(session: Session) -> CellName | None:
    """The decided cell that drifts furthest, as far as that can be said."""
    return _furthest(session, session.cases.judged().states)


def _worst(session: Session, kind: str) -> CellName | None:
    """The unsettled cell of a kind that drifts furthest."""
    rows = session.table.rows
    return _furthest(
        session, (cell for cell in session.cases.unsettled_cells() if rows[cell[0]].kind == kind)
    )


def _in_a_frame(session: Session) -> CellName | None:
    """The unsettled cell that drifts furthest in the shot with most of them that has a frame and is not the key shot."""
    # Here, since its readers are large and every command knows the screens.
    from samelight.sources.pictures.pictures import find_frame

    shots, opened = session.table.shots, session.cases.unsettled_cells()
    counts = Counter(shots[column] for _, column in opened)
    framed = (
        shot for shot, _ in counts.most_common() if find_frame(session.contents.folder, shot) is not None
    )
    best = next((shot for shot in framed if shot != session.contents.sequence.key_shot), None)
    return _furthest(session, (cell for cell in opened if shots[cell[1]] == best))


def _furthest(session: Session, cells: Iterable[Cell]) -> CellName | None:
    severity = session.table.severity
    worst = max(
        cells, key=lambda cell: severity[cell] if math.isfinite(severity[cell]) else 0.0, default=None
    )
    return (
        (session.table.shots[worst[1]], session.table.rows[worst[0]].parameter) if worst is not None else None
    )
