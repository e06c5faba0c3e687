"""Opening a whole film, beside reading it with PyYAML and comparing it with DeepDiff alone, and beside its bytes.

Run: python tests/benchmarks/bench_film.py [--shots 2000] [--short]. Each figure is the median of some runs, each in a process
that has done nothing else but import: seconds of the processor, since other work may share it, and of the clock. The
plain way is timed on a few shots and multiplied. The window's own time is in bench_window.py and bench_steady.py. Needs a POSIX system.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parents[1] / "app"), str(HERE.parent)]

import numpy as np  # noqa: E402 - after the paths are set
import yaml  # noqa: E402
from deepdiff import DeepDiff  # noqa: E402

from benchmarks.film_on_disk import write_film  # noqa: E402
from samelight.decisions.ledger import open_ledger  # noqa: E402
from samelight.sequence import disk  # noqa: E402
from samelight.sequence.contents import SheetStore, read_contents  # noqa: E402
from samelight.sequence.keeping import Opened, first_comparison, keeping  # noqa: E402
from samelight.sequence.references import compare_again  # noqa: E402
from samelight.sequence.stored_ledger import KeptDecisions  # noqa: E402
from samelight.sheets.sheet import read_sheet  # noqa: E402

PLAIN_SHOTS = 40
GROWTH = (250, 500, 1000, 2000, 5000, 10_000)
DRIFTS = (0.0, 0.01, 0.03, 0.1, 0.5)
USUAL_DRIFT = 0.03
FORMATS = ("text", "json", "junit")


class Took(NamedTuple):
    """Seconds of the processor and of the clock."""

    cpu: float
    wall: float


def timed(run: Callable[[], object], times: int = 1) -> Took:
    """The medians."""
    found = []
    for _ in range(times):
        cpu, wall = time.process_time(), time.perf_counter()
        run()
        found.append(Took(time.process_time() - cpu, time.perf_counter() - wall))
    return medians(found)


def medians(found: Sequence[Took]) -> Took:
    return Took(*(statistics.median(figures) for figures in zip(*found, strict=True)))


def plain(folder: Path) -> Took:
    """PyYAML's C loader and DeepDiff, for the film."""
    (setup,) = (folder / "master").glob("*.yaml")
    files = sorted((folder / "shots").glob("*/*.yaml"))

    def run() -> None:
        master = yaml.load(setup.read_text(encoding="utf-8"), yaml.CSafeLoader)
        for path in files[:PLAIN_SHOTS]:
            DeepDiff(master, yaml.load(path.read_text(encoding="utf-8"), yaml.CSafeLoader))

    share = len(files) / min(PLAIN_SHOTS, len(files))
    return Took(*(figure * share for figure in timed(run)))


def opening(folder: Path) -> dict[str, Took]:
    """Reading and comparing, cold or warm as the cache is, and keeping what came of it."""
    made: list[Opened] = []
    took = timed(lambda: made.append(first_comparison(read_contents(SheetStore(folder)))))
    keep = keeping(made[0], open_ledger(folder), KeptDecisions())
    assert keep is not None, "a film is large enough to be kept"
    return {"open": took, "keep": timed(keep)}


