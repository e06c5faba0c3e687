"""What in the sheets speaks against a guess."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from samelight.findings.board import Board
from samelight.findings.finding import Finding, Sureness
from samelight.findings.words import listed
from samelight.sheets.sheet import Sheet

LONGEST = 80
"""Characters of a note that are told."""

FEW = 3
"""Shots below which equal values may be a coincidence."""


def against(board: Board, finding: Finding) -> str:
    """What the sheets say against what a finding guesses, as a sentence; empty where it guesses nothing.

    A note that names what the finding is about, another master than the one it is compared with, or that it stands in so few
    shots that it may be a coincidence.
    """
    if finding.sureness is Sureness.CERTAIN or not finding.guessed or "may be a coincidence" in finding.known:
        return ""
    sheets = [sheet for shot in finding.shots if (sheet := board.evidence.sheets.get(shot)) is not None]
    groups = {name.split(".")[1] for name in finding.parameters if name.count(".") >= 1}
    for sheet in sheets:
        note = _note(sheet, groups)
        if note:
            return f"Against it: the notes of {sheet.shot} speak of it (“{note}”), so it may be meant."
    named = sorted(
        {
            sheet.master
            for sheet in sheets
            if sheet.master is not None and sheet.master != board.master.version
        }
    )
    if named and "master" not in finding.guessed:
        masters = listed([str(number) for number in named])
        return f"Against it: the sheet names master {masters}, so it may come from there."
    if len(finding.shots) < FEW:
        few = "one shot has it" if len(finding.shots) == 1 else f"only {len(finding.shots)} shots have it"
        return f"Against it: {few}, so it may be a coincidence."
    return "Nothing in the sheets speaks against it."


def _note(sheet: Sheet, groups: set[str]) -> str:
    """The line of a sheet's notes that names one of these groups; empty where none does."""
    typed: Mapping[str, Any] = sheet.typed
    notes = typed.get("notes")
    if not isinstance(notes, str):
        return ""
    for line in notes.splitlines():
        if any(re.search(rf"(?<!\w){re.escape(name)}(?!\w)", line, re.IGNORECASE) for name in groups if name):
            text = " ".join(line.split())
            return text if len(text) <= LONGEST else f"{text[: LONGEST - 1]}…"
    return ""
