"""How right the findings are on sequences with known causes, and how long they take for a film.

    python tests/benchmarks/bench_findings.py

Precision: of the (finding, shot) that were reported, how many were planted. Recall: of those planted, how many were
reported. The seeds are others than those that tests or thresholds were made with.
"""

from __future__ import annotations

import copy
import sys
import time
from collections import Counter
from pathlib import Path

sys.path[:0] = [str(Path(__file__).resolve().parents[2] / each) for each in ("app", "tests", "tests/support")]

from findings.drafts import Draft, draft, master_tree, pairs  # noqa: E402 - after the paths are set
from findings.generator import PLANTS, Grown, grow  # noqa: E402
from samelight.drift.cells import Grade  # noqa: E402
from samelight.findings.board import Board  # noqa: E402
from samelight.findings.registry import FINDERS, FINDING_NAMES, find_all  # noqa: E402

SEEDS = range(2000, 2060)
SHOTS, MORE_LIGHTS, ROUNDS = 2000, 40, 5


def main() -> None:
    """Print both tables."""
    print_rightness()
    print_time()


def print_rightness() -> None:
    """Precision and recall of each finding over all seeds."""
    right: Counter[str] = Counter()
    wrong: Counter[str] = Counter()
    missed: Counter[str] = Counter()
    for seed in SEEDS:
        grown = grow(seed)
        found = pairs(grown.draft.findings())
        right.update(name for name, _ in found & grown.truth)
        wrong.update(name for name, _ in found - grown.truth)
        missed.update(name for name, _ in grown.truth - found)
    print(f"{len(SEEDS)} sequences of 30 shots")
    print(f"{'finding':16} {'right':>6} {'wrong':>6} {'missed':>6} {'precision':>10} {'recall':>7}")
    for name in (*FINDING_NAMES, "all"):
        hits, extra, lost = (
            (count.total() if name == "all" else count[name]) for count in (right, wrong, missed)
        )
        precision, recall = hits / max(hits + extra, 1), hits / max(hits + lost, 1)
        print(f"{name:16} {hits:6} {extra:6} {lost:6} {precision:10.3f} {recall:7.3f}")


def print_time() -> None:
    """Processor seconds (others may share the machine) for a film, whole and by finding; the table is built before."""
    evidence = _film().evidence()
    table, master = evidence.table, evidence.master
    if master is None:
        raise SystemExit("the film has no master")
    drifting = int((table.grade >= Grade.DRIFT).sum())
    print(f"\n{len(table.rows)} rows x {len(table.shots)} shots, {drifting} cells drift")
    times = []
    for _ in range(ROUNDS):
        start = time.process_time()
        findings = find_all(evidence).findings
        times.append(time.process_time() - start)
    print(
        f"all findings: {min(times):.2f} s at best, {max(times):.2f} s at worst of {ROUNDS}; {len(findings)} found"
    )
    board = Board(evidence, master)
    for name, finder in FINDERS:
        start = time.process_time()
        found = finder(board)
        for finding in found:
            board.take(finding.cells)
        print(f"  {name:16} {1000 * (time.process_time() - start):7.1f} ms  {len(found)} found")


def _film() -> Draft:
    """A film of as many rows as a feature has, with hundreds of plants and a nudge in every third shot."""
    master = master_tree()
    for number in range(MORE_LIGHTS):
        master["lights"][f"practical_{number:02d}"] = copy.deepcopy(master["lights"]["rim"])
    grown = grow(2026, 30, 0)
    film = Grown(draft(SHOTS, master), grown.dice)
    film.draft.older[2] = grown.draft.older[2]
    film.draft.older[2]["lights"].update(
        {
            name: copy.deepcopy(light)
            for name, light in master["lights"].items()
            if name.startswith("practical")
        }
    )
    for plant in film.dice.choices(PLANTS, k=600):
        plant(film)
    for tree in film.draft.shots.values():
        for number in film.dice.sample(range(MORE_LIGHTS), film.dice.choice((0, 2, 6))):
            light = tree["lights"][f"practical_{number:02d}"]
            light["exposure"] = film.dice.uniform(-1.5, 1.5)
            light["position"] = [x + film.dice.uniform(-1, 1) for x in light["position"]]
    return film.draft


if __name__ == "__main__":
    main()
