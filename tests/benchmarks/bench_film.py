"""Opening a whole film, beside reading it with PyYAML and comparing it with DeepDiff alone.

Run: python tests/benchmarks/bench_film.py [--shots 2000]. Seconds of the processor, medians of three where it is short;
the plain way is timed on a few shots and multiplied. The window's own time is in bench_grid.py.
"""

from __future__ import annotations

import argparse
import os
import platform
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parents[1] / "app"), str(HERE)]

import yaml  # noqa: E402 - after the paths are set
from deepdiff import DeepDiff  # noqa: E402
from film_on_disk import write_film  # noqa: E402

from samelight import kept  # noqa: E402
from samelight.bases import compare, compare_again  # noqa: E402
from samelight.contents import Contents, Shelf, read_contents  # noqa: E402
from samelight.sheets.sheet import read_sheet  # noqa: E402

PLAIN_SHOTS = 40
GROWTH = (250, 500, 1000, 2000, 4000)
DRIFTS = (0.0, 0.01, 0.03, 0.1, 0.5)
PEAK = (
    "import sys, resource; from pathlib import Path; from samelight.session import open_session;"
    "open_session(Path(sys.argv[1])); print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024)"
)


def timed(run: Callable[[], object], times: int = 1) -> float:
    """The median, in seconds of the processor, since other work may share it."""
    found = []
    for _ in range(times):
        start = time.process_time()
        run()
        found.append(time.process_time() - start)
    return statistics.median(found)


def plain(folder: Path) -> float:
    """Seconds that PyYAML's C loader and DeepDiff take for the film."""
    (setup,) = (folder / "master").glob("*.yaml")
    files = sorted((folder / "shots").glob("*/*.yaml"))

    def run() -> None:
        master = yaml.load(setup.read_text(encoding="utf-8"), yaml.CSafeLoader)
        for path in files[:PLAIN_SHOTS]:
            DeepDiff(master, yaml.load(path.read_text(encoding="utf-8"), yaml.CSafeLoader))

    return timed(run) * len(files) / min(PLAIN_SHOTS, len(files))


def opened(folder: Path) -> Contents:
    contents = read_contents(folder, Shelf())
    compare(contents)
    return contents


def forget() -> None:
    for path in kept.cache_folder().glob("*.json"):
        path.unlink()


def measured(folder: Path) -> tuple[float, float, float, float]:
    """Seconds of opening cold and warm, of one changed sheet and of a changed tolerance."""
    forget()
    cold = timed(lambda: opened(folder))
    warm = timed(lambda: opened(folder), 3)
    contents = read_contents(folder, Shelf())
    table = compare(contents)
    shot = contents.shots[len(contents.shots) // 2]
    anew = read_sheet(contents.sheets[shot].path, shot=shot)
    changed = replace(contents, sheets={**contents.sheets, shot: anew})
    one = timed(lambda: compare_again(table, contents, changed), 5)
    tolerances = contents.policy.tolerances
    wider = replace(tolerances[0], pattern="lights.*.samples", at_most=3.0)
    lenient = replace(contents, policy=replace(contents.policy, tolerances=(*tolerances, wider)))
    tolerance = timed(lambda: compare_again(table, contents, lenient), 5)
    return cold, warm, one, tolerance


def peak(folder: Path) -> int:
    """MiB of a process that opens the film."""
    environment = {**os.environ, "PYTHONPATH": str(HERE.parents[1] / "app")}
    run = subprocess.run(
        [sys.executable, "-c", PEAK, str(folder)], env=environment, capture_output=True, text=True, check=True
    )
    return int(run.stdout)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--shots", type=int, default=2000)
    parser.add_argument("--short", action="store_true", help="one film only, without growth and drifts")
    asked = parser.parse_args()
    print(f"{platform.platform()}, Python {platform.python_version()}, {os.cpu_count()} processors")
    print(
        f"{'shots':>6}{'drift':>7}{'plain':>9}{'cold':>8}{'x':>7}{'warm':>8}{'x':>7}{'1 sheet':>9}{'tolerance':>11}"
    )
    films = [(asked.shots, 0.03)]
    if not asked.short:
        films += [(shots, 0.03) for shots in GROWTH] + [(asked.shots, drift) for drift in DRIFTS]
    with tempfile.TemporaryDirectory() as place:
        os.environ["XDG_CACHE_HOME"] = str(Path(place) / "cache")
        for shots, drift in dict.fromkeys(films):
            folder = Path(place) / f"film_{shots}_{drift}"
            write_film(folder, shots, drift)
            slow = plain(folder)
            cold, warm, one, tolerance = measured(folder)
            print(
                f"{shots:>6}{drift:>7.0%}{slow:>9.1f}{cold:>8.2f}{slow / cold:>7.0f}{warm:>8.2f}{slow / warm:>7.0f}"
                f"{one:>9.3f}{tolerance:>11.3f}",
                flush=True,
            )
            if (shots, drift) == films[0]:
                forget()
                print(
                    f"peak memory with findings: {peak(folder)} MiB cold, {peak(folder)} MiB warm", flush=True
                )


if __name__ == "__main__":
    main()
