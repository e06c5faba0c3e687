"""Time of the computed rows: 2,000 shots x 20 lights x 3 marks on one core. Run: python
tests/benchmarks/bench_derived.py"""

import os
import random
import sys
import time
from pathlib import Path

# One core, whatever the linear algebra library would take.
for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(name, "1")
sys.path[:0] = [str(Path(__file__).resolve().parents[2] / "app"), str(Path(__file__).resolve().parents[1])]

from benchmarks import film  # noqa: E402 - after the paths are set
from samelight.drift.computed.derived import derived_rows  # noqa: E402
from samelight.drift.policy import default_policy  # noqa: E402
from samelight.drift.table import build_table  # noqa: E402
from samelight.sheets.sheet import Sheet  # noqa: E402
from samelight.sheets.values import Value  # noqa: E402

SHOTS, LIGHTS, MARKS = 2000, 20, 3
SHAPES = ("distant", "spot", "rect", "disk", "sphere", "spot", "point")


# Kinds of ray that exist nowhere would make rows of their own.
_AS_MASTER: dict[str, Value] = {"seen_by": frozenset({"diffuse", "indirect", "reflection", "camera"})}


def a_film(drift: float) -> tuple[Sheet, dict[str, Sheet]]:
    """A film whose first 20 lights are of every shape, each shot with a camera and marks of its own."""
    master, sheets = film.film(SHOTS, drift)
    dice = random.Random(1)
    for sheet in (master, *sheets.values()):
        sections = film.changeable(sheet.sections)
        lights = sections["lights"]
        for number, name in enumerate(list(lights)):
            if number >= LIGHTS:
                del lights[name]
            else:
                lights[name] |= _AS_MASTER | {"type": SHAPES[number % len(SHAPES)]}
        for environment in sections["environments"].values():
            environment.update(_AS_MASTER)
    for sheet in sheets.values():
        sections = film.changeable(sheet.sections)
        sections["camera"] = {"": {"position": (0.0, 1.7, 9.0), "direction": (0.0, 0.0, -1.0)}}
        sections["marks"] = {
            f"mark_{number}": {"position": _near(dice, number), "normal": (0.0, 0.0, 1.0)}
            for number in range(MARKS)
        }
    return master, sheets


def _near(dice: random.Random, number: int) -> tuple[float, float, float]:
    return (number + dice.uniform(-1, 1), 1.6 + dice.uniform(-0.1, 0.1), dice.uniform(-1, 1))


def main() -> None:
    policy = default_policy()
    print(f"{SHOTS} shots x {LIGHTS} lights x {MARKS} marks")
    print(f"{'drifted values':<16}{'rows':>6}{'computed, s':>13}{'in the table, s':>17}{'alone, s':>10}")
    for drift in (0.0, 0.003, 0.03):
        master, sheets = a_film(drift)
        shots = tuple(sheets)
        computing, building, plain = [], [], []
        for _ in range(3):
            start = time.process_time()
            rows = derived_rows(shots, sheets, master, sheets[shots[0]])
            middle = time.process_time()
            build_table(shots, sheets, master, policy, rows)
            end = time.process_time()
            build_table(shots, sheets, master, policy)
            plain.append(time.process_time() - end)
            computing.append(middle - start)
            building.append(end - middle)
        table = min(building) - min(plain)
        print(f"{drift:<16.1%}{len(rows):>6}{min(computing):>13.3f}{table:>17.3f}{min(plain):>10.3f}")


if __name__ == "__main__":
    main()
