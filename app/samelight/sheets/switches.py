"""What a sheet's `source` says of how its scene switches lights: the variants that are selected, and what is inactive."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from samelight.sheets.names import as_name

VARIANTS, INACTIVE = "variants", "inactive"

Selections = Mapping[tuple[str, str], str]
"""By path of a prim and name of a variant set, the variant that is selected."""


@dataclass(frozen=True, slots=True)
class Inactive:
    """A light that its scene has switched off: its path, the prim that is inactive, itself or above it, the layer that says so, and the
    variant that the layer says it in, such as `lights=off`, empty where it is in none."""

    path: str
    prim: str
    layer: str
    variant: str = ""

    def stated(self) -> dict[str, str]:
        """As a sheet's `source` has it, under the light's path."""
        said = {"prim": self.prim, "layer": self.layer, "variant": self.variant}
        return {name: value for name, value in said.items() if value}


def selections_of(typed: Mapping[str, Any]) -> Selections:
    """The variants that a sheet's tree says are selected."""
    return {
        (path, name): selected
        for path, sets in _stated(typed, VARIANTS)
        for name, selected in sets.items()
        if isinstance(selected, str)
    }


def inactive_of(typed: Mapping[str, Any]) -> list[Inactive]:
    """The lights that a sheet's tree says are switched off."""
    return [
        Inactive(path, *(str(said.get(name, "")) for name in ("prim", "layer", "variant")))
        for path, said in _stated(typed, INACTIVE)
    ]


def _stated(typed: Mapping[str, Any], name: str) -> list[tuple[str, Mapping[str, Any]]]:
    source = typed.get("source")
    held = source.get(name) if isinstance(source, Mapping) else None
    return [(path, said) for path, said in (held or {}).items() if isinstance(said, Mapping)]


def usual(trees: Iterable[Mapping[str, Any]]) -> Selections:
    """Of each variant set the selection that most of these sheets have, the first of several."""
    counts: dict[tuple[str, str], Counter[str]] = {}
    for tree in trees:
        for key, selected in selections_of(tree).items():
            counts.setdefault(key, Counter())[selected] += 1
    return {key: counter.most_common(1)[0][0] for key, counter in counts.items()}


def goes_by(name: str, path: str) -> bool:
    """Whether a light of a scene would go by a name: that of its last part, or of its last parts.

    >>> goes_by("left_lamp", "/set/left/lamp"), goes_by("lamp", "/set/left/lamp"), goes_by("left", "/set/left/lamp")
    (True, True, False)
    """
    parts = path.strip("/").split("/")
    return any(as_name("_".join(parts[start:])) == name for start in range(len(parts)))
