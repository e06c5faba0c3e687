"""`samelight measure`: the marks of shots in their frames, kept beside the sheets."""

from __future__ import annotations

import argparse
import math
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path
from typing import NamedTuple

from samelight.cli.counts import count
from samelight.cli.production import run_in_each
from samelight.cli.reading import add_scheduler, only_for_productions, watched
from samelight.cli.shots import add_shots, shots_of
from samelight.cli.terminal import COULD_NOT_RUN, complain, print_line
from samelight.drift.words import counted
from samelight.findings.words import listed
from samelight.sequence.contents import Contents, SheetStore, read_contents
from samelight.sequence.measured import Measurements
from samelight.sequence.measuring import (
    ENDS,
    EVERY,
    FrameError,
    FrameFile,
    all_frames_in,
    is_known,
    keep,
    measure_shot,
    missing_in,
    some_of,
)
from samelight.sheets.errors import SamelightError
from samelight.sheets.measured import FOLDER, MeasuredFrame, MeasuredMark, Witness
from samelight.sheets.production import is_production
from samelight.sheets.sheet import Sheet
from samelight.sheets.unforeseen import sentence_of

EXAMPLES = """examples:
  samelight measure harbour
  samelight measure harbour --shots HB_050-HB_090
  samelight measure landing --frames ends
"""


