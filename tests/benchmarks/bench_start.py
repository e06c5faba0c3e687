"""How long the program takes to start, by the processor's time, beside a Python that does nothing.

    python tests/benchmarks/bench_start.py [--imports]

`--imports` prints what Python itself says of the slowest modules of each command (`-X importtime`).
"""

from __future__ import annotations

import argparse
import os
import resource
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "app"))

WINDOW = "import samelight.gui.window.application"
ROOMS = f"{WINDOW}, samelight.gui.window.open_sequence"
READER = "import samelight.sources.trial_child, samelight.sources.usd.capture, samelight.sheets.sheet"
TIMES = 5
SLOWEST = 12


def main() -> None:
    """Measure each command in turn, several times over; the shortest counts."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--imports", action="store_true", help="print the slowest modules of each command")
    asked = parser.parse_args()
    samples = ROOT / "sample_sequences"
    scene = min((samples / "quay_usd" / "scenes").glob("*.usda"))
    commands = {
        "nothing": ["-c", "pass"],
        "--version": ["-m", "samelight", "--version"],
        "--help": ["-m", "samelight", "--help"],
        "check harbour": ["-m", "samelight", "check", str(samples / "harbour")],
        "capture": ["-m", "samelight", "capture", str(scene)],
        "its reader's imports": ["-c", READER],
        "the window's imports": ["-c", WINDOW],
        "with an open sequence": ["-c", ROOMS],
    }
    with tempfile.TemporaryDirectory() as cache:
        environment = {**os.environ, "PYTHONPATH": str(ROOT / "app"), "XDG_CACHE_HOME": cache}
        environment["QT_QPA_PLATFORM"] = "offscreen"
        best = {
            name: min(_seconds(words, environment) for _ in range(TIMES)) for name, words in commands.items()
        }
        for name, seconds in best.items():
            print(f"{name:<22} {seconds:6.3f} s CPU, {seconds / best['nothing']:5.1f} times nothing")
        if asked.imports:
            for name, words in commands.items():
                print(f"\n{name}")
                print("\n".join(_slowest(words, environment)))


def _seconds(words: list[str], environment: dict[str, str]) -> float:
    """CPU seconds of a process and of those that it starts."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([sys.executable, *words], env=environment, capture_output=True, check=False)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def _slowest(words: list[str], environment: dict[str, str]) -> list[str]:
    told = subprocess.run(
        [sys.executable, "-X", "importtime", *words],
        env=environment,
        capture_output=True,
        check=False,
        text=True,
    ).stderr.splitlines()
    lines = [
        line for line in told if line.startswith("import time:") and line.split("|")[0].split()[-1].isdigit()
    ]
    return sorted(lines, key=lambda line: int(line.split("|")[0].split()[-1]), reverse=True)[:SLOWEST]


if __name__ == "__main__":
    main()
