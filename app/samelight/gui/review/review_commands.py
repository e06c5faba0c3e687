"""The review window's commands, their keys and what they do."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QComboBox

from samelight.decisions.decision import Verb
from samelight.gui.dialogs.keys_box import show_keys
from samelight.gui.review.grabbing import grab
from samelight.gui.review.speaking import ask_verdict, close_mended, export_notes
from samelight.gui.widgets.commands import Command, keys_of

if TYPE_CHECKING:
    from samelight.gui.review.review_window import ReviewWindow

WIPE_STEP = 0.02
STOP_STEP = 0.5

STEP, SHOW, SAY, WINDOW = "Step", "Show", "Say", "Window"

NUMBERS = "1 to 9", "Choose one of what is said of the shot; again, none"

REVIEW_COMMANDS: tuple[Command, ...] = (
    Command("next_shot", STEP, "Next shot", "Right", "Go to the next shot in the cut"),
    Command("previous_shot", STEP, "Shot before", "Left", "Go to the shot before in the cut"),
    Command("first_shot", STEP, "First shot", "Home", "Go to the start of the cut"),
    Command("last_shot", STEP, "Last shot", "End", "Go to the end of the cut"),
    Command(
        "next_unsettled",
        STEP,
        "Next unsettled shot",
        "PgDown",
        "Go to the next shot with something left to decide or mend",
    ),
    Command("previous_unsettled", STEP, "Unsettled shot before", "PgUp", "Go to the one before"),
    Command(
        "play_on",
        STEP,
        "Play",
        "L",
        "Play the cut, each shot as long as it is; again, twice as fast (Space plays too)",
    ),
    Command("stop", STEP, "Stop", "K", "Stay at this shot"),
    Command("play_back", STEP, "Play backwards", "J", "Play the cut backwards; again, twice as fast"),
    Command(
        "details",
        SHOW,
        "Details",
        "D",
        "All that is said of the shot beside its neighbours, or the largest frame",
    ),
    Command("compare", SHOW, "Alone, wipe, side by side", "C", "Show the other frame in another way"),
    Command(
        "other",
        SHOW,
        "Another frame to compare",
        "O",
        "Key shot, shot before, shot after, a shot that is typed, or as rendered",
    ),
    Command("another", SHOW, "Compare with a shot…", "A", "Type the shot to compare with; Enter compares"),
    Command("wipe_left", SHOW, "Wipe to the left", "Shift+Left", "Move the line of the wipe"),
    Command("wipe_right", SHOW, "Wipe to the right", "Shift+Right", "Move the line of the wipe"),
    Command("brighter", SHOW, "Half a stop up", "+", "Expose all frames half a stop more"),
    Command("darker", SHOW, "Half a stop down", "-", "Expose all frames half a stop less"),
    Command(
        "marks",
        SHOW,
        "Marks",
        "R",
        "Draw where the marks are in the frame, in the colour of what is off there",
        switch=True,
    ),
    Command(
        "lights",
        SHOW,
        "Lights",
        "B",
        "The lights of the frame: with the master's light, with the fix list, or with a trim for each; and its stops in colours",
        switch=True,
    ),
    Command("as_shot", SHOW, "No exposure", "0", "Show all frames at 0 stops"),
    Command(
        "grab",
        SAY,
        "Grab the frame",
        "P",
        "Write the frame as it is seen, with its figures, into the folder grabs of the sequence; the next note or verdict names it",
    ),
    Command("note", SAY, "Type a note", "T", "Type a note on this shot; Enter keeps it"),
    Command(
        "intend",
        SAY,
        "Mark as intended…",
        "I",
        "Say that what is chosen is meant, or everything left in this shot",
    ),
    Command("return", SAY, "Send back…", "S", "Have what is chosen mended, or everything left in this shot"),
    Command(
        "settle",
        SAY,
        "Close what was mended",
        "X",
        "Say that you looked at what came back mended of what is chosen, or in this shot, and that it is right",
    ),
    Command("undo", SAY, "Undo", "Ctrl+Z", "Take back the last note or decision; the ledger keeps both"),
    Command("redo", SAY, "Redo", "Ctrl+Shift+Z", "Say again what was taken back"),
    Command("export", SAY, "Export this session's notes…", "Ctrl+E", "Save what was said since the start"),
    Command("export_all", SAY, "Export all notes…", "Ctrl+Shift+E", "Save everything that was ever said"),
    Command("lead", WINDOW, "Lead the grid", "G", "Whether stepping here moves the grid, or the grid this"),
    Command("screen", WINDOW, "Next screen", "M", "Move to the next screen"),
    Command("full", WINDOW, "Full screen", "F11", "Fill the screen, or be a window again"),
    Command("keys", WINDOW, "Keys", "F1", "List the keys of this window"),
    Command("leave", WINDOW, "Leave", "Esc", "Leave the note or the question, then the full screen"),
    Command("close", WINDOW, "Close", "Ctrl+W", "Close the review"),
)


def calls_of(window: ReviewWindow) -> dict[str, Callable[[], object]]:
    """What each command calls, by its name; what a switch changes looks at the switch."""
    return {
        "next_shot": lambda: window.step(lambda state: state.step(1)),
        "previous_shot": lambda: window.step(lambda state: state.step(-1)),
        "first_shot": lambda: window.step(lambda state: state.to_end(last=False)),
        "last_shot": lambda: window.step(lambda state: state.to_end(last=True)),
        "next_unsettled": lambda: window.step(lambda state: state.to_unsettled(1)),
        "previous_unsettled": lambda: window.step(lambda state: state.to_unsettled(-1)),
        "play_on": lambda: window.playing.play(1),
        "stop": window.playing.stop,
        "play_back": lambda: window.playing.play(-1),
        "details": lambda: window.show_details(window.details.isHidden()),
        "compare": lambda: _next(window.bar.compare_box),
        "other": lambda: _next(window.bar.other_box),
        "another": partial(_another, window),
        "wipe_left": lambda: window.pictures.pane.set_wipe(window.pictures.pane.wipe - WIPE_STEP),
        "wipe_right": lambda: window.pictures.pane.set_wipe(window.pictures.pane.wipe + WIPE_STEP),
        "brighter": lambda: window.bar.stops_box.setValue(window.bar.stops_box.value() + STOP_STEP),
        "darker": lambda: window.bar.stops_box.setValue(window.bar.stops_box.value() - STOP_STEP),
        "as_shot": lambda: window.bar.stops_box.setValue(0.0),
        "grab": partial(grab, window),
        "note": partial(_note, window),
        "intend": lambda: ask_verdict(window, Verb.INTEND),
        "return": lambda: ask_verdict(window, Verb.RETURN),
        "settle": partial(close_mended, window),
        "undo": lambda: window.asked.emit("undo"),
        "redo": lambda: window.asked.emit("redo"),
        "export": lambda: export_notes(window, window.started),
        "export_all": lambda: export_notes(window, None),
        "lead": partial(_lead, window),
        "screen": partial(_next_screen, window),
        "full": partial(_full, window),
        "keys": lambda: show_keys(window, {**keys_of(REVIEW_COMMANDS), "On the shot": [NUMBERS]}),
        "leave": partial(_leave, window),
        "close": window.close,
    }


def _next(box: QComboBox) -> None:
    box.setCurrentIndex((box.currentIndex() + 1) % box.count())


def _another(window: ReviewWindow) -> None:
    window.bar.compare_with(window.state.compared_with if window.state is not None else "")
    window.bar.shot_edit.setFocus()
    window.bar.shot_edit.selectAll()


def _note(window: ReviewWindow) -> None:
    window.playing.stop()
    window.last_line.type_note()


def _lead(window: ReviewWindow) -> None:
    window.bar.show_leading(not window.bar.leading)
    if window.state is not None:
        window.stepped.emit(window.state.shot)


def _next_screen(window: ReviewWindow) -> None:
    if not window.screens.choose_next():
        window.bar.say("There is one screen")


def _full(window: ReviewWindow) -> None:
    window.screens.toggle_full()


def _leave(window: ReviewWindow) -> None:
    window.playing.stop()
    if window.focusWidget() is not None and window.focusWidget() is not window.pictures.pane:
        window.pictures.pane.setFocus()
    elif window.isFullScreen():
        _full(window)
