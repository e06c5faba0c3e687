"""The commands of `samelight` by name."""

from __future__ import annotations

from collections.abc import Mapping

from samelight import __version__

VERSION = f"samelight {__version__}"

COMMANDS: Mapping[str, tuple[str, str]] = {
    "start": ("start", "make a sequence of a folder of sheets or scenes"),
    "check": ("check", "say what differs from the master"),
    "compare": ("compare", "say what changed between two saved checks"),
    "report": ("report", "write the state of the sequence as a document"),
    "fix": ("fix", "say what to set in each shot"),
    "match": ("match", "bring a face to the key shot's, light by light, from measured frames"),
    "plan": ("plan", "project what the sequence costs to render"),
    "capture": ("capture", "make a sheet of a scene, or of all scenes of a sequence"),
    "measure": ("measure", "measure the marks of shots in their frames"),
    "decide": ("decide", "say that a drift is meant, send it back, take it up, close it, or withdraw that"),
    "publish": ("publish", "make the next master setup of a key shot's sheet"),
    "adopt": ("adopt", "carry the current master into shots that stand on an older one"),
    "across": ("across", "say what goes through all sequences of a production"),
    "propose": ("propose", "say which shots seem to share a set-up"),
    "watch": ("watch", "print what happens in a sequence as JSON lines"),
    "schema": ("schema", "print the format of a file, or of what a check prints"),
    "picture": ("open_window", "save pictures of the program's screens"),
    "completion": ("completion", "print what a shell needs to complete these commands"),
}
"""Each command's module, and what it does. The module loads with all that it needs only when somebody asks for the command."""
