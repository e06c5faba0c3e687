"""Short names for things known by long paths."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping
from typing import Any

from samelight.sheets.names import as_name
from samelight.sheets.vocabulary import LIT
from samelight.sources.request import Known
from samelight.sources.same_lights import by_shared_tail, by_values, by_whole_tail


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

    def left() -> tuple[dict[str, str], list[str]]:
        taken = set(named.values())
        gone = {name: path for name, path in known.paths.items() if name not in taken}
        return gone, [path for path in every if path not in named]

    named |= by_whole_tail(*left(), share)
    named |= by_shared_tail(*left(), share, known.groups, values)
    named |= by_values(*left(), known.groups, values)
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
