"""Short names for things known by long paths."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from samelight.sheets.names import as_name


def short_names(paths: Iterable[str]) -> dict[str, str]:
    """A unique name for each scene path: its last part, or as many last parts as tell it from the others.

    The parts are joined by "_", and what cannot stand in a sheet's name, such as a dot, becomes one. The names depend on the set of paths alone, not on their order. Where two
    paths read alike even at full length (/a_b/c and /a/b_c), the later one in sorted order gets a number.

    >>> short_names(["/set/left/lamp", "/set/right/lamp", "/set/sun"])
    {'/set/left/lamp': 'left_lamp', '/set/right/lamp': 'right_lamp', '/set/sun': 'sun'}
    """
    parts = {path: path.strip("/").split("/") for path in sorted(set(paths))}
    depths = dict.fromkeys(parts, 1)
    while True:
        names = {path: as_name("_".join(parts[path][-depths[path] :])) for path in parts}
        sharing: defaultdict[str, list[str]] = defaultdict(list)
        for path, name in names.items():
            sharing[name].append(path)
        longer = [
            path
            for group in sharing.values()
            if len(group) > 1
            for path in group
            if depths[path] < len(parts[path])
        ]
        if not longer:
            break
        for path in longer:
            depths[path] += 1
    taken = {name for name, group in sharing.items() if len(group) == 1}
    for name, group in sharing.items():
        number = 1
        for path in group if len(group) > 1 else ():
            candidate = name
            while candidate in taken:
                number += 1
                candidate = f"{name}_{number}"
            names[path] = candidate
            taken.add(candidate)
    return names
