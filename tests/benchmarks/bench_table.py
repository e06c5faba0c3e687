"""Time of the drift table: 2,000 shots x 565 rows, beside a comparison that knows neither types nor kinds. Run: python
tests/benchmarks/bench_table.py"""

import sys
import time
from collections.abc import Callable
from pathlib import Path

sys.path[:0] = [str(Path(__file__).resolve().parents[2] / "app"), str(Path(__file__).resolve().parents[1])]

from benchmarks import film  # noqa: E402 - after the paths are set
from samelight.drift.policy import default_policy  # noqa: E402
from samelight.drift.structure import differences_of_pairs  # noqa: E402
from samelight.drift.table import build_table  # noqa: E402
from samelight.sheets.sheet import Sheet  # noqa: E402

SHOTS = 2000


def timed(run: Callable[[], object]) -> float:
    """The best of three, in seconds of the processor, since other work may share it."""
    times = []
    for _ in range(3):
        start = time.process_time()
        run()
        times.append(time.process_time() - start)
    return min(times)


def plain_loops(master: Sheet, sheets: dict[str, Sheet]) -> int:
    """How many values differ, by `==` and nothing else."""
    return sum(
        sheet.sections[section][group][leaf] != value
        for sheet in sheets.values()
        for section, groups in master.sections.items()
        for group, leaves in groups.items()
        for leaf, value in leaves.items()
    )


def main() -> None:
    policy = default_policy()
    print(
        f"{'drifted values':<16}{'cells':>11}{'outside':>9}{'plain ==, s':>13}{'DeepDiff, s':>13}{'table, s':>10}{'ratio':>7}"
    )
    for drift in (0.0, 0.003, 0.03):
        master, sheets = film.film(SHOTS, drift)
        shots, sections = list(sheets), [sheet.sections for sheet in sheets.values()]
        table = build_table(shots, sheets, master, policy)
        plain = timed(lambda: plain_loops(master, sheets))  # noqa: B023 - called before the next film
        structure = timed(lambda: differences_of_pairs([(master.sections, one) for one in sections]))  # noqa: B023 - as above
        whole = timed(lambda: build_table(shots, sheets, master, policy))  # noqa: B023 - as above
        counts = table.counts()
        outside = counts["drift"] + counts["break"]
        print(
            f"{drift:<16.1%}{table.grade.size:>11,}{outside:>9,}{plain:>13.2f}{structure:>13.2f}{whole:>10.2f}"
            f"{whole / plain:>7.1f}"
        )


if __name__ == "__main__":
    main()
