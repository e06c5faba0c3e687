"""A copy of harbour in which names and words look like mark-up and keys, and what watches whether any of it is loaded."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

from samelight.sheets.resources import sample_sequence

MARK = "<u>Z</u> &amp; &Zeta"
"""A word that would be underlined and take Alt+Z, were it not taken to the letter."""

HIDING = "\u202e\u2066"
"""Signs that are not seen and turn what follows them around."""

SHOT = "&Zeta_HB"


_WATCH = """
import os, sys, time
pipe, caught = sys.argv[1:]
while True:
    try:
        end = os.open(pipe, os.O_WRONLY | os.O_NONBLOCK)
    except OSError:  # nobody reads
        time.sleep(0.005)
        continue
    with open(caught, "ab") as file:
        file.write(b"!")
    os.close(end)
"""


class Lure:
    """A pipe that a picture in a name points to: whoever opens it is noted, and let go again.

    It is watched from another process, since who waits for the pipe may keep all threads of this one waiting.
    """

    def __init__(self, folder: Path) -> None:
        self._pipe, self._caught = folder / "lure", folder / "caught"
        self._caught.touch()
        os.mkfifo(self._pipe)
        self._watcher = subprocess.Popen([sys.executable, "-c", _WATCH, self._pipe, self._caught])

    @property
    def tag(self) -> str:
        """Mark-up that shows what comes out of the pipe."""
        return f"<img src=file://{self._pipe}>"

    @property
    def opened(self) -> int:
        """How often the pipe was opened."""
        return self._caught.stat().st_size

    def close(self) -> None:
        """Stop watching."""
        self._watcher.terminate()
        self._watcher.wait()


def hostile_copy(folder: Path, light: str) -> Path:
    """Write the copy into `folder`, with the sun called `light`, and return it."""
    shutil.copytree(sample_sequence("harbour"), folder)
    for path in folder.rglob("*.yaml"):
        text = path.read_text(encoding="utf-8")
        path.write_text(_hostile(text, light), encoding="utf-8")
    (folder / "shots/HB_060").rename(folder / "shots" / SHOT)
    for path in [*(folder / "shots" / SHOT).iterdir(), *(folder / "frames").glob("HB_060.*")]:
        path.rename(path.with_name(path.name.replace("HB_060", SHOT)))
    return folder


def _hostile(text: str, light: str) -> str:
    quoted, words = MARK.join("''"), f"{MARK}{HIDING}".join("''")
    for found, instead in (
        ("\n  sun: {", f"\n  {light!r}: {{"),
        ("lights.sun.", f"lights.{light}."),
        ("HB_060", f"{SHOT!r}"),
        (" rim: {", f" {quoted}: {{"),
        ("  nets: {", f"  {quoted}: {{"),
        ("  crew: {", f"  {quoted}: {{"),
        ("title: Harbour", f"title: '{MARK}{HIDING} [*]'"),
        ('by: "lead"', f"by: {words}"),
        ("who: lead", f"who: {words}"),
        ("reason: ", f"reason: {MARK.replace(': ', ' ')}{HIDING} "),
        ("temperature: 4300 K, angle", f"temperature: 4300 K, {quoted}: 3, angle"),
        ("  Ines: ", f"  {words}: "),
        ("# the grade is built on it", ""),
        ("notes: >-\n", f"notes: >-\n  {MARK}{HIDING}\n"),
    ):
        text = text.replace(found, instead)
    return text
