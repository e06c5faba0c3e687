"""What a program says of a sequence, compared with what was planted there."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from findings.planted.worlds import Plant, World
from samelight.findings.finding import Finding

NO_NAME = frozenset({"unexplained", "one-cause", "subject"})
"""Findings that give no cause."""

BESIDE_THE_POINT = frozenset({"render-time", "light-count", "cut-jump", "sun-sky"})
"""Findings that are true of the figures whatever the cause is."""


class Told(StrEnum):
    """How a plant was told: by its name and with exactly its shots, in part, without a cause, or not at all."""

    EXACT = "exact"
    PARTLY = "partly"
    UNEXPLAINED = "unexplained"
    MISSED = "missed"


@dataclass
class Tally:
    """Counts over sequences: of plants by kind and `Told`, and of sentences that name a cause which is none."""

    told: Counter[tuple[str, Told]] = field(default_factory=Counter)
    false: list[tuple[str, str]] = field(default_factory=list)
    named: int = 0

    def take(self, world: World, findings: Sequence[Finding]) -> None:
        """Add the findings of a sequence."""
        for plant in world.plants:
            self.told[plant.kind, told(plant, findings)] += 1
        for finding in findings:
            if finding.finding in NO_NAME | BESIDE_THE_POINT:
                continue
            self.named += 1
            if not any(_meant(plant, finding) and _names(plant, finding) for plant in world.plants):
                self.false.append((finding.finding, finding.says))

    def share(self, how: Told = Told.EXACT) -> float:
        """The share of plants that were told so."""
        return sum(count for (_, was), count in self.told.items() if was is how) / max(1, self.told.total())

    def text(self) -> str:
        """The table: planted, exact, partly, only unexplained, missed; then what was false by name."""
        lines = [f"{'planted':22}{'n':>5}" + "".join(f"{how:>13}" for how in Told)]
        for kind in sorted({kind for kind, _ in self.told}):
            counts = [self.told[kind, how] for how in Told]
            lines.append(f"{kind:22}{sum(counts):5}" + "".join(f"{count or '':>13}" for count in counts))
        lines.append(
            f"{'all':22}{self.told.total():5}" + "".join(f"{self.share(how):>13.3f}" for how in Told)
        )
        false = Counter(name for name, _ in self.false)
        lines.append(f"false: {len(self.false)} of {self.named} sentences with a cause; {dict(false)}")
        return "\n".join(lines)


def told(plant: Plant, findings: Sequence[Finding]) -> Told:
    """How a plant was told by these findings."""
    about = [finding for finding in findings if _meant(plant, finding)]
    named = [finding for finding in about if finding.finding not in NO_NAME and _names(plant, finding)]
    if any(set(finding.shots) == set(plant.shots) for finding in named):
        return Told.EXACT
    if named:
        return Told.PARTLY
    return Told.UNEXPLAINED if about else Told.MISSED


def _meant(plant: Plant, finding: Finding) -> bool:
    """Whether a finding is about a plant's shots and parameters."""
    return bool(set(plant.shots) & set(finding.shots)) and any(
        told == planted or told.startswith(planted + ".") or planted.startswith(told + ".")
        for told in finding.parameters
        for planted in plant.parameters
    )


def _names(plant: Plant, finding: Finding) -> bool:
    said = f"{finding.says} {finding.known} {finding.guessed}".lower()
    return any(word.lower() in said for word in plant.words)
