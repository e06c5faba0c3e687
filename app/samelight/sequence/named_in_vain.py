"""What the policies of a sequence name and no sheet has."""

from __future__ import annotations

from collections.abc import Iterable

from samelight.drift.policy import Policy
from samelight.drift.table import Table
from samelight.sequence.contents import Contents
from samelight.sequence.references import Comparison
from samelight.sequence.troubles import Trouble
from samelight.sheets.errors import nearest_name
from samelight.sheets.patterns import matches


def named_in_vain(contents: Contents, comparison: Comparison) -> list[Trouble]:
    """What the policies name in vain: that of the sequence in all shots, that of a set-up in its own."""
    found = _idle_patterns(contents.own_policy, comparison.table)
    above = contents.own_policy
    for part, compared in zip(contents.setups, comparison.parts, strict=False):
        if part.shots and not part.follows:
            tolerances = tuple(one for one in part.own_policy.tolerances if one not in above.tolerances)
            locks = tuple(one for one in part.own_policy.locks if one not in above.locks)
            defaults = tuple(one for one in part.own_policy.defaults if one not in above.defaults)
            found += _idle_patterns(Policy(tolerances, locks, defaults=defaults), compared.table)
    return found


def _idle_patterns(policy: Policy, table: Table) -> list[Trouble]:
    """The patterns of a sequence's own policy that meet no parameter: a name was misspelt. A lock then holds nothing."""
    names = [row.parameter for row in table.rows]

    def idle(patterns: Iterable[str]) -> str:
        found = []
        for pattern in dict.fromkeys(patterns):
            met = any(matches(pattern, row.parameter, row.light_type) for row in table.rows)
            if "." in pattern and names and not met:
                near = nearest_name(pattern, names)
                found.append(pattern + (f" (did you mean {near}?)" if near else ""))
        return ", ".join(found)

    others = idle([*(one.pattern for one in policy.tolerances), *(pattern for pattern, _ in policy.defaults)])
    locks = idle(lock.pattern for lock in policy.locks)
    found = [Trouble(f"The policy names parameters that no sheet has: {others}.")] if others else []
    if locks:
        says = f"The policy locks parameters that no sheet has, so that the lock holds nothing: {locks}."
        found.append(Trouble(says, unheld=True))
    return found
