"""A command over all sequences of a production, one after another: one that is broken never holds up the others."""

from __future__ import annotations

import argparse
import contextlib
import copy
import json
import threading
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from io import StringIO
from pathlib import Path
from xml.etree import ElementTree

from samelight.cli.terminal import COULD_NOT_RUN, complain, print_text
from samelight.reports.shown import shown
from samelight.sheets.errors import SamelightError
from samelight.sheets.production import Production, read_production
from samelight.sheets.shot_lists import UnknownLighterError
from samelight.sheets.unforeseen import sentence_of
from samelight.sheets.vocabulary import FORMAT_VERSION

Run = Callable[[argparse.Namespace], int]


@dataclass(frozen=True, slots=True)
class Ran:
    """What a command came to in one sequence: its exit status, what it printed where that was kept, why it could not run."""

    name: str
    status: int
    said: str
    error: str


@dataclass(frozen=True, slots=True)
class _Heard:
    """The same as it comes from whoever ran it, with what it said on stderr; `is_strange` where the lighter who was asked for is
    nobody there."""

    status: int = COULD_NOT_RUN
    said: str = ""
    complaints: str = ""
    error: str = ""
    is_strange: bool = False


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
    """Run a command in each sequence that is asked for, several at a time where `--jobs` or `--scheduler` says so and what is
    printed is `kept`. What is said on stderr stands under the name of its sequence; what is not kept goes where it goes.

    A sequence that does not name the lighter who is asked for is left out. Raises `SamelightError` where `--shots` names no
    sequence, where none names that lighter, and where there is no such farm.
    """
    lighter = getattr(arguments, "lighter", None)
    asked = production.shots(getattr(arguments, "shots", None))
    each = {name: own_arguments(arguments, production, name, shots) for name, shots in asked.items()}
    strange = 0
    with contextlib.ExitStack() as stack:
        heard = _heard_of_all(arguments, run, list(each.values()), stack, kept=kept)
        for name, ran in zip(each, heard, strict=True):
            if ran.is_strange:
                strange += 1
                continue
            said = [line.removeprefix("samelight: ") for line in ran.complaints.splitlines()]
            for line in [*said, *ran.error.splitlines()]:
                complain(f"{name}: {line}")
            yield Ran(name, ran.status, ran.said, ran.error)
    if asked and strange == len(asked):
        raise SamelightError(f"no sequence of {production.title} names a lighter {lighter}")


def own_arguments(
    arguments: argparse.Namespace, production: Production, name: str, shots: str | None
) -> argparse.Namespace:
    """The arguments of a command for one sequence."""
    own = copy.copy(arguments)
    own.folder, own.common, own.shots = production.sequences[name], production.common(name), shots
    own.sequence_name = name
    return own


def is_shared_out(arguments: argparse.Namespace) -> bool:
    """Whether sequences are to be worked on by others."""
    return getattr(arguments, "jobs", 1) > 1 or getattr(arguments, "scheduler", None) is not None


def _heard_of_all(
    arguments: argparse.Namespace,
    run: Run,
    each: Sequence[argparse.Namespace],
    stack: contextlib.ExitStack,
    *,
    kept: bool,
) -> Iterator[_Heard]:
    if not kept or not is_shared_out(arguments):
        yield from (_heard(run, own, kept=kept) for own in each)
        return
    from samelight.cli.sharing import shared_out  # with all that processes and farms need

    share = stack.enter_context(shared_out(arguments.jobs, getattr(arguments, "scheduler", None)))
    heard = share(_heard_elsewhere, [(run, _for_others(own)) for own in each])
    for own in each:
        ran = next(heard, None)
        yield _heard(run, own, kept=True) if ran is None else _as_here(ran, own)


def _for_others(own: argparse.Namespace) -> argparse.Namespace:
    """Arguments that mean the same elsewhere: whole paths, and nothing shared out again."""
    sent = copy.copy(own)
    sent.jobs, sent.scheduler = 1, None
    sent.folder = own.folder.absolute()
    for name in ("policy", "output"):
        path = getattr(own, name, None)
        if path is not None:
            setattr(sent, name, path.absolute())
    common = own.common
    sent.common = replace(common, policy=common.policy and common.policy.absolute())
    return sent


def _as_here(ran: _Heard, own: argparse.Namespace) -> _Heard:
    """What somebody else said, with the path of the sequence as it was written here."""
    there, here = str(own.folder.absolute()), str(own.folder)
    if there == here:
        return ran
    as_json = json.dumps(there)[1:-1], json.dumps(here)[1:-1]
    return replace(
        ran,
        said=ran.said.replace(there, here).replace(*as_json),
        complaints=ran.complaints.replace(there, here),
        error=ran.error.replace(there, here),
    )


_alone = threading.Lock()
"""What is printed is heard by redirecting it for the whole process, and a worker may have several threads."""


def _heard_elsewhere(task: tuple[Run, argparse.Namespace]) -> _Heard:
    with _alone:
        return _heard(*task, kept=True)


def _heard(run: Run, own: argparse.Namespace, *, kept: bool) -> _Heard:
    """Run a command in one sequence."""
    heard, complaints, status, error = StringIO(), StringIO(), COULD_NOT_RUN, ""
    try:
        with contextlib.ExitStack() as stack:
            stack.enter_context(contextlib.redirect_stderr(complaints))
            if kept:
                stack.enter_context(contextlib.redirect_stdout(heard))
            status = run(own)
    except UnknownLighterError:
        return _Heard(is_strange=True)
    except Exception as failed:  # noqa: BLE001 - the other sequences are looked at
        error = sentence_of(failed)
    return _Heard(status, heard.getvalue(), complaints.getvalue(), error)


def run_in_each(arguments: argparse.Namespace, run: Run, form: str, refused: tuple[str, ...] = ()) -> int:
    """Run a command that prints text, JSON or JUnit XML in every sequence of a production; the worst exit status."""
    production = production_of(arguments, refused)
    if form == "json":
        return print_json_of_all(production, each_sequence(arguments, production, run, kept=True))
    if form == "junit":
        return print_junit_of_all(each_sequence(arguments, production, run, kept=True))
    worst = 0
    if is_shared_out(arguments):
        for ran in each_sequence(arguments, production, run, kept=True):
            worst = max(worst, ran.status)
            blank = "\n" if form and ran.name != next(iter(production.sequences)) else ""
            print_text(blank + ran.said)
        return worst

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
