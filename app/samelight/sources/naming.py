"""Short names for things known by long paths."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from samelight.sheets.names import as_name
from samelight.sheets.vocabulary import LIT


@dataclass(frozen=True, slots=True)
class Known:
    """The lights that a scene's names are to follow: the path of each by its name, and what a sheet types of it."""

    paths: Mapping[str, str] = field(default_factory=dict)
    groups: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)


NOBODY = Known()


def known_of(tree: Any) -> Known:
    """The lights of a sheet's tree that was captured, or of a master that was made of one."""
    stated = tree if isinstance(tree, dict) else {}
    groups = {
        name: group
        for section in LIT
        if isinstance(held := stated.get(section), dict)
        for name, group in held.items()
        if isinstance(group, dict)
    }
    return Known(paths_of(stated), groups)


def paths_of(tree: Mapping[str, Any]) -> dict[str, str]:
    """The path of each light of a sheet's tree by its name; empty where it was captured from no scene."""
    source = tree.get("source")
    lights = source.get("lights") if isinstance(source, dict) else None
    stated = lights if isinstance(lights, dict) else {}
    return {name: path for name, path in stated.items() if isinstance(path, str)}


ALIKE = 0.5
"""Share of its values in which a light of the same last name must be as the known one to be that, wherever it stands."""
SAME_LIGHT = 1.0


def names_of(
    paths: Iterable[str], known: Known, values: Callable[[str], Mapping[str, Any]]
) -> dict[str, str]:
    """A unique name for each scene path: that of the known light at the path, else of the one whose path ends alike, else of
    the one that has all its values; what is none of these gets the shortest name that is nobody's.

    `values` gives what a light of the scene has by its path.
    """
    every = sorted(set(paths))
    here = set(every)
    named = {path: name for name, path in sorted(known.paths.items()) if path in here}

    def share(name: str, path: str) -> float:
        wanted, found = known.groups.get(name, {}), values(path)
        names = {*wanted, *found}
        alike = sum(1 for one in names if wanted.get(one) == found.get(one))
        return alike / max(len(names), 1)

    for tail, least in ((_whole_tail, 0.0), (_shared_tail, ALIKE), (None, SAME_LIGHT)):
        taken = set(named.values())
        gone = {name: path for name, path in known.paths.items() if name not in taken}
        free = [path for path in every if path not in named]
        named |= _matched(_pairs(gone, free, tail), share, least)
    rest = [path for path in every if path not in named]
    return {**named, **short_names(rest, {*named.values(), *known.paths})}


def moved_roots(named: Mapping[str, str], known: Known) -> list[tuple[str, str, int]]:
    """Where known lights stand below another path than they did: the path then, the path now, and how many there are."""
    roots: Counter[tuple[str, str]] = Counter()
    for path, name in named.items():
        was = known.paths.get(name, path)
        length = _shared_tail(was, path)
        if was != path and length:
            roots[_above(was, length), _above(path, length)] += 1
    return [(was, now, count) for (was, now), count in sorted(roots.items())]


def _above(path: str, parts: int) -> str:
    return "/".join(path.split("/")[:-parts]) or "/"


Tail = Callable[[str, str], int]
MOST_PAIRS = 10_000
"""Lights that are gone times lights that are new: of more than these nobody is looked for by what equals it."""


def _pairs(gone: Mapping[str, str], free: Sequence[str], tail: Tail | None) -> Iterator[tuple[int, str, str]]:
    """The pairs of a known name and a path of the scene that may go together, with the parts in which their paths end alike."""
    if tail is None:
        if len(gone) * len(free) <= MOST_PAIRS:
            yield from ((1, name, path) for name in gone for path in free)
        return
    by_last: defaultdict[str, list[str]] = defaultdict(list)
    for path in free:
        by_last[path.rpartition("/")[2]].append(path)
    for name, was in gone.items():
        for path in by_last[was.rpartition("/")[2]]:
            if length := tail(was, path):
                yield length, name, path


def _matched(
    pairs: Iterable[tuple[int, str, str]], share: Callable[[str, str], float], least: float
) -> dict[str, str]:
    """Names by path for the pairs that go together: the longest tail first, then the most values alike. Of two that are as good
    as each other there is no telling, and neither is taken."""
    ranks: defaultdict[tuple[int, float], list[tuple[str, str]]] = defaultdict(list)
    for length, name, path in pairs:
        if (alike := share(name, path)) >= least:
            ranks[-length, -alike].append((name, path))
    found: dict[str, str] = {}
    names: set[str] = set()
    paths: set[str] = set()
    for rank in sorted(ranks):
        open_pairs = [pair for pair in ranks[rank] if pair[0] not in names and pair[1] not in paths]
        by_name, by_path = Counter(name for name, _ in open_pairs), Counter(path for _, path in open_pairs)
        found |= {path: name for name, path in open_pairs if by_name[name] == by_path[path] == 1}
        names.update(by_name)
        paths.update(by_path)
    return found


def _whole_tail(one: str, other: str) -> int:
    """Parts of the shorter of two paths, where the longer ends with all of it and it is more than a name."""
    a, b = one.strip("/").split("/"), other.strip("/").split("/")
    length = min(len(a), len(b))
    return length if length > 1 and a[-length:] == b[-length:] else 0


def _shared_tail(one: str, other: str) -> int:
    """Parts in which two paths end alike."""
    length = 0
    for a, b in zip(reversed(one.split("/")), reversed(other.split("/")), strict=False):
        if a != b:
            break
        length += 1
    return length


def short_names(paths: Iterable[str], taken: Iterable[str] = ()) -> dict[str, str]:
    """A unique name for each scene path: its last part, or as many last parts as tell it from the others.

    The parts are joined by "_", and what cannot stand in a sheet's name, such as a dot, becomes one. The names depend on the set of paths alone, not on their order, and none is one that is `taken`. Where two
    paths read alike even at full length (/a_b/c and /a/b_c), the later one in sorted order gets a number.

    >>> short_names(["/set/left/lamp", "/set/right/lamp", "/set/sun"])
    {'/set/left/lamp': 'left_lamp', '/set/right/lamp': 'right_lamp', '/set/sun': 'sun'}
    """
    parts = {path: path.strip("/").split("/") for path in sorted(set(paths))}
    depths = dict.fromkeys(parts, 1)
    others = set(taken)
    while True:
        names = {path: as_name("_".join(parts[path][-depths[path] :])) for path in parts}
        sharing: defaultdict[str, list[str]] = defaultdict(list)
        for path, name in names.items():
            sharing[name].append(path)
        longer = [
            path
            for name, group in sharing.items()
            if len(group) > 1 or name in others
            for path in group
            if depths[path] < len(parts[path])
        ]
        if not longer:
            break
        for path in longer:
            depths[path] += 1
    used = others | {name for name, group in sharing.items() if len(group) == 1}
    for name, group in sharing.items():
        number = 1
        for path in group if len(group) > 1 or name in others else ():
            candidate = name
            while candidate in used:
                number += 1
                candidate = f"{name}_{number}"
            names[path] = candidate
            used.add(candidate)
    return names
