"""`samelight capture --sequence`: all scenes of a sequence into sheets."""

from __future__ import annotations

import argparse
import os
import sys
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import replace
from pathlib import Path

from samelight.cli.terminal import complain, print_line
from samelight.cli.workers import children, farm, processors
from samelight.drift.words import counted
from samelight.sheets.errors import SamelightError
from samelight.sheets.sequence import SEQUENCE_FILE, SequenceFile, master_versions, read_sequence
from samelight.sheets.setups import StatedSetUp
from samelight.sheets.shot_lists import NamedShots
from samelight.sources.batch import Job, Outcome, Result, capture_all
from samelight.sources.pools import Pool
from samelight.sources.request import CaptureRequest, variants_of
from samelight.sources.scene_list import scenes_of

_TOLD = {
    Result.NEW: "new",
    Result.SAME: "captured again and the same",
    Result.SKIPPED: "unchanged",
    Result.FAILED: "failed",
}


def run_sequence(arguments: argparse.Namespace) -> int:
    """Capture every scene; the exit status is 1 where one of them failed."""
    folder: Path = arguments.sequence.absolute()
    sequence = read_sequence(folder)
    asked = CaptureRequest(
        frames=arguments.frames,
        camera=arguments.camera,
        lights=tuple(arguments.lights),
        marks=tuple(arguments.marks),
        master=arguments.master or None,
        roots=_roots(sequence, arguments.allow_root),
        frame_rate=arguments.frame_rate or sequence.frame_rate,
        master_layers=arguments.master_layers or sequence.master_layers,
    )
    scenes = scenes_of(sequence, arguments.scenes, complain)
    cut = sequence.cut or tuple(scenes)
    jobs = [
        Job(
            folder,
            shot,
            scene.absolute(),
            replace(asked, variants=variants_of(arguments.variant, shot)),
            arguments.again,
            _master_of(sequence, shot, cut, arguments.master),
        )
        for shot, scene in scenes.items()
    ]
    address: str | None = arguments.scheduler
    pool: Pool = children if address is None else lambda _: farm(address)
    workers = len(jobs) if address else arguments.jobs or processors()
    counts: Counter[Result] = Counter()
    with _bar(len(jobs)) as step:
        for outcome in capture_all(jobs, pool, workers):
            counts[outcome.result] += 1
            _say(outcome, folder)
            step()
    parts = [f"{counts[result]} {told}" for result, told in _TOLD.items() if counts[result]]
    print_line(f"{counted(len(jobs), 'scene')}: {', '.join(parts)}")
    return 1 if counts[Result.FAILED] else 0


def _master_of(sequence: SequenceFile, shot: str, cut: Sequence[str], asked: int | None) -> Path | None:
    """The file of the master that a shot is held against: that which is asked for or pinned, else the newest."""
    setup = next((stated for stated in sequence.setups.values() if _is_of(stated, shot, cut)), None)
    versions = master_versions(sequence.folder, setup.name if setup else "")
    pinned = setup.master if setup else sequence.pinned.get(shot, sequence.master)
    return versions.get(asked or pinned or max(versions, default=0))


def _is_of(setup: StatedSetUp, shot: str, cut: Sequence[str]) -> bool:
    """Whether a shot is one of a set-up's, by the cut of sequence.yaml or else by the names of the scenes."""
    named = NamedShots(cut)
    for one in setup.shots:
        with suppress(SamelightError):  # one that is not there is told where the sequence is read
            if shot in named.meant(one):
                return True
    return False


def _roots(sequence: SequenceFile, asked: Sequence[Path]) -> tuple[str, ...]:
    """The folders that scenes may name files in: those of the command line, and of sequence.yaml where it is the user's."""
    stated, file = sequence.allow_roots, sequence.folder / SEQUENCE_FILE
    if stated and hasattr(os, "geteuid") and file.stat().st_uid != os.geteuid():
        complain(f"{file} is another user's: its allow_roots do not count; name them with --allow-root")
        stated = ()
    return (*stated, *(str(root.absolute()) for root in asked))


def _say(outcome: Outcome, folder: Path) -> None:
    if outcome.sheet is None:
        complain(f"{outcome.shot} failed: {outcome.error}")
        return
    for remark in outcome.remarks if outcome.result is Result.NEW else ():
        complain(f"{outcome.shot}: {remark}")
    print_line(f"{outcome.shot}: {_sheet_name(outcome.sheet, folder)} {_what(outcome)}")


def _sheet_name(sheet: Path, folder: Path) -> str:
    return sheet.relative_to(folder).as_posix() if sheet.is_relative_to(folder) else str(sheet)


def _what(outcome: Outcome) -> str:
    if outcome.result is Result.SKIPPED:
        return "unchanged"
    said = counted(outcome.lights, "light")
    if outcome.remarks:
        said += f", {counted(len(outcome.remarks), 'remark')}"
    return f"({said})" if outcome.result is Result.NEW else f"the same ({said})"


@contextmanager
def _bar(total: int) -> Iterator[Callable[[], None]]:
    """What to call after each scene: a bar on stderr where that is a terminal.

    Results on stdout go above it where they go to the same terminal.
    """
    if not sys.stderr.isatty():
        yield lambda: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (TextColumn("capturing"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    console = Console(file=sys.stderr)
    with Progress(*columns, console=console, transient=True, redirect_stdout=sys.stdout.isatty()) as bar:
        task = bar.add_task("capturing", total=total)
        yield lambda: bar.advance(task)
