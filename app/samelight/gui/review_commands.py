"""The review window's commands and their keys."""

from __future__ import annotations

from samelight.gui.commands import Command

STEP, SHOW, SAY, WINDOW = "Step", "Show", "Say", "Window"

REVIEW_COMMANDS: tuple[Command, ...] = (
    Command("next_shot", STEP, "Next shot", "Right", "Go to the next shot in the cut"),
    Command("previous_shot", STEP, "Shot before", "Left", "Go to the shot before in the cut"),
    Command("first_shot", STEP, "First shot", "Home", "Go to the start of the cut"),
    Command("last_shot", STEP, "Last shot", "End", "Go to the end of the cut"),
    Command("next_open", STEP, "Next open shot", "PgDown", "Go to the next shot with something open"),
    Command("previous_open", STEP, "Open shot before", "PgUp", "Go to the one before with something open"),
    Command("compare", SHOW, "Alone, wipe, side by side", "C", "Show the other frame in another way"),
    Command("other", SHOW, "Another frame to compare", "O", "Key shot, shot before or shot after"),
    Command("wipe_left", SHOW, "Wipe to the left", "Shift+Left", "Move the line of the wipe"),
    Command("wipe_right", SHOW, "Wipe to the right", "Shift+Right", "Move the line of the wipe"),
    Command("brighter", SHOW, "Half a stop up", "+", "Expose all frames half a stop more"),
    Command("darker", SHOW, "Half a stop down", "-", "Expose all frames half a stop less"),
    Command("as_shot", SHOW, "No exposure", "0", "Show all frames at 0 stops"),
    Command("note", SAY, "Type a note", "T", "Type a note on this shot; Enter keeps it"),
    Command("intend", SAY, "Mark as intended…", "I", "All that is open in this shot is meant"),
    Command("return", SAY, "Send back…", "S", "All that is open in this shot is to be mended"),
    Command("undo", SAY, "Undo", "Ctrl+Z", "Take back the last note or decision; the ledger keeps both"),
    Command("redo", SAY, "Redo", "Ctrl+Shift+Z", "Say again what was taken back"),
    Command("export", SAY, "Export this session's notes…", "Ctrl+E", "Save what was said since the start"),
    Command("export_all", SAY, "Export all notes…", "Ctrl+Shift+E", "Save everything that was ever said"),
    Command("lead", WINDOW, "Lead the grid", "L", "Whether stepping here moves the grid, or the grid this"),
    Command("screen", WINDOW, "Next screen", "M", "Move to the next screen"),
    Command("full", WINDOW, "Full screen", "F11", "Fill the screen, or be a window again"),
    Command("keys", WINDOW, "Keys", "F1", "List the keys of this window"),
    Command("leave", WINDOW, "Leave", "Esc", "Leave the note, then the full screen"),
    Command("close", WINDOW, "Close", "Ctrl+W", "Close the review"),
)
