"""`samelight capture --sequence`: all scenes of a sequence into sheets."""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from samelight.cli.terminal import COULD_NOT_RUN, complain, print_line
from samelight.cli.workers import children, farm
from samelight.sequence.scene_jobs import jobs_of, roots_of
from samelight.sheets.counted import counted
from samelight.sheets.sequence import read_sequence
from samelight.sources.batch import Job, Outcome, Result, capture_all, capture_apart
from samelight.sources.pools import Pool, processors
from samelight.sources.request import CaptureRequest
from samelight.sources.scene_list import scenes_of

_TOLD = {
    Result.NEW: "new",
    Result.SAME: "captured again and the same",
    Result.SKIPPED: "unchanged",
    Result.FAILED: "failed",
}


def run_sequence(arguments: argparse.Namespace) -> int:
    """Capture every scene; the exit status is 1 where one of them failed, and 2 where one has a name that no shot can have."""
    folder: Path = arguments.sequence.absolute()
    sequence = read_sequence(folder)
    asked = CaptureRequest(
        frames=arguments.frames,
        camera=arguments.camera,
        lights=tuple(arguments.lights),
        marks=tuple(arguments.marks),
        master=arguments.master or None,
        roots=roots_of(sequence, arguments.allow_root, complain),
        frame_rate=arguments.frame_rate or sequence.frame_rate,
        keeps_rate=arguments.frame_rate is not None or "frame_rate" in sequence.stated,
        master_layers=arguments.master_layers or sequence.master_layers,
    )
    nameless: list[str] = []

    def left_out(said: str) -> None:
        nameless.append(said)
        complain(said)

    scenes = scenes_of(sequence, arguments.scenes, complain, left_out)
    jobs = jobs_of(
        sequence,
        scenes,
        asked,
        arguments.variant,
        arguments.master,
        again=arguments.again,
        seconds=arguments.time_limit,
    )
    address: str | None = arguments.scheduler
    pool: Pool = children if address is None else lambda _: farm(address)
    workers = len(jobs) if address else arguments.jobs or processors()
    counts: Counter[Result] = Counter()
    running = Running()
    work = running.capture if address is None else capture_apart
    with _bar(len(jobs), running) as step:
        for outcome in capture_all(jobs, pool, workers, work):
            counts[outcome.result] += 1
            _say(outcome, folder)
            step()
    parts = [f"{counts[result]} {told}" for result, told in _TOLD.items() if counts[result]]
    print_line(f"{counted(len(jobs), 'scene')}: {', '.join(parts)}")
    if nameless:
        return COULD_NOT_RUN
    return 1 if counts[Result.FAILED] else 0


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


class Running:
    """The scenes that are being captured, and since when."""

    def __init__(self) -> None:
        self._since: dict[str, float] = {}

    def capture(self, job: Job) -> Outcome:
        """Capture a scene, which is told meanwhile."""
        self._since[job.shot] = time.monotonic()
        try:
            return capture_apart(job)
        finally:
            del self._since[job.shot]

    def text(self) -> str:
        """The scene that has been at it for longest, and for how long; empty where none is."""
        since = dict(self._since)
        if not since:
            return ""
        shot = min(since, key=since.__getitem__)
        return f"{shot} {time.monotonic() - since[shot]:.0f} s"


@contextmanager
def _bar(total: int, running: Running) -> Iterator[Callable[[], None]]:
    """What to call after each scene: a bar on stderr where that is a terminal, which says which scene takes how long.

    Results on stdout go above it where they go to the same terminal.
    """
    if not sys.stderr.isatty():
        yield lambda: None
        return
    from rich.console import Console
    from rich.progress import (
        BarColumn,
        MofNCompleteColumn,
        Progress,
        ProgressColumn,
        Task,
        TextColumn,
        TimeRemainingColumn,
    )
    from rich.text import Text

    class Scene(ProgressColumn):
        def render(self, task: Task) -> Text:  # noqa: ARG002 - rich asks for each of one
            return Text(running.text())

    columns = (TextColumn("capturing"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn(), Scene())
    console = Console(file=sys.stderr)
    with Progress(*columns, console=console, transient=True, redirect_stdout=sys.stdout.isatty()) as bar:
        task = bar.add_task("capturing", total=total)
        yield lambda: bar.advance(task)
