"""A sequence's policy: tolerances, locks, kinds and defaults by pattern, the program's first, then its own.

A tolerance's pattern without a dot names a kind; other patterns are as `samelight.sheets.patterns` says.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path
from typing import Any

from samelight.drift.cells import GRADES, Grade
from samelight.drift.derived_names import derived_kind
from samelight.drift.metrics import SCALES
from samelight.light.noise import figure
from samelight.sheets import vocabulary
from samelight.sheets.errors import Faults, Found, Place, nearest_name
from samelight.sheets.patterns import is_of_type, matcher, may_match
from samelight.sheets.resources import resource
from samelight.sheets.trees import read_document
from samelight.sheets.units import ANGLE, LENGTH, STOPS, parse_quantity
from samelight.sheets.upgrades import POLICY, up_to_date
from samelight.sheets.values import Value
from samelight.sheets.vocabulary import Patterns

KEYS = frozenset(
    {
        "samelight_policy",
        "samelight",
        "tolerances",
        "locks",
        "kinds",
        "defaults",
        "limits",
        "findings",
        "notes",
    }
)
LIMITS = ("lights",)
"""What a policy may limit."""

_TOLERANCE_KEYS = frozenset({"at_most", "seen", "share", "why"})
_LOCK_KEYS = frozenset({"pattern", "why"})
_FINDING_KEYS = frozenset({"level", "likely", "why"})


@dataclass(frozen=True, slots=True)
class Tolerance:
    """What a drift may be, in its kind's unit; why, and which pattern of which file says so.

    What is larger counts: `at_most`, or what of a place are `seen` degrees as seen from the nearest mark, or of a number
    `share` per cent of what it is compared with.
    """

    at_most: float
    why: str
    pattern: str
    file: str
    seen: float = 0.0
    share: float = 0.0

    def of(self, reference: Value, away: float = 0.0) -> Tolerance:
        """The tolerance of one cell, by what it is compared with and how many metres that is from the nearest mark.

        >>> Tolerance(0.05, "", "position", "", seen=1.0).of((0.0, 0.0, 0.0), 20.0).at_most
        0.349101298564
        >>> Tolerance(0.1, "", "angle", "", share=3.0).of(40.0).at_most
        1.2
        """
        widest = self.at_most
        if self.seen and away:
            widest = max(widest, figure(away * math.tan(math.radians(self.seen))))
        if self.share and isinstance(reference, float):
            widest = max(widest, figure(abs(reference) * self.share / 100.0))
        return self if widest == self.at_most else replace(self, at_most=widest)

    @property
    def also(self) -> str:
        """What may be more than `at_most`, in words; empty where nothing is."""
        seen = f"{self.seen:g}° as seen from the nearest mark" if self.seen else ""
        return seen or (f"{self.share:g} % of what it is compared with" if self.share else "")


@dataclass(frozen=True, slots=True)
class Lock:
    """A pattern of parameters that must never differ from the master."""

    pattern: str
    why: str
    file: str


@dataclass(frozen=True, slots=True)
class FindingLevel:
    """How bad a finding is that no cell shows to be out of tolerance: where it is certain, and where it is only likely.

    `SAME` makes it nothing to decide on; it is told all the same.
    """

    finding: str
    certain: Grade
    likely: Grade
    why: str
    file: str


_Meant = Callable[[str], object | None]
"""Whether the name of a parameter is one that a pattern means: None for no."""


def _may_mean(pattern: str, section: str, light_type: str) -> bool:
    """Whether a pattern may mean a parameter of a section, of a light of this type."""
    return may_match(pattern, section) and is_of_type(matcher(pattern)[0], light_type)


@dataclass(frozen=True, slots=True)
class Policy:
    """Tolerances, locks, kinds, defaults, limits and levels of findings, in rising order of precedence."""

    tolerances: tuple[Tolerance, ...] = ()
    locks: tuple[Lock, ...] = ()
    kinds: tuple[tuple[str, str], ...] = ()
    defaults: tuple[tuple[str, Any], ...] = ()
    limits: tuple[tuple[str, float], ...] = ()
    findings: tuple[FindingLevel, ...] = ()
    # By section and type of light, and a tolerance by kind too, those that may hold there, the last first: a table asks for
    # every row.
    _tolerances_of: dict[tuple[str, str, str], list[tuple[_Meant | None, Tolerance]]] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )
    _locks_of: dict[tuple[str, str], list[tuple[_Meant, Lock]]] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )
    _defaults_of: dict[str, list[tuple[_Meant, Any]]] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )

    def tolerance(self, parameter: str, kind: str, light_type: str = "") -> Tolerance:
        """The tolerance of a parameter; nothing is tolerated where no pattern says so."""
        section = parameter.partition(".")[0]
        near = self._tolerances_of.get((section, kind, light_type))
        if near is None:
            near = self._tolerances_of[section, kind, light_type] = [
                (None if one.pattern == kind else matcher(one.pattern)[1], one)
                for one in reversed(self.tolerances)
                if one.pattern == kind or _may_mean(one.pattern, section, light_type)
            ]
        for is_meant, tolerance in near:
            if is_meant is None or is_meant(parameter) is not None:
                return tolerance
        return Tolerance(SCALES[kind].neutral, "Equal or not: there is nothing between.", "", "")

    def lock(self, parameter: str, light_type: str = "") -> Lock | None:
        """The lock on a parameter, or None."""
        section = parameter.partition(".")[0]
        near = self._locks_of.get((section, light_type))
        if near is None:
            near = self._locks_of[section, light_type] = [
                (matcher(one.pattern)[1], one)
                for one in reversed(self.locks)
                if _may_mean(one.pattern, section, light_type)
            ]
        for is_meant, lock in near:
            if is_meant(parameter) is not None:
                return lock
        return None

    def default(self, parameter: str) -> Any:
        """What a renderer falls back to when this setting is lost, as typed in the policy; None when not known."""
        section = parameter.partition(".")[0]
        near = self._defaults_of.get(section)
        if near is None:
            near = self._defaults_of[section] = [
                (matcher(pattern)[1], value)
                for pattern, value in reversed(self.defaults)
                if _may_mean(pattern, section, "")
            ]
        return next((value for is_meant, value in near if is_meant(parameter) is not None), None)

    def limit(self, name: str) -> float | None:
        """A limit by name, such as `lights`, or None."""
        return next((value for limit, value in reversed(self.limits) if limit == name), None)

    def finding_level(self, name: str, *, certain: bool = True) -> Grade:
        """How bad a finding is by itself; `NONE` for one that is always about cells."""
        found = next((level for level in reversed(self.findings) if level.finding == name), None)
        if found is None:
            return Grade.NONE
        return found.certain if certain else found.likely


@cache
def default_policy() -> Policy:
    """The policy that the program carries, read once. Raises `SheetError` when its file was damaged."""
    return read_policy(resource("policy.yaml"), Policy())


def read_policy(path: Path, base: Policy) -> Policy:
    """`base` with what the file adds. Raises `SheetError` with every fault of the file.

    Where the base has levels of findings, the file may change those and no others.
    """
    document = read_document(path)
    faults, data = document.faults, document.data
    if not isinstance(data, dict):
        faults.add((), "a mapping with tolerances, locks, kinds or defaults", data)
        faults.raise_if_any()
    for key in data:
        if key not in KEYS:
            faults.unknown_key((key,), "a key of a policy", KEYS)
    for key in sorted(data.keys() & {"samelight_policy", "samelight"}):
        data = up_to_date(data, key, POLICY, faults)
    kinds = base.kinds + tuple(_kinds(data, faults))
    added = Policy(
        tolerances=base.tolerances + tuple(_tolerances(data, kinds, path, faults)),
        locks=base.locks + tuple(_locks(data, path, faults)),
        kinds=kinds,
        defaults=base.defaults + tuple(_mapping(data, "defaults", faults).items()),
        limits=base.limits + tuple(_limits(data, faults)),
        findings=base.findings + tuple(_findings(data, base.findings, path, faults)),
    )
    faults.raise_if_any()
    return added


def _mapping(data: Mapping[str, Any], key: str, faults: Faults) -> Mapping[str, Any]:
    value = data.get(key)
    if value is None or value == []:
        return {}
    if not isinstance(value, dict):
        faults.add((key,), "a mapping of patterns", value)
        return {}
    return value


def _kinds(data: Mapping[str, Any], faults: Faults) -> list[tuple[str, str]]:
    found: list[tuple[str, str]] = []
    for pattern, kind in _mapping(data, "kinds", faults).items():
        if kind in vocabulary.KINDS:
            found.append((pattern, kind))
        else:
            near = nearest_name(str(kind), vocabulary.KINDS)
            faults.add(("kinds", pattern), f"one of {', '.join(vocabulary.KINDS)}", kind, near)
    return found


def _limits(data: Mapping[str, Any], faults: Faults) -> list[tuple[str, float]]:
    found: list[tuple[str, float]] = []
    for name, value in _mapping(data, "limits", faults).items():
        if name not in LIMITS:
            faults.unknown_key(("limits", name), f"a limit: {', '.join(LIMITS)}", LIMITS)
        elif isinstance(value, int | float) and not isinstance(value, bool):
            found.append((name, float(value)))
        else:
            faults.add(("limits", name), "a number", value)
    return found


def _findings(
    data: Mapping[str, Any], known: Sequence[FindingLevel], path: Path, faults: Faults
) -> list[FindingLevel]:
    found: list[FindingLevel] = []
    names = sorted({level.finding for level in known})
    for name, stated in _mapping(data, "findings", faults).items():
        place: Place = ("findings", name)
        if names and name not in names:
            near = nearest_name(str(name), names)
            faults.add(place, f"a finding that has a level: {', '.join(names)}", name, near)
            continue
        level = stated if isinstance(stated, dict) else {"level": stated}
        for key in level:
            if key not in _FINDING_KEYS:
                faults.unknown_key((*place, key), "level, likely or why", _FINDING_KEYS)
        certain = _level(level.get("level"), (*place, "level"), faults)
        likely = _level(level["likely"], (*place, "likely"), faults) if "likely" in level else certain
        found.append(FindingLevel(name, certain, likely, str(level.get("why", "")), path.name))
    return found


def _level(stated: Any, place: Place, faults: Faults) -> Grade:
    grade = GRADES.get(stated) if isinstance(stated, str) else None
    if grade is None:
        near = nearest_name(str(stated), GRADES)
        faults.add(place, f"one of {', '.join(GRADES)}", Found("nothing") if stated is None else stated, near)
        return Grade.SAME
    return grade


def _tolerances(data: Mapping[str, Any], kinds: Patterns, path: Path, faults: Faults) -> list[Tolerance]:
    found: list[Tolerance] = []
    for pattern, stated in _mapping(data, "tolerances", faults).items():
        place: Place = ("tolerances", pattern)
        why, at_most = "", stated
        seen: Any = 0.0
        share: Any = 0.0
        if isinstance(stated, dict):
            unknown = [key for key in stated if key not in _TOLERANCE_KEYS]
            for key in unknown:
                faults.unknown_key((*place, key), "at_most, seen, share or why", _TOLERANCE_KEYS)
            if unknown:
                continue
            at_most, why = stated.get("at_most"), str(stated.get("why", ""))
            seen, share = stated.get("seen", 0.0), stated.get("share", 0.0)
        kind = pattern if "." not in pattern else _kind_of_pattern(pattern, kinds)
        if kind not in vocabulary.KINDS:
            near = nearest_name(pattern, vocabulary.KINDS)
            faults.add(place, "a kind or a pattern with a dot", pattern, near)
            continue
        unit = SCALES[kind].unit
        if not unit:
            faults.add(place, "something that is measured", Found(f"a {kind}, which is equal or not"))
            continue
        if not _is_compared(pattern, place, faults):
            continue
        value = _in_kind(at_most, kind)
        more = _more(seen, share, kind, place, faults)
        if value is None:
            least = (
                "a factor of 1 x or more" if kind == vocabulary.COUNT else f"a number of {unit}, 0 or more"
            )
            faults.add(place, least, Found("nothing") if at_most is None else at_most)
        else:
            found.append(Tolerance(value, why, pattern, path.name, *more))
    return found


def _more(seen: Any, share: Any, kind: str, place: Place, faults: Faults) -> tuple[float, float]:
    """Degrees as seen from a mark, for a place, and per cent of what a number is compared with."""
    degrees = _in_kind(seen, vocabulary.ANGLE) if kind == vocabulary.POSITION or not seen else None
    if degrees is None or degrees >= _RIGHT_ANGLE:
        faults.add((*place, "seen"), "for a position alone, degrees as seen from the nearest mark", seen)
    percent = _in_kind(share, vocabulary.LENGTH) if kind == vocabulary.ANGLE or not share else None
    if percent is None:
        faults.add((*place, "share"), "for an angle alone, per cent of what it is compared with", share)
    return degrees or 0.0, percent or 0.0


_RIGHT_ANGLE = 90.0


def _locks(data: Mapping[str, Any], path: Path, faults: Faults) -> list[Lock]:
    stated = data.get("locks")
    if stated is None:
        return []
    if not isinstance(stated, list):
        faults.add(("locks",), "a list of patterns", stated)
        return []
    found: list[Lock] = []
    for index, entry in enumerate(stated):
        place = ("locks", index)
        pattern, why = (entry.get("pattern"), entry.get("why")) if isinstance(entry, dict) else (entry, "")
        if not isinstance(pattern, str) or (isinstance(entry, dict) and not entry.keys() <= _LOCK_KEYS):
            faults.add(place, "a pattern, or a mapping with pattern and why", entry)
        elif _is_compared(pattern, place, faults):
            found.append(Lock(pattern, str(why or ""), path.name))
    return found


_COMPARED_AS: dict[str, str] = {
    **{
        typed: canonical
        for canonical, names in vocabulary.FOLDED.items()
        for typed in names
        if typed not in vocabulary.FOLDED
    },
    "matrix": "direction",
}


def _is_compared(pattern: str, place: Place, faults: Faults) -> bool:
    """Whether a pattern can meet a row; `lights.sun.azimuth` never does, since it is compared as a direction."""
    section, _, name = pattern.partition(".")
    group, _, leaf = name.partition(".")
    canonical = _COMPARED_AS.get(leaf)
    if section == "environments" and leaf in vocabulary.DIRECTION_INPUTS:
        canonical = None if leaf == "rotation" else "rotation"
    if section not in ("lights", "environments") or canonical is None:
        return True
    faults.add(
        place, "the name it is compared by", Found(f"{leaf}, as typed"), f"{section}.{group}.{canonical}"
    )
    return False


def _kind_of_pattern(pattern: str, kinds: Patterns) -> str:
    by_policy = vocabulary.kind_by_pattern(pattern, kinds) or derived_kind(pattern)
    by_name = vocabulary.kind_by_name(pattern)
    return by_policy or by_name or vocabulary.NUMBER


_UNIT_WORDS: dict[str, tuple[str, ...]] = {
    vocabulary.COLOUR: ("steps", "step"),
    vocabulary.TEMPERATURE: ("mired", "MK⁻¹"),
    vocabulary.COUNT: ("x", "×"),
    vocabulary.FRACTION: ("pp", "%"),
    vocabulary.LENGTH: ("%",),
    vocabulary.NUMBER: ("%",),
    vocabulary.DURATION: ("%",),
    vocabulary.SET: ("members", "member"),
}
_DIMENSIONS: dict[str, str] = {
    vocabulary.DIRECTION: ANGLE,
    vocabulary.ANGLE: ANGLE,
    vocabulary.LEVEL: STOPS,
    vocabulary.POSITION: LENGTH,
}
_WITH_WORD = re.compile(r"\s*([0-9]+\.?[0-9]*|\.[0-9]+)\s*(\S+)\s*\Z")


def _in_kind(stated: Any, kind: str) -> float | None:
    """A stated tolerance in its kind's unit, or None when it is none."""
    value = _number_in_kind(stated, kind)
    least = 1.0 if kind == vocabulary.COUNT else 0.0
    return value if value is not None and value >= least else None


def _number_in_kind(stated: Any, kind: str) -> float | None:
    if isinstance(stated, int | float) and not isinstance(stated, bool):
        return float(stated)
    if not isinstance(stated, str):
        return None
    word = _WITH_WORD.match(stated)
    if word and word[2] in _UNIT_WORDS.get(kind, ()):
        return float(word[1])
    quantity = parse_quantity(stated)
    if quantity is None or _DIMENSIONS.get(kind) != quantity.dimension:
        return None
    return quantity.value