def changing(folder: Path) -> dict[str, Took]:
    """One changed sheet, and a changed tolerance, after the film was opened."""
    opened = first_comparison(read_contents(SheetStore(folder)))
    contents, table = opened.contents, opened.comparison
    shot = contents.shots[len(contents.shots) // 2]
    path = contents.sheets[shot].path

    def sheet() -> None:
        changed = replace(contents, sheets={**contents.sheets, shot: read_sheet(path, shot=shot)})
        compare_again(table, contents, changed)

    tolerances = contents.policy.tolerances
    wider = replace(tolerances[0], pattern="lights.*.samples", at_most=3.0)
    lenient = replace(contents, policy=replace(contents.policy, tolerances=(*tolerances, wider)))
    return {"sheet": timed(sheet, 5), "tolerance": timed(lambda: compare_again(table, contents, lenient), 5)}


def bare(folder: Path) -> dict[str, Took]:
    """What no way of opening a film can do without: the bytes of its files, or a look at each."""
    files = [*(folder / "master").glob("*.yaml"), *(folder / "shots").glob("*/*.yaml")]
    return {
        "bytes": timed(lambda: [path.read_bytes() for path in files], 5),
        "stat": timed(lambda: [path.stat() for path in files], 5),
    }


def peak() -> float:
    """MiB at most so far."""
    per_mebibyte = 2**20 if sys.platform == "darwin" else 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / per_mebibyte


PARTS = {"opening": opening, "changing": changing, "bare": bare}


def in_a_process(
    part: str, folder: Path, times: int, before: Callable[[], None] = lambda: None
) -> tuple[dict[str, Took], float]:
    """A part of the measurement, each time in a process of its own, and how many MiB one of these needed at most."""
    runs, peaks = [], []
    for _ in range(times):
        before()
        command = [sys.executable, str(HERE / "bench_film.py"), "--part", part, str(folder)]
        done = subprocess.run(command, stdout=subprocess.PIPE, check=True)
        run, most = json.loads(done.stdout)
        runs.append(run)
        peaks.append(most)
    return {name: medians([Took(*run[name]) for run in runs]) for name in runs[0]}, max(peaks)


def forget() -> None:
    """Leave nothing of another day."""
    shutil.rmtree(disk.cache_folder(), ignore_errors=True)


class Film(NamedTuple):
    """The figures of one film."""

    plain: Took
    cold: Took
    warm: Took
    keep: Took
    sheet: Took
    tolerance: Took
    bytes: Took
    stat: Took
    peaks: tuple[float, float]
    """MiB, cold and warm."""


def measured(folder: Path, times: int) -> Film:
    cold, most = in_a_process("opening", folder, times, forget)
    warm, most_warm = in_a_process("opening", folder, times)
    changed, _ = in_a_process("changing", folder, 1)
    least, _ = in_a_process("bare", folder, 1)
    return Film(
        plain(folder),
        cold["open"],
        warm["open"],
        cold["keep"],
        changed["sheet"],
        changed["tolerance"],
        least["bytes"],
        least["stat"],
        (most, most_warm),
    )


HEAD = (
    f"{'':13}{'plain':>9}{'cold':>15}{'x':>6}{'warm':>15}{'x':>7}{'keep':>7}{'1 sheet':>9}{'tolerance':>11}{'bytes':>15}"
    f"{'cold/':>7}{'warm/':>7}{'stat':>7}\n"
    f"{'shots  drift':>13}{'cpu s':>9}{'cpu s':>8}{'wall':>7}{'':>6}{'cpu s':>8}{'wall':>7}{'':>7}{'cpu s':>7}{'cpu ms':>9}"
    f"{'cpu ms':>11}{'cpu s':>8}{'wall':>7}{'bytes':>7}{'bytes':>7}{'cpu s':>7}"
)


def line(shots: int, drift: float, film: Film) -> str:
    slow, cold, warm, least = film.plain.cpu, film.cold, film.warm, film.bytes
    return (
        f"{shots:>6}{drift:>7.0%}{slow:>9.1f}{cold.cpu:>8.2f}{cold.wall:>7.2f}{slow / cold.cpu:>6.0f}{warm.cpu:>8.2f}"
        f"{warm.wall:>7.2f}{slow / warm.cpu:>7.0f}{film.keep.cpu:>7.2f}{1000 * film.sheet.cpu:>9.1f}"
        f"{1000 * film.tolerance.cpu:>11.1f}{least.cpu:>8.3f}{least.wall:>7.3f}{cold.cpu / least.cpu:>7.0f}"
        f"{warm.cpu / least.cpu:>7.1f}{film.stat.cpu:>7.3f}"
    )


def growth(films: Sequence[tuple[int, Film]]) -> str:
    """How time and memory grow with the number of shots: the line of least squares, and how far any figure is from it."""
    shots = [count for count, _ in films]
    said = ["growth, of seconds of the processor and of memory, against a straight line:"]
    said += [
        straight(name, "ms", shots, [1000 * getattr(film, name).cpu for _, film in films])
        for name in ("cold", "warm", "keep", "sheet", "tolerance", "bytes", "stat")
    ]
    said += [
        straight(name, "MiB", shots, [film.peaks[place] for _, film in films])
        for place, name in enumerate(("cold", "warm"))
    ]
    return "\n".join(said)


def straight(name: str, unit: str, shots: Sequence[int], figures: Sequence[float]) -> str:
    """The line through figures of so many shots."""
    across, took = np.array(shots, dtype=float), np.array(figures)
    slope, start = np.polyfit(across, took, 1)
    off = np.abs(took - (start + slope * across)) / took
    return (
        f"  {name:<10}{slope:8.4f} {unit} a shot, {start:8.1f} {unit} at none; largest residual {off.max():5.1%} "
        f"(at {shots[int(off.argmax())]} shots)"
    )


class Ran(NamedTuple):
    """What a command took, with the processes it started."""

    took: Took
    peak: int
    """MiB of the largest process."""


def check(folder: Path, *words: str) -> Ran:
    """A check in a process of its own."""
    environment = {**os.environ, "PYTHONPATH": str(HERE.parents[1] / "app")}
    command = [sys.executable, "-m", "samelight", "check", str(folder), *words]
    start = time.perf_counter()
    process = subprocess.Popen(command, env=environment, stdout=subprocess.DEVNULL)
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    assert process.returncode in (0, 1), process.returncode
    per_mebibyte = 2**20 if sys.platform == "darwin" else 1024
    wall = time.perf_counter() - start
    return Ran(Took(used.ru_utime + used.ru_stime, wall), used.ru_maxrss // per_mebibyte)


def checks(folder: Path, times: int) -> str:
    """`samelight check`, with start and imports: its time by jobs, and its peak memory by format."""
    said = ["samelight check, with its start, findings and what is kept, cold (cpu s, wall s):"]
    for jobs in (1, 2):
        found = []
        for _ in range(times):
            forget()
            found.append(check(folder, "--quiet", "--jobs", str(jobs)).took)
        took = medians(found)
        said.append(f"  --jobs {jobs}: {took.cpu:6.2f}{took.wall:7.2f}")
    warm = medians([check(folder, "--quiet").took for _ in range(times)])
    said += [
        f"  warm:     {warm.cpu:6.2f}{warm.wall:7.2f}",
        "peak memory of samelight check (MiB, cold and warm):",
    ]
    for form in FORMATS:
        forget()
        first, second = check(folder, "--format", form), check(folder, "--format", form)
        said.append(f"  {form:<7}{first.peak:5}{second.peak:5}")
    return "\n".join(said)


def machine() -> str:
    name = platform.processor() or platform.machine()
    try:
        lines = Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
        name = next(one.partition(":")[2].strip() for one in lines if one.startswith("model name"))
    except (OSError, StopIteration):
        pass
    load = f", load {os.getloadavg()[0]:.1f} at the start" if hasattr(os, "getloadavg") else ""
    return f"{platform.platform()}, {name}, {os.cpu_count()} processors, Python {platform.python_version()}{load}"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--shots", type=int, default=2000)
    parser.add_argument("--short", action="store_true", help="one film only, without growth and drifts")
    parser.add_argument("--times", type=int, default=3, help="runs of which the median is taken (default: 3)")
    parser.add_argument("--part", nargs=2, help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.part:
        print(json.dumps([PARTS[asked.part[0]](Path(asked.part[1])), peak()]))
        return
    print(machine())
    usual = (asked.shots, USUAL_DRIFT)
    films = [usual]
    if not asked.short:
        films += [(shots, USUAL_DRIFT) for shots in GROWTH] + [(asked.shots, drift) for drift in DRIFTS]
    found: dict[tuple[int, float], Film] = {}
    with tempfile.TemporaryDirectory() as place:
        os.environ["XDG_CACHE_HOME"] = str(Path(place) / "cache")
        print(HEAD, flush=True)
        for shots, drift in dict.fromkeys(films):
            folder = write_film(Path(place) / f"film_{shots}_{drift}", shots, drift)
            found[shots, drift] = measured(folder, asked.times)
            print(line(shots, drift, found[shots, drift]), flush=True)
            if (shots, drift) != usual:
                shutil.rmtree(folder)
        grown = [(shots, film) for (shots, drift), film in sorted(found.items()) if drift == USUAL_DRIFT]
        if len(grown) > 2:
            print(growth(grown), flush=True)
        print(checks(Path(place) / f"film_{asked.shots}_{USUAL_DRIFT}", asked.times))


if __name__ == "__main__":
    main()
