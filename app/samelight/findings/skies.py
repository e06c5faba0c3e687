"""What each kind of ray sees of a sheet's environments."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from samelight.drift.metrics import measure, severity
from samelight.drift.policy import Policy
from samelight.light.rays import named_kinds, sees
from samelight.sheets.canonical import Section
from samelight.sheets.quantities import kind_of_value
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Curve, Group, Level, Value, strictly_equal
from samelight.sheets.vocabulary import LEVEL, kind_by_name

GI_KINDS = ("indirect", "diffuse", "gi")
"""Names of the rays that GI shoots; any of them counts, as renderers name them differently. Common practice, no source."""

REFLECTION_KINDS = ("reflection", "specular", "glossy")
"""Names of the rays that mirror and gloss shoot. Common practice, no source."""

_NO_LOOK = frozenset({"level", "seen_by", "visible", "samples"})
"""What does not change how an environment looks to a ray that sees it, apart from its level."""


def environments(sheet: Sheet | None) -> Section:
    """The environments of a sheet."""
    return {} if sheet is None else sheet.sections.get("environments", {})


def kinds_seeing(environment: Group) -> Collection[str] | None:
    """The kinds of ray that see an environment; None for all, empty where it is off or dark."""
    if environment.get("visible") is False or is_dark(environment.get("level")):
        return frozenset()
    kinds = environment.get("seen_by")
    return kinds if isinstance(kinds, frozenset) else None


def is_dark(level: Value | None) -> bool:
    """Whether a level is no light at all."""
    return isinstance(level, Level) and level.value <= 0.0


def any_sees(section: Section, kinds: Collection[str]) -> bool:
    """Whether a ray of any of these kinds sees any of the environments."""
    return any(sees(kinds_seeing(environment), kind) for environment in section.values() for kind in kinds)


@dataclass(slots=True)
class _Look:
    """One look (map, rotation, colour …) with the environment that first had it."""

    name: str
    leaves: Group


def seen_alike(policy: Policy, master: Section, shot: Section) -> bool:
    """Whether every kind of ray sees the same looks in the shot as in the master, each at the same summed level.

    So two copies of an environment, each seen by some kinds only, are as good as the one they replace. False
    where a level is animated, as there is then no one sum.
    """
    groups = [*master.items(), *shot.items()]
    if any(isinstance(group.get("level"), Curve) for _, group in groups):
        return False
    looks: list[_Look] = []
    numbers = [_look_number(policy, looks, name, group) for name, group in groups]
    mine = list(zip(numbers[: len(master)], master.values(), strict=True))
    theirs = list(zip(numbers[len(master) :], shot.values(), strict=True))
    seeing = [kinds_seeing(group) for _, group in groups]
    # A kind that no sheet names stands for all that are not named.
    kinds = [*named_kinds(seeing), "any other kind"]
    tolerance = min(
        (policy.tolerance(f"environments.{name}.level", LEVEL).at_most for name, _ in groups), default=0.0
    )
    return all(_levels_agree(_seen(mine, kind), _seen(theirs, kind), tolerance) for kind in kinds)


def sums_by_ray(policy: Policy, master: Section, shot: Section) -> dict[str, tuple[float, float]] | None:
    """By kind of ray, the summed level that it sees in the master and in the shot.

    None where the shot shows a look that the master does not, or a level is animated: then there is no sum to compare.
    """
    groups = [*master.items(), *shot.items()]
    if any(isinstance(group.get("level"), Curve) for _, group in groups):
        return None
    looks: list[_Look] = []
    numbers = [_look_number(policy, looks, name, group) for name, group in groups]
    if not set(numbers[len(master) :]) <= set(numbers[: len(master)]):
        return None
    mine = list(zip(numbers[: len(master)], master.values(), strict=True))
    theirs = list(zip(numbers[len(master) :], shot.values(), strict=True))
    kinds = named_kinds([kinds_seeing(group) for _, group in groups])
    return {kind: (sum(_seen(mine, kind).values()), sum(_seen(theirs, kind).values())) for kind in kinds}


def _look_number(policy: Policy, looks: list[_Look], name: str, group: Group) -> int:
    leaves = {leaf: value for leaf, value in group.items() if leaf not in _NO_LOOK}
    for number, look in enumerate(looks):
        if look.leaves.keys() == leaves.keys() and all(
            _near(policy, f"environments.{look.name}.{leaf}", leaf, look.leaves[leaf], value)
            for leaf, value in leaves.items()
        ):
            return number
    looks.append(_Look(name, leaves))
    return len(looks) - 1


def _near(policy: Policy, parameter: str, leaf: str, a: Value, b: Value) -> bool:
    if strictly_equal(a, b):
        return True
    kind = kind_by_name(leaf) or kind_of_value(a.keys[0][1] if isinstance(a, Curve) else a)
    tolerance = policy.tolerance(parameter, kind).at_most
    return severity(kind, measure(kind, a, b).drift, tolerance) <= 1.0


def _seen(groups: list[tuple[int, Group]], kind: str) -> dict[int, float]:
    """The summed level of each look that a kind of ray sees."""
    sums: dict[int, float] = {}
    for number, group in groups:
        level = group.get("level")
        if isinstance(level, Level) and sees(kinds_seeing(group), kind):
            sums[number] = sums.get(number, 0.0) + level.value
    return {number: total for number, total in sums.items() if total > 0.0}


def _levels_agree(master: Mapping[int, float], shot: Mapping[int, float], tolerance: float) -> bool:
    if master.keys() != shot.keys():
        return False
    for number, reference in master.items():
        drift = measure(LEVEL, Level(reference), Level(shot[number])).drift
        if severity(LEVEL, drift, tolerance) > 1.0:
            return False
    return True
