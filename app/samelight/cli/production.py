"""A command over all sequences of a production, one after another: one that is broken never holds up the others."""

from __future__ import annotations

import argparse
import contextlib
import copy
import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from io import StringIO
from pathlib import Path
from xml.etree import ElementTree

from samelight.cli.terminal import COULD_NOT_RUN, complain, print_text
from samelight.reports.shown import shown
from samelight.sheets.errors import SamelightError
from samelight.sheets.production import Production, read_production
from samelight.sheets.shot_lists import UnknownLighterError
from samelight.sheets.unforeseen import what_failed
from samelight.sheets.vocabulary import FORMAT_VERSION

Run = Callable[[argparse.Namespace], int]


@dataclass(frozen=True, slots=True)
class Ran:
    """What a command came to in one sequence: its exit status, what it printed where that was kept, why it could not run."""

    name: str
    status: int
    said: str
    error: str


def production_of(arguments: argparse.Namespace, refused: tuple[str, ...] = ()) -> Production:
    """The production that a command was given. Raises `SamelightError`, also where an option speaks of one sequence."""
    for option in refused:
        if getattr(arguments, option, None):
            raise SamelightError(
                f"--{option.replace('_', '-')} goes with one sequence, not with a production"
            )
    production = read_production(arguments.folder)
    for name in production.unlisted:
        complain(f"{name} is a sequence folder that production.yaml does not list")
    for says in production.strange:
        complain(says)
    return production


def each_sequence(
    arguments: argparse.Namespace, production: Production, run: Run, *, kept: bool = False
) -> Iterator[Ran]:
    """Run a command in each sequence that is asked for. What is said on stderr stands under the name of its sequence; what
    is printed is `kept`, or goes where it goes.

    A sequence that does not name the lighter who is asked for is left out. Raises `SamelightError` where `--shots` names no
    sequence, and where none names that lighter.
    """
    lighter = getattr(arguments, "lighter", None)
    asked = production.shots(getattr(arguments, "shots", None))
    strange = 0
    for name, shots in asked.items():
        own = copy.copy(arguments)
        own.folder, own.common, own.shots = production.sequences[name], production.common(name), shots
        own.sequence_name = name
        heard, complaints, status, error = StringIO(), StringIO(), COULD_NOT_RUN, ""
        try:
            with contextlib.ExitStack() as stack:
                stack.enter_context(contextlib.redirect_stderr(complaints))
                if kept:
                    stack.enter_context(contextlib.redirect_stdout(heard))
                status = run(own)
        except UnknownLighterError:
            strange += 1
            continue
        except SamelightError as failed:
            error = str(failed)
        except OSError as failed:
            error = f"{failed.filename}: {failed.strerror}" if failed.filename else str(failed)
        except Exception as failed:  # noqa: BLE001 - the other sequences are looked at
            error = f"an error of the program itself stopped this: {what_failed(failed)}"
        said = [line.removeprefix("samelight: ") for line in complaints.getvalue().splitlines()]
        for line in [*said, *error.splitlines()]:
            complain(f"{name}: {line}")
        yield Ran(name, status, heard.getvalue(), error)
    if asked and strange == len(asked):
        raise SamelightError(f"no sequence of {production.title} names a lighter {lighter}")


def run_in_each(arguments: argparse.Namespace, run: Run, form: str, refused: tuple[str, ...] = ()) -> int:
    """Run a command that prints text, JSON or JUnit XML in every sequence of a production; the worst exit status."""
    production = production_of(arguments, refused)
    if form == "json":
        return print_json_of_all(production, each_sequence(arguments, production, run, kept=True))
    if form == "junit":
        return print_junit_of_all(each_sequence(arguments, production, run, kept=True))
    worst = 0

    def under_the_last(own: argparse.Namespace) -> int:
        if form and own.sequence_name != next(iter(production.sequences)):
            print_text("\n")
        return run(own)

    for ran in each_sequence(arguments, production, under_the_last):
        worst = max(worst, ran.status)
    return worst


def print_json_of_all(production: Production, of_each: Iterator[Ran]) -> int:
    """Print the documents of all sequences as one; the worst exit status."""
    parts, worst = [], 0
    for ran in of_each:
        worst = max(worst, ran.status)
        head = {"name": ran.name, "status": ran.status, **({"error": ran.error} if ran.error else {})}
        result = f', "result": {ran.said.strip()}' if ran.said.strip() else ""
        parts.append(f"{json.dumps(head)[:-1]}{result}}}")
    head = {"samelight": FORMAT_VERSION, "production": production.title, "status": worst}
    print_text(f'{json.dumps(head)[:-1]}, "sequences": [\n' + ",\n".join(parts) + "\n]}\n")
    return worst


def print_junit_of_all(of_each: Iterator[Ran]) -> int:
    """Print the suites of all sequences as one document, with an error for each that could not be looked at."""
    suites, worst = [], 0
    for ran in of_each:
        worst = max(worst, ran.status)
        _, opens, rest = ran.said.partition("<testsuites>\n")
        if opens:
            suites.append(rest.rpartition("</testsuites>")[0])
        if ran.error:
            suites.append(_broken(ran))
    print_text(f'<?xml version="1.0" encoding="UTF-8"?>\n<testsuites>\n{"".join(suites)}</testsuites>\n')
    return worst


def _broken(ran: Ran) -> str:
    name = shown(ran.name, 200)
    suite = ElementTree.Element("testsuite", name=name, tests="1", failures="0", errors="1")
    case = ElementTree.SubElement(suite, "testcase", classname=name, name="sequence")
    ElementTree.SubElement(case, "error", message=shown(ran.error, 1000))
    return f"  {ElementTree.tostring(suite, encoding='unicode')}\n"


def documents_folder(output: Path | None, form: str) -> Path:
    """The folder into which each sequence's document goes. Raises `SamelightError` where none is named."""
    if output is None or output.suffix or output.is_file():
        raise SamelightError(
            f"a production makes one {form} document a sequence: name a folder for them with -o"
        )
    output.mkdir(parents=True, exist_ok=True)
    return output
