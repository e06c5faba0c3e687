"""What a set-up of a sequence is held by: its own rules on top of others, and a master that may come from another's."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from samelight.drift.policy import Lock, Policy, read_policy
from samelight.sequence.store import SheetStore
from samelight.sheets.errors import Fault, SheetError
from samelight.sheets.folder_files import SEQUENCE_FILE
from samelight.sheets.patterns import matches
from samelight.sheets.setups import StatedSetUp
from samelight.sheets.sheet import Sheet
from samelight.sheets.vocabulary import COMPARED_SECTIONS

Policies = tuple[Policy, Policy]
"""A policy with everything below it, and what of it is the sequence's own."""


def policy_of(setup: StatedSetUp, base: Policies, store: SheetStore) -> Policies:
    """The policy of a set-up on top of another. Raises `SheetError` for one at fault, and for one that names kinds: what a
    parameter is the whole sequence is read by."""
    policy, own = base
    path = setup.policy
    if path is not None:
        on_top = store.get(path, ("policy of a set-up", policy), lambda: read_policy(path, policy)).value
        if on_top.kinds != policy.kinds:
            expected = "no kinds in the policy of a set-up: name them in that of the sequence"
            raise SheetError([Fault(str(path), "kinds", expected, "kinds of parameters")])
        own = Policy(
            tolerances=own.tolerances + on_top.tolerances[len(policy.tolerances) :],
            locks=own.locks + on_top.locks[len(policy.locks) :],
            defaults=own.defaults + on_top.defaults[len(policy.defaults) :],
        )
        policy = on_top
    locks = tuple(Lock(pattern, why, SEQUENCE_FILE) for pattern, why in setup.locks)
    if not locks:
        return policy, own
    return replace(policy, locks=policy.locks + locks), replace(own, locks=own.locks + locks)


def comes_from(
    setup: StatedSetUp, masters: Mapping[int, Sheet], base: Sheet | None, store: SheetStore
) -> dict[int, Sheet]:
    """The masters of a set-up as they are held to that of another: all but what the set-up may have of its own is the
    other's."""
    if base is None:
        return dict(masters)
    return {
        version: store.made((setup.name, version), (setup, master, base), _combined)
        for version, master in masters.items()
    }


def _combined(setup: StatedSetUp, own: Sheet, base: Sheet) -> Sheet:
    sections: dict[str, Any] = {}
    typed: dict[str, Any] = dict(own.typed)
    for section in COMPARED_SECTIONS:
        of_both = {
            name: side.sections[section]
            for name, side in (("own", own), ("base", base))
            if section in side.sections
        }
        if not of_both:
            continue
        sections[section] = _mixed(setup, section, of_both.get("own", {}), of_both.get("base", {}))
        mine, theirs = (_groups(side.typed.get(section)) for side in (own, base))
        if own.conventions != base.conventions:
            theirs = {}  # typed in other units, it would be read as something else
        typed[section] = _mixed(setup, section, mine, theirs)
    return replace(own, sections={**own.sections, **sections}, typed=typed)


def _groups(typed: Any) -> Mapping[str, Any]:
    return typed if isinstance(typed, Mapping) else {}


def _mixed(
    setup: StatedSetUp, section: str, own: Mapping[str, Any], base: Mapping[str, Any]
) -> dict[str, Any]:
    """The groups of a section: those of the base in its order, in their places those that are the set-up's own."""
    apart = {name for name in (*base, *own) if name and is_apart(setup, section, name)}
    mixed = {
        name: own[name] if name in apart else group
        for name, group in base.items()
        if name not in apart or name in own
    }
    return {**mixed, **{name: own[name] for name in own if name in apart}}


def is_apart(setup: StatedSetUp, section: str, group: str) -> bool:
    """Whether a group may be another in a set-up than in the one that it comes from."""
    name = f"{section}.{group}"
    return any(matches(_of_groups(pattern), name) for pattern in setup.apart)


def _of_groups(pattern: str) -> str:
    return pattern.removesuffix(".*") if pattern.count(".") == 2 else pattern