DESCRIPTION = (
    "Look at each mark in its shot's frame, frames/SHOT.exr or the first of frames/SHOT.1001.exr and so on, and keep how "
    f"bright, of which colour and from which side it is lit as a small file in the folder {FOLDER}, so that a check needs no frames. Only "
    "linear OpenEXR frames are measured; what was measured already is not measured again. Exit status: 0 measured; 2 not every "
    "shot that was asked for: its sheet or its frame cannot be read."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("folder", type=Path, help="the sequence folder, or a production: a folder of these")
    add_shots(parser)
    parser.add_argument(
        "--frames",
        type=_which,
        metavar="WHICH",
        help="of shots with numbered frames also others than the first: ends (the first, one in the middle, the last), all, or N for every "
        "N-th of those that are there",
    )
    parser.add_argument("--again", action="store_true", help="also what was measured already")
    parser.add_argument(
        "--jobs",
        type=count,
        default=1,
        metavar="N",
        help="measure N frames at a time, of a production N sequences (default: 1)",
    )
    add_scheduler(parser)


def run(arguments: argparse.Namespace) -> int:
    """Measure, over a production in each of its sequences."""
    if is_production(arguments.folder):
        return run_in_each(arguments, _run, "")
    only_for_productions(arguments)
    return _run(arguments)


def _run(arguments: argparse.Namespace) -> int:
    """Measure the shots of one sequence, in the order of the cut."""
    store = SheetStore(arguments.folder)
    with watched() as progress:
        contents = read_contents(
            store, progress=progress, shots=lambda cut, sequence: shots_of(arguments, cut, sequence)
        )
    shots = shots_of(arguments, contents.shots, contents.sequence)
    try:
        frames = all_frames_in(store.folder)
    except FrameError as error:
        raise SamelightError(f"{store.folder}: {error}") from None
    asked, known, without = _asked(arguments, store, contents, shots, frames)
    failed = len(shots) - sum(shot in contents.sheets for shot in shots)
    with ThreadPoolExecutor(arguments.jobs) as pool:  # each reads in a process of its own
        measured = pool.map(partial(_measured, store.folder), asked)
        for one, outcome in zip(asked, measured, strict=True):
            if isinstance(outcome, str):
                complain(f"{one.sheet.shot}: {outcome}")
                failed += 1
                continue
            for line in _lines(outcome):
                print_line(f"{line}, in frame {outcome.frame:g}" if one.is_one_of_several else line)
    if known:
        print_line(f"{counted(known, 'frame' if arguments.frames else 'shot')} measured already")
    if without:
        print_line(f"{counted(without, 'shot')} without an EXR frame")
    return COULD_NOT_RUN if failed else 0


class _Asked(NamedTuple):
    """A frame to be measured by the sheet of its shot."""

    sheet: Sheet
    frame: FrameFile
    is_one_of_several: bool


def _asked(
    arguments: argparse.Namespace,
    store: SheetStore,
    contents: Contents,
    shots: Sequence[str],
    frames: Mapping[str, Sequence[FrameFile]],
) -> tuple[list[_Asked], int, int]:
    """What is to be measured, how many frames are known already, and how many shots have none. Sheets that cannot be read, and frames
    that are missing between others, are told."""
    measurements = Measurements(store)
    asked: list[_Asked] = []
    known = without = 0
    for shot in shots:
        sheet, there = contents.sheets.get(shot), frames.get(shot, [])
        if sheet is None:
            for trouble in contents.troubles:
                if trouble.shot == shot:
                    complain(trouble.says)
            continue
        without += not there
        of_shot = measurements.of(shot)
        for frame in some_of(there, arguments.frames) if arguments.frames and there else there[:1]:
            if not arguments.again and is_known(of_shot, sheet, frame[0]):
                known += 1
            else:
                asked.append(_Asked(sheet, frame, len(there) > 1))
        missing = missing_in(there) if arguments.frames else []
        if missing:
            print_line(f"{shot}: {_missing_words(missing)}")
    return asked, known, without


def _missing_words(runs: Sequence[range]) -> str:
    """How many frames are missing, and which."""
    said = [str(run[0]) if len(run) == 1 else f"{run[0]} to {run[-1]}" for run in runs]
    return f"{counted(sum(map(len, runs)), 'frame')} missing: {listed(said)}"


def _measured(folder: Path, asked: _Asked) -> MeasuredFrame | str:
    """What was measured and kept; in words, why nothing was."""
    try:
        measured = measure_shot(folder, asked.sheet, *asked.frame)
        keep(folder, measured)
    except Exception as error:  # noqa: BLE001 - the other frames are measured
        return sentence_of(error)
    return measured


def _which(text: str) -> str:
    """What `--frames` asks for, as `some_of` takes it."""
    if text not in (ENDS, EVERY) and not (text.isdecimal() and int(text) > 0):
        raise argparse.ArgumentTypeError(f"expected {ENDS}, {EVERY} or a number above 0, found {text!r}")
    return text


def _by_layers(one: MeasuredMark) -> str:
    """What each light gives a mark of all that its layers hold, the most first, and whether that is what the picture holds."""
    given = {light: math.pow(2.0, stops) for light, stops in one.lights.items()}
    total = math.fsum(given.values())
    shares = [f"{light} {given[light] / total:.0%}" for light in sorted(given, key=lambda name: -given[name])]
    off = one.layers_words
    return ", ".join(shares) + (f"; {off}" if off else "")


def _lines(measured: MeasuredFrame) -> Iterator[str]:
    age = Witness(measured, is_current=True).age
    if age:
        yield f"{measured.shot}: {age}"
    for mark, one in measured.marks.items():
        figures = one.figures
        odd = [
            f"{count} of its pixels {what}"
            for count, what in (
                (figures.clipped, "clipped"),
                (figures.dark, "black"),
                (figures.not_numbers, "without a number"),
            )
            if count
        ]
        side = "right" if figures.side > 0.0 else "left"
        said = (
            f"{figures.level:+.2f} stops",
            f"spread {figures.spread:.2f}",
            f"{side} brighter by {abs(figures.side):.2f}" if figures.side else "both sides alike",
            f"u'v' {figures.u:.4f} {figures.v:.4f}",
            f"noise {figures.noise:.2f}",
            *odd,
        )
        yield f"{measured.shot} {mark}: {', '.join(said).replace('-', '−')}"
        if one.lights:
            yield f"{measured.shot} {mark}, by layers: {_by_layers(one)}"
    for mark, why in measured.unseen.items():
        yield f"{measured.shot} {mark}: not measured, {why}"
    if not measured.marks and not measured.unseen:
        yield f"{measured.shot}: its sheet has no marks"
