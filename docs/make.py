"""Writes the pages of this folder that are made from the program: run `python docs/make.py` after changing a command.

A test fails while a page is not what this makes.
"""

from __future__ import annotations

import argparse
import inspect
import sys
from collections import Counter
from collections.abc import Callable
from pathlib import Path

DOCS = Path(__file__).resolve().parent

_STATUSES = (
    "Every command ends with one of three statuses:",
    "",
    "| status | `check`, `compare`, `across` | `capture --sequence` | every other |",
    "| --- | --- | --- | --- |",
    "| 0 | nothing is left to decide or mend; nothing new is; nothing is to be looked at | every scene is captured or as it was | it is done |",
    "| 1 | something is undecided or sent back; something new is; something is to be looked at | a scene failed, the others are captured | |",
    "| 2 | it could not be run, or not on everything | nothing was captured, or a scene was left out | it could not be done, or not whole |",
    "",
    "Whatever a command prints, with `--quiet` it prints nothing but what went wrong, and the status says it. Commands that look at the",
    "shots of a sequence take `--shots` and `--lighter`.",
    "",
    "2 is also the status of a wrong word on the command line, of a reader that went away before all was printed, and of an",
    "error of the program itself: one sentence on stderr then names the file with its traceback. One that is stopped from the",
    "keyboard ends with 130.",
)


def pages() -> dict[str, str]:
    """Every page that is made, by its name."""
    from samelight.cli.parser import build_parser
    from samelight.reports.check_schema import check_schema
    from samelight.sheets.writing import json_text

    return {
        "commands.md": commands_page(build_parser()),
        "check.schema.json": json_text(check_schema()),
        "words.md": words_page(),
    }


def commands_page(parser: argparse.ArgumentParser) -> str:
    """The reference of the command line, from its parsers."""
    commands = next(action for action in parser._actions if isinstance(action, argparse._SubParsersAction))
    helps = {action.dest: action.help or "" for action in commands._choices_actions}
    lines = [
        "# Commands",
        "",
        "Made from the program by `docs/make.py`; `samelight COMMAND --help` says the same.",
        "",
        f"{parser.description} With a folder, or with nothing, the window opens.",
        "",
        "| command | what it does |",
        "| --- | --- |",
        *(f"| [`{name}`](#{name}) | {_cell(helps.get(name, ''))} |" for name in commands.choices),
        "",
        *_STATUSES,
        "",
    ]
    for name, command in commands.choices.items():
        lines += _command(name, command)
    return "\n".join(lines)


def _command(name: str, parser: argparse.ArgumentParser) -> list[str]:
    lines = [f"## {name}", "", parser.description or "", "", "| argument | |", "| --- | --- |"]
    for action in parser._actions:
        if action.help is not argparse.SUPPRESS and not isinstance(action, argparse._HelpAction):
            said = (action.help or "").replace("%(default)s", str(action.default))
            lines.append(f"| {_words(action)} | {_cell(said)} |")
    examples = (parser.epilog or "").strip().splitlines()
    if examples:
        lines += ["", "```", *(line.strip() for line in examples[1:]), "```"]
    return [*lines, ""]


def _words(action: argparse.Action) -> str:
    """An argument as it is typed."""
    if action.choices is not None:
        value = "{" + ",".join(map(str, action.choices)) + "}"
    elif isinstance(action.metavar, tuple):
        value = " ".join(action.metavar)
    else:
        value = action.metavar or action.dest.upper()
    if action.nargs in ("+", "*"):
        value += " ..."
    if not action.option_strings:
        return f"`{value if action.choices is not None or action.metavar else action.dest}`"
    takes = action.nargs != 0
    return ", ".join(f"`{option}{f' {value}' if takes else ''}`" for option in action.option_strings)


_STATES = {
    "undecided": "it drifts, and nobody has decided on it",
    "intended": "somebody marked it as intended, with the reason, and both values are still those",
    "sent back": "somebody sent it back to be mended",
    "asks again": "the shot's or the master's value changed since somebody decided on it; it counts as undecided",
    "two opinions": "two people decided differently, and neither had seen the other's decision; it counts as undecided",
    "taken up": "a lighter is mending what was sent back; it counts as sent back",
    "mended": "it was sent back, and its value is another, or its shot has a newer version: whoever sent it back looks, and closes it or sends it "
    "back again; while it drifts it counts as undecided",
    "closed": "somebody looked at what was mended, and it is inside its tolerance since",
}


def words_page() -> str:
    """What each name means, and its unit, from what the program has of it."""
    from samelight.decisions.state import State
    from samelight.drift.derived_names import (
        APART,
        MARK_KINDS,
        PICTURE,
        PICTURE_KINDS,
        SECTIONS,
        SUBJECT,
        SUBJECT_KINDS,
        derived_kind,
        derived_rule,
    )
    from samelight.drift.metrics import SCALES
    from samelight.findings.registry import FINDERS
    from samelight.sheets.parameters import OF_SECTION

    def unit(kind: str) -> str:
        return SCALES[kind].unit or "equal or not"

    alone = Counter(finder.__module__ for _, finder in FINDERS)
    computed = [f"marks.NAME.{leaf}" for leaf in MARK_KINDS]
    computed += [f"{SUBJECT}.NAME.{leaf}" for leaf in SUBJECT_KINDS]
    computed += [f"{section}.NAME" for section in SECTIONS if section not in {"marks", *APART}]
    computed += [f"{PICTURE}.NAME.{leaf}" for leaf in PICTURE_KINDS]
    lines = [
        "# Words",
        "",
        "Made from the program by `docs/make.py`: each name, what it means, and its unit.",
        "",
        "## States of a cell or a finding",
        "",
        "| name | meaning |",
        "| --- | --- |",
        *(f"| {state} | {_STATES[state]} |" for state in State),
        "",
        "## Findings",
        "",
        "| name | meaning |",
        "| --- | --- |",
        *(
            f"| `{name}` | {_cell(_meaning(finder, alone[finder.__module__] == 1))} |"
            for name, finder in FINDERS
        ),
        "",
        "## Computed rows",
        "",
        "| name | meaning | unit of drift |",
        "| --- | --- | --- |",
        *(
            f"| `{name}` | {_cell(derived_rule(name)[0])} | {unit(derived_kind(name) or '')} |"
            for name in computed
        ),
        "",
    ]
    for section, parameters in OF_SECTION.items():
        lines += [f"## {section}", "", "| name | meaning | kind |", "| --- | --- | --- |"]
        lines += [f"| `{name}` | {_cell(is_.means)} | {is_.kind} |" for name, is_ in parameters.items()]
        lines.append("")
    lines += ["## Kinds", "", "| kind | unit of drift |", "| --- | --- |"]
    lines += [f"| {kind} | {unit(kind)} |" for kind in SCALES]
    return "\n".join([*lines, ""])


def _meaning(finder: Callable[..., object], alone: bool) -> str:
    """What a finding is: its module says it, where it stands alone there."""
    said = inspect.getmodule(finder) if alone else finder
    return (inspect.getdoc(said) or "").partition("\n\n")[0].replace("\n", " ")


def _cell(text: str) -> str:
    return text.replace("|", "\\|").replace("<", "\\<")


if __name__ == "__main__":
    sys.path.insert(0, str(DOCS.parent / "app"))
    for name, text in pages().items():
        (DOCS / name).write_text(text, encoding="utf-8", newline="\n")
        print(DOCS / name)
