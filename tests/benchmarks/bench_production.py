"""The overview of a production of 40 sequences of 60 shots: opened cold and warm, a changed sheet, and memory.

Run: python tests/benchmarks/bench_production.py [--sequences 40] [--shots 60] [--drift 0.003]. Each figure is of a process of its own,
without a display; seconds of the clock and of all its processors. `slope` opens productions of 10, 20 and 40 sequences for docs/scale.md.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parents[1] / "app"), str(HERE.parent)]

TOLD: dict[str, tuple[str, float]] = {
    "cold": ("overview, nothing kept", 6.0),
    "warm": ("overview, kept", 1.0),
    "changed": ("a changed sheet, from the watcher's word to the row", 0.1),
    "memory": ("memory at most, of all its processes, MB", 400.0),
}


def write(folder: Path, sequences: int, shots: int, drift: float) -> Path:
    """A production, last written long ago."""
    from benchmarks.film_on_disk import write_film

    for number in range(sequences):
        write_film(folder / f"SQ_{number:03d}", shots, drift, seed=number)
    for path in folder.rglob("*.yaml"):
        os.utime(path, (1_600_000_000, 1_600_000_000))
    return folder


def overview(folder: Path, change: bool) -> dict[str, float]:
    """Open it, and change a sheet."""
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    from samelight.gui.window.application import application
    from samelight.gui.window.production_window import ProductionWindow
    from samelight.sheets.production import read_production

    app = application()
    found: dict[str, float] = {}

    def until(condition: Callable[[], bool]) -> None:
        while not condition():
            app.processEvents()
            time.sleep(0.001)

    start = time.perf_counter()
    window = ProductionWindow(read_production(folder))
    window.show()
    until(lambda: not (window.background.busy or window.reading.left()))
    found["open"] = time.perf_counter() - start
    found["cpu"] = sum(os.times()[:4])
    if change:
        name = list(window.production.sequences)[len(window.production.sequences) // 2]
        path = next((folder / name / "shots").glob("*/*.yaml"))
        took = []
        for samples in (17, 19, 23):
            text = path.read_text(encoding="utf-8")
            path.write_text(text.replace("samples: ", f"samples: {samples}", 1), encoding="utf-8")
            before = next(row for row in window.model.rows if row.name == name)
            start = time.perf_counter()
            window.reading.touched(frozenset({name}))
            until(partial(_is_gone, window.model.rows, before))
            took.append(time.perf_counter() - start)
        found["first"], found["changed"] = took[0], min(took[1:])
    found["memory"] = (
        resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        + resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    ) / 1024
    window.close()
    return found


def _is_gone(rows: Sequence[object], row: object) -> bool:
    return all(one is not row for one in rows)


def in_a_process(folder: Path, cache: Path, change: bool = False) -> dict[str, float]:
    command = [
        sys.executable,
        str(HERE / "bench_production.py"),
        "--part",
        str(folder),
        *(["--change"] if change else []),
    ]
    done = subprocess.run(
        command, stdout=subprocess.PIPE, check=True, env={**os.environ, "XDG_CACHE_HOME": str(cache)}
    )
    found: dict[str, float] = json.loads(done.stdout.splitlines()[-1])
    return found


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--sequences", type=int, default=40)
    parser.add_argument("--shots", type=int, default=60)
    parser.add_argument("--drift", type=float, default=0.003)
    parser.add_argument("--slope", action="store_true", help="also a quarter and half of the sequences")
    parser.add_argument("--part", type=Path, help=argparse.SUPPRESS)
    parser.add_argument("--change", action="store_true", help=argparse.SUPPRESS)
    arguments = parser.parse_args()
    if arguments.part:
        print(json.dumps(overview(arguments.part, arguments.change)))
        return
    with tempfile.TemporaryDirectory() as place:
        counts = [arguments.sequences // 4, arguments.sequences // 2] if arguments.slope else []
        for count in [*counts, arguments.sequences]:
            folder, cache = Path(place) / f"film{count}", Path(place) / f"cache{count}"
            write(folder, count, arguments.shots, arguments.drift)
            cold, warm = in_a_process(folder, cache), in_a_process(folder, cache)
            changed = in_a_process(folder, cache, change=True)
            most = max(one["memory"] for one in (cold, warm, changed))
            figures = {
                "cold": cold["open"],
                "warm": warm["open"],
                "changed": changed["changed"],
                "memory": most,
            }
            print(f"{count} sequences of {arguments.shots} shots, {arguments.drift:.1%} of parameters drift")
            for key, value in figures.items():
                says, most_asked = TOLD[key]
                print(f"  {says:55} {value:8.2f}   asked: under {most_asked:g}")
            print(
                f"  processor: cold {cold['cpu']:.1f} s, warm {warm['cpu']:.1f} s, the program's own start included"
            )
            print(f"  {'the first change in a sequence':55} {changed['first']:8.2f}")
            kept = sum(path.stat().st_size for path in cache.rglob("*") if path.is_file())
            own = sum(path.stat().st_size for path in folder.rglob("*.yaml"))
            files = sum(1 for _ in folder.rglob("*.yaml"))
            print(f"  {files:,} files of {own / 1e6:.1f} MB, {kept / 1e6:.1f} MB kept in the cache")
            shutil.rmtree(cache)


if __name__ == "__main__":
    main()
