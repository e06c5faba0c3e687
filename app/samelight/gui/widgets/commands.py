"""The window's commands: what each is called, its keys and what it says of itself."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QWidget

from samelight.gui.widgets.plain_text import plain


@dataclass(frozen=True, slots=True)
class Command:
    """One command. `menu` is where it is found, `keys` how it is reached without a mouse."""

    name: str
    menu: str
    title: str
    keys: str
    tip: str
    divided: bool = False
    switch: bool = False
    """Whether it is on or off, and says which."""
    short: str = ""
    """What a bar calls it, where its title is too long for one."""


COMMANDS: tuple[Command, ...] = (
    Command("open", "&File", "&Open sequence…", "Ctrl+O", "Choose a sequence folder"),
    Command(
        "sample", "&File", "Open the &sample", "", "Open Harbour, the sequence that comes with the program"
    ),
    Command("reload", "&File", "&Reload", "F5", "Read again what changed on disk"),
    Command(
        "publish", "&File", "&Publish a master…", "", "Make the next master setup of a shot, after a preview"
    ),
    Command(
        "pages",
        "&File",
        "Pages for the &lighters…",
        "Ctrl+P",
        "What each lighter has to mend: copy it for a chat, print it or save it",
        divided=True,
    ),
    Command(
        "save_report", "&File", "Save the repor&t…", "", "Save all that differs, why, and what was decided"
    ),
    Command(
        "save_notes", "&File", "Save the &notes…", "", "Save what was said and decided, by lighter and shot"
    ),
    Command("quit", "&File", "&Quit", "Ctrl+Q", "Close the window", divided=True),
    Command("undo", "&Edit", "&Undo", "Ctrl+Z", "Take back the last decision; the ledger keeps both"),
    Command("redo", "&Edit", "&Redo", "Ctrl+Shift+Z", "Decide again what was taken back"),
    Command(
        "copy", "&Edit", "&Copy", "Ctrl+C", "Copy the selected cells as tab-separated text", divided=True
    ),
    Command("filter", "&Edit", "&Filter rows", "Ctrl+F", "Type words that a row's name must hold"),
    Command("goto", "&Edit", "&Go to shot", "Ctrl+G", "Type a shot's name"),
    Command("expand", "&View", "&Expand all groups", "Ctrl+E", "List every row"),
    Command("collapse", "&View", "&Collapse all groups", "Ctrl+Shift+E", "List groups only"),
    Command("wider", "&View", "&Wider columns", "Ctrl++", "Zoom in (Ctrl and wheel)", divided=True),
    Command("narrower", "&View", "&Narrower columns", "Ctrl+-", "Zoom out (Ctrl and wheel)"),
    Command("fit", "&View", "&Fit the cut", "Ctrl+0", "Make all shots fit the window"),
    Command("pin", "&View", "&Pin rows at the top", "P", "Selected rows stay above the others", divided=True),
    Command("hide_rows", "&View", "&Hide rows", "H", "Leave the selected rows out"),
    Command("hide_shots", "&View", "Hide &shots", "", "Leave the selected shots out"),
    Command("show_hidden", "&View", "Show what is hi&dden", "", "Bring hidden rows and shots back"),
    Command(
        "only_mine",
        "&View",
        "Only &my shots",
        "M",
        "List and count only the shots of the name under which you decide",
        divided=True,
        switch=True,
        short="My shots",
    ),
    Command(
        "my_shots",
        "&View",
        "Choose whose shots (m&y)…",
        "",
        "List the shots of one lighter, of nobody or of everyone, or say which are yours where the sequence does not",
    ),
    Command(
        "together",
        "&View",
        "Add to the &traces",
        "T",
        "Plot this light together with others, or leave it out again (Ctrl and click on a name)",
        divided=True,
    ),
    Command(
        "alone",
        "&View",
        "Traces of this row &only",
        "Shift+T",
        "Plot what belongs to the row under the cursor",
    ),
    Command(
        "save_view",
        "&View",
        "Save this &view…",
        "V",
        "Save what is listed and how under a name, for everybody or for me; show or delete what was saved",
        divided=True,
    ),
    Command(
        "since",
        "&View",
        "Wh&at is new since…",
        "Shift+U",
        "Mark what is new, moved and mended since a saved check, a moment, or when you last looked",
        divided=True,
    ),
    Command("overview", "&View", "Overv&iew", "O", "Show or hide the map of the whole cut", divided=True),
    Command(
        "frames",
        "&View",
        "Frames a&bove the shots",
        "",
        "Show or hide a small frame of each shot over its column",
    ),
    Command(
        "contact",
        "&View",
        "Contact sheet",
        "C",
        "The shots as frames in the place of the grid; again for the grid",
        divided=True,
    ),
    Command(
        "plan", "&View", "Render p&lan", "L", "What the sequence costs to render; again for the inspector"
    ),
    Command(
        "cloud",
        "&View",
        "Colo&urs of marks",
        "Shift+K",
        "The colours of marks in all shots as one cloud; again for the inspector",
    ),
    Command("sky", "&View", "S&ky", "K", "Where the lights come from in every shot; again for the inspector"),
    Command(
        "review", "&View", "&Review", "R", "Dailies: the cut shot by shot on another screen", divided=True
    ),
    Command(
        "review_with",
        "&View",
        "Compare in the review",
        "Shift+R",
        "Wipe the review's frame against the shot under the cursor",
    ),
    Command(
        "intend",
        "&Decide",
        "Mark as &intended…",
        "I",
        "Say that the selected drift is meant, and why; then the next undecided cell comes up, if the box says so",
        short="Intended",
    ),
    Command("return", "&Decide", "&Send back…", "S", "Have the selected drift mended"),
    Command(
        "take_up",
        "&Decide",
        "&Take up",
        "Y",
        "Say that you are mending what was sent back in the selection",
        divided=True,
    ),
    Command(
        "close",
        "&Decide",
        "&Close what was mended",
        "D",
        "Say that you looked at what came back mended in the selection, and that it is right",
    ),
    Command("withdraw", "&Decide", "&Withdraw", "W", "Take back the decision on the selected cells"),
    Command(
        "mend",
        "&Decide",
        "&Mend these shots…",
        "E",
        "Write the next version of the selected shots with the master's values, after a look at the differences",
        divided=True,
    ),
    Command(
        "tolerance",
        "&Decide",
        "Set a t&olerance…",
        "Shift+I",
        "Let cells like the selected ones pass: for what, how much and why; the policy is written after a look at what falls silent",
    ),
    Command(
        "adopt",
        "&Decide",
        "&Adopt the master…",
        "",
        "Carry the current master into the shots that are behind, with what is intended kept",
    ),
    Command(
        "next",
        "&Decide",
        "&Next undecided cell",
        "N",
        "Go to the next drift that nobody has decided on",
        divided=True,
        short="Next",
    ),
    Command("previous", "&Decide", "&Previous undecided cell", "Shift+N", "Go to the one before"),
    Command(
        "changed", "&Decide", "Show what chan&ged", "U", "Select what changed on disk since the last look"
    ),
    Command("next_finding", "&Decide", "Next &finding", "F", "Go to the next finding"),
    Command("previous_finding", "&Decide", "Previous fin&ding", "Shift+F", "Go to the finding before"),
    Command(
        "keys",
        "&Help",
        "&Keys and marks",
        "F1",
        "List the keys of every command, and what colours and marks mean",
    ),
    Command("about", "&Help", "&About", "", "What this program is"),
)


def make_actions(
    parent: QWidget, run: Callable[[str], Callable[[], object] | None], commands: Sequence[Command] = COMMANDS
) -> dict[str, QAction]:
    """One action a command; `run` gives what each calls, if anything."""
    actions: dict[str, QAction] = {}
    for command in commands:
        action = QAction(command.title, parent)
        action.setCheckable(command.switch)
        if command.short:
            action.setIconText(command.short)
        if command.keys:
            action.setShortcut(QKeySequence(command.keys))
        keys = f" ({command.keys})" if command.keys else ""
        action.setToolTip(plain(f"{command.tip}{keys}"))
        action.setStatusTip(command.tip)
        call = run(command.name)
        if call is not None:
            action.triggered.connect(_call(call))
        actions[command.name] = action
    return actions


def _call(function: Callable[[], object]) -> Callable[..., object]:
    return lambda *_: function()


Keys = Mapping[str, Sequence[tuple[str, str]]]
"""Keys and what they do, under headings."""


def keys_of(commands: Iterable[Command]) -> dict[str, list[tuple[str, str]]]:
    """The keys of commands that have any, under the menus where they are found."""
    found: dict[str, list[tuple[str, str]]] = {}
    for command in commands:
        if command.keys:
            title = command.title.replace("&", "").rstrip("…")
            found.setdefault(command.menu.replace("&", ""), []).append((command.keys, title))
    return found


def window_keys() -> Keys:
    """The keys of the window's commands, and those that are in no menu."""
    return {
        **keys_of(COMMANDS),
        "In the grid": [
            ("Arrows", "Travel from cell to cell"),
            ("Enter", "Expand or collapse a group"),
            ("Ctrl+wheel", "Column width"),
        ],
        "In the box for a reason": [
            ("Enter", "Decide, and go on"),
            ("Down, Up", "Take an earlier reason"),
        ],
    }
