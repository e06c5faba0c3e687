"""Which lights of a scene are which known ones that are not where they were: by how their paths end, and by their values.

The work grows with the number of lights, however many have one name.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Any

Values = Callable[[str], Mapping[str, Any]]
"""What a light of the scene has, by its path."""

ALIKE = 0.5
"""Share of its values in which a light of the same last name must be as the known one to be that, wherever it stands."""

MOST_PAIRS = 10_000
"""Of more pairs of lights whose paths end alike in the same parts, those alone go together that have the same values."""

_Pair = tuple[str, str]
"""A known name and a path of the scene."""


def by_whole_tail(
    gone: Mapping[str, str], free: Sequence[str], share: Callable[[str, str], float]
) -> dict[str, str]:
    """Names by path where the longer of two paths ends with all of the shorter, and that is more than a name."""
    named_at = {was.strip("/"): name for name, was in gone.items()}
    tails = {was.rpartition("/")[2] for was in named_at}
    at_tail: defaultdict[str, list[str]] = defaultdict(list)
    ranked: defaultdict[int, list[_Pair]] = defaultdict(list)
    for path in free:
        parts = path.strip("/").split("/")
        if parts[-1] not in tails:
            continue
        for start in range(len(parts) - 1):
            tail = "/".join(parts[start:])
            at_tail[tail].append(path)
            if tail in named_at:
                ranked[len(parts) - start].append((named_at[tail], path))
    here = {path.strip("/"): path for path in free}
    for was, name in named_at.items():
        parts = was.split("/")
        for start in range(1, len(parts) - 1):  # the whole of it has been met from the other side
            if (tail := "/".join(parts[start:])) in here:
                ranked[len(parts) - start].append((name, here[tail]))
    taken = _Taken()
    for length in sorted(ranked, reverse=True):
        taken.match(ranked[length], share, 0.0)
    return taken.found


def by_shared_tail(
    gone: Mapping[str, str],
    free: Sequence[str],
    share: Callable[[str, str], float],
    groups: Mapping[str, Mapping[str, Any]],
    values: Values,
) -> dict[str, str]:
    """Names by path where two paths end in the same parts, the most parts first, and at least `ALIKE` of the values are the same."""
    lasts = {was.rpartition("/")[2] for was in gone.values()} & {path.rpartition("/")[2] for path in free}
    wases = {name: was.split("/") for name, was in gone.items() if was.rpartition("/")[2] in lasts}
    paths = {path: path.split("/") for path in free if path.rpartition("/")[2] in lasts}
    taken = _Taken()
    for length in range(max(map(len, wases.values()), default=0), 0, -1):
        ends: defaultdict[tuple[str, ...], tuple[list[str], list[str]]] = defaultdict(lambda: ([], []))
        for name, parts in wases.items():
            if len(parts) >= length and name not in taken.names:
                ends[tuple(parts[-length:])][0].append(name)
        for path, parts in paths.items():
            if len(parts) >= length and path not in taken.paths:
                ends[tuple(parts[-length:])][1].append(path)
        pairs: list[_Pair] = []
        for names, ending in ends.values():
            if len(names) * len(ending) <= MOST_PAIRS:
                pairs += [(name, path) for name in names for path in ending]
            else:
                pairs += _equal(names, ending, groups, values)
        taken.match(pairs, share, ALIKE)
    return taken.found


def by_values(
    gone: Mapping[str, str], free: Sequence[str], groups: Mapping[str, Mapping[str, Any]], values: Values
) -> dict[str, str]:
    """Names by path of lights that have all the values of a known one, wherever they stand."""
    taken = _Taken()
    taken.match(_equal(list(gone), free, groups, values), lambda name, path: 1.0, 1.0)
    return taken.found


class _Taken:
    """Names and paths that have gone together, and those of which there is no telling: neither is looked at again."""

    def __init__(self) -> None:
        self.found: dict[str, str] = {}
        self.names: set[str] = set()
        self.paths: set[str] = set()

    def match(self, pairs: Iterable[_Pair], share: Callable[[str, str], float], least: float) -> None:
        """Take of these pairs those that have the most values alike, if that is at least so much of them. Of two that are as good
        as each other there is no telling, and neither is taken."""
        ranks: defaultdict[float, list[_Pair]] = defaultdict(list)
        for name, path in pairs:
            if (alike := share(name, path)) >= least:
                ranks[alike].append((name, path))
        for rank in sorted(ranks, reverse=True):
            left = [
                (name, path)
                for name, path in ranks[rank]
                if name not in self.names and path not in self.paths
            ]
            by_name, by_path = Counter(name for name, _ in left), Counter(path for _, path in left)
            self.found |= {path: name for name, path in left if by_name[name] == by_path[path] == 1}
            self.names.update(by_name)
            self.paths.update(by_path)


def _equal(
    names: Sequence[str], paths: Sequence[str], groups: Mapping[str, Mapping[str, Any]], values: Values
) -> Iterator[_Pair]:
    """Pairs that have the same values; where several have these, two pairs of each, which is enough to tell that there is no telling."""
    by_value: defaultdict[Any, tuple[list[str], list[str]]] = defaultdict(lambda: ([], []))
    for name in names:
        if group := groups.get(name):
            by_value[_frozen(group)][0].append(name)
    for path in paths:
        if (here := _frozen(values(path))) in by_value:
            by_value[here][1].append(path)
    for alike, ending in by_value.values():
        if alike and ending:
            yield from ((name, ending[0]) for name in alike)
            yield from ((alike[0], path) for path in ending[1:])


def _frozen(value: Any) -> Any:
    """A plain value that equals another exactly where the value does, and can be looked up."""
    if isinstance(value, Mapping):
        return frozenset((name, _frozen(item)) for name, item in value.items())
    return tuple(map(_frozen, value)) if isinstance(value, list | tuple) else value
