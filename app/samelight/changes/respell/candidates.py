"""What could be typed to give a parameter a value: the shot's own spelling first, then the master's."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from functools import partial

from samelight.changes.respell import aim, emission, spellings
from samelight.changes.respell.bench import REMOVED, Bench, Edits
from samelight.light.primaries import rgb_of
from samelight.sheets.values import Colour, Curve, FileRef
from samelight.sheets.vocabulary import FOLDED, OF_FILES, typed_names


def candidates(leaf: str, bench: Bench) -> Iterator[Edits]:
    """Everything worth trying for a parameter, the likeliest first."""
    if bench.wanted is None:
        yield dict.fromkeys((name for name in _names(leaf, bench) if name in bench.typed), REMOVED)
        return
    lit = bench.section in ("lights", "environments")
    if lit and not isinstance(bench.wanted, Curve):
        special = _LIT.get(leaf)
        if leaf in ("rotation", "tilt", "roll") and bench.section == "environments":
            special = partial(aim.rotation, leaf)
        if special is not None:
            yield from special(bench)
    if leaf in OF_FILES and isinstance(bench.wanted, FileRef):
        stated = (bench.wanted.path, bench.wanted.sha256 or REMOVED, bench.wanted.holds or REMOVED)
        yield dict(zip(FOLDED[leaf], stated, strict=True))
    elif not isinstance(bench.wanted, Curve | Colour) and leaf in _names(leaf, bench):
        for value in spellings.plain(bench.wanted, bench.kind, bench.typed.get(leaf), bench.here):
            yield {leaf: value}
    yield from _as_the_master(leaf, bench)
    if isinstance(bench.wanted, Colour) and leaf != "colour":
        for rgb in spellings.roundings(rgb_of((bench.wanted.u, bench.wanted.v), bench.here.working_space)):
            yield {leaf: rgb}


def _names(leaf: str, bench: Bench) -> tuple[str, ...]:
    return typed_names(bench.section, leaf)


def _as_the_master(leaf: str, bench: Bench) -> Iterator[Edits]:
    """The master's own words in place of the shot's."""
    names = _names(leaf, bench)
    theirs = {name: bench.like[name] for name in names if name in bench.like}
    if theirs:
        gone = dict.fromkeys((name for name in names if name in bench.typed), REMOVED)
        yield {**gone, **theirs}
        yield theirs


_LIT: Mapping[str, Callable[[Bench], Iterator[Edits]]] = {
    "position": aim.position,
    "direction": aim.direction,
    "roll": aim.roll,
    "colour": emission.colour,
    "level": emission.level,
}
"""Parameters of lights and environments that several names fold into."""
