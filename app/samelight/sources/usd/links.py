"""Light and shadow links: who a collection really holds, however it was authored.

Two collections that hold the same may be authored in different ways, so what is written is the membership that
USD computes, as the shortest list of turns on the way down the scene: "*" is everything, "/path" takes that prim
in with all below it, "!/path" leaves it out with all below it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from pxr import Usd

EVERYTHING = ["*"]

TRAVERSED = Usd.TraverseInstanceProxies(Usd.PrimDefaultPredicate)


class Links:
    """Reads the collections of one stage; `geometry` are the paths of everything that can be lit."""

    def __init__(self, stage: Any, geometry: Iterable[Any]) -> None:
        self._stage = stage
        self._geometry = list(geometry)
        self._covers: dict[tuple[str, ...], bool] = {}
        self._walks: dict[tuple[str, ...], list[str]] = {}

    def members(self, prim: Any, name: str, authored: Iterable[str]) -> tuple[list[str], list[str]]:
        """What the collection `name` of a prim holds, and the targets of it that do not exist.

        `authored` are the names of the authored properties of the prim.
        """
        collection = Usd.CollectionAPI(prim, name)
        start = f"collection:{name}"
        if not any(prop.startswith(start) for prop in authored):
            root = collection.GetIncludeRootAttr()
            return (list(EVERYTHING) if root and root.Get() else []), []
        missing = [path for path in self._targets(collection) if not self._exists(path)]
        query = collection.ComputeMembershipQuery()
        if collection.IsInExpressionMode():
            return self._walked(query, (str(collection.ResolveCompleteMembershipExpression()),)), missing
        rules = dict(query.GetAsPathExpansionRuleMap())
        turns = _turns(rules)
        if Usd.Tokens.explicitOnly in rules.values():
            return self._walked(query, tuple(f"{rules[path]} {path}" for path in sorted(rules))), missing
        if turns and turns[0] != "*" and not missing and self._all_lit(query, tuple(turns)):
            return list(EVERYTHING), missing
        return turns, missing

    def _targets(self, collection: Any) -> list[str]:
        paths = {
            str(path)
            for relationship in (collection.GetIncludesRel(), collection.GetExcludesRel())
            if relationship
            for path in relationship.GetTargets()
        }
        return sorted(paths)

    def _exists(self, path: str) -> bool:
        if ".collection:" in path:
            return bool(Usd.CollectionAPI.GetCollection(self._stage, path))
        return bool(self._stage.GetObjectAtPath(path))

    def _all_lit(self, query: Any, turns: tuple[str, ...]) -> bool:
        if turns not in self._covers:
            self._covers[turns] = bool(self._geometry) and all(
                query.IsPathIncluded(path) for path in self._geometry
            )
        return self._covers[turns]

    def _walked(self, query: Any, key: tuple[str, ...]) -> list[str]:
        """The turns of a collection whose rules do not follow the hierarchy, found prim by prim.

        `key` tells its rules from others, since many lights may share them.
        """
        if key not in self._walks:
            turns: list[str] = []
            state: dict[Any, bool] = {}
            for prim in Usd.PrimRange.Stage(self._stage, TRAVERSED):
                path = prim.GetPath()
                held = state[path] = bool(query.IsPathIncluded(path))
                if held != state.get(path.GetParentPath(), False):
                    turns.append(str(path) if held else f"!{path}")
            self._walks[key] = EVERYTHING if state and all(state.values()) else sorted(turns, key=_order)
        return list(self._walks[key])


def _turns(rules: Mapping[Any, str]) -> list[str]:
    """The rules that change what holds above them."""
    turns: list[str] = []
    state: dict[Any, bool] = {}
    for path in sorted(rules):  # a path sorts before what lies below it
        held = state[path] = rules[path] != Usd.Tokens.exclude
        above = path.GetParentPath()
        while above not in state and not above.isEmpty:
            above = above.GetParentPath()
        if held != state.get(above, False):
            turns.append("*" if path.IsAbsoluteRootPath() else str(path) if held else f"!{path}")
    return sorted(turns, key=_order)


def _order(turn: str) -> tuple[bool, bool, str]:
    return turn != "*", turn.startswith("!"), turn
