"""What a finding does to the light on a mark, and so which of several a lead acts on first."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from samelight.drift.cells import Grade
from samelight.drift.rows import Row
from samelight.findings.board import Board, concern_of
from samelight.findings.finding import Concern, Finding, Harm, Sureness
from samelight.findings.words import plain, thing, verb_for
from samelight.light.noise import SORTED_BY, figure
from samelight.sheets.values import Colour, Level, Value
from samelight.sheets.vocabulary import COLOUR, COMPARED_SECTIONS

LOCKED = 4.0
"""A broken lock counts as much as a mark that is out of tolerance so many times, whether it shows on a mark or not."""

WRONG = 6.0
"""So does, for more, what makes a frame wrong for certain: a picture that stands still, rays that end in nothing."""

UNSEEN = 0.5
"""What is out of tolerance and reaches no mark, or a mark that nobody stated."""

WITHIN = 0.05
"""What is inside its tolerance everywhere."""

_OTHERWISE = {Concern.PICTURE: UNSEEN, Concern.NOISE: 0.25, Concern.ORDER: 0.01, Concern.SOUND: 0.0}
_NAMES_ALONE = frozenset({"renamed"})
"""What is there under another name breaks no lock that a picture shows, though its own name is gone."""

_SURELY_WRONG = frozenset({"one-frame", "gi-gap", "reflection-gap"})

Rank = tuple[int, int, int, bool, float, str, tuple[str, ...], tuple[str, ...]]

UNRANKED: Rank = (0, 0, 0, False, 0.0, "", (), ())
"""Where what findings do could not be worked out, they stand as they were drawn."""


@dataclass(slots=True)
class _AtMark:
    """The rows of one mark: what it gets in all, of each light, and from which side its key comes."""

    total: int
    lights: dict[str, int]
    side: int | None
    key: int | None


class Harms:
    """The marks of a table, and what a change of some lights and environments does to each."""

    def __init__(self, board: Board) -> None:
        self._board = board
        rows: dict[str, dict[str, int]] = defaultdict(dict)
        for index, row in enumerate(board.table.rows):
            if row.section == "marks":
                rows[row.group][row.leaf] = index
        self._marks = {
            mark: _AtMark(
                leaves["level"],
                {leaf[6:]: index for leaf, index in leaves.items() if leaf.startswith("level.")},
                leaves.get("key_side"),
                leaves.get("key"),
            )
            for mark, leaves in rows.items()
            if "level" in leaves
        }
        # Worked out once for all findings: a sheet may have thousands of lights, and a finding for each.
        self._without_row: dict[tuple[str, int], set[str]] = {}
        self._with_row: dict[tuple[str, int], float] = {}

    @cached_property
    def _changed(self) -> defaultdict[int, set[str]]:
        """By column the lights of which anything differs, and the empty name where anything of the environments does."""
        found: defaultdict[int, set[str]] = defaultdict(set)
        table = self._board.table
        lit = np.array([row.section in ("lights", "environments") for row in table.rows], dtype=np.bool_)
        for index, column in np.argwhere((table.grade > Grade.SAME) & lit[:, None]).tolist():
            row = table.rows[index]
            found[column].add(row.group if row.section == "lights" else "")
        return found

    def of(self, finding: Finding) -> Harm | None:
        """What a finding does to the mark that it changes most; None where none is changed, or none is known.

        The light on the mark is the master's, with what the finding is about as the shot has it: what else differs in the
        shot does not count.
        """
        harms = (
            harm
            for column, rows in _touched(self._board, finding).items()
            for harm in self._in_shot(column, rows)
        )
        return max(harms, key=lambda harm: figure(self.weight(harm), SORTED_BY), default=None)

    def weight(self, harm: Harm) -> float:
        """How many times a mark is out of its tolerance."""
        tolerance = self._board.evidence.policy.tolerance(f"marks.{harm.mark}.level", "level").at_most
        steps = self._board.evidence.policy.tolerance("colour", COLOUR).at_most
        weight = max(abs(harm.stops) / tolerance if tolerance else 0.0, harm.steps / steps if steps else 0.0)
        return max(weight, LOCKED) if harm.side else weight

    def _in_shot(self, column: int, rows: Sequence[Row]) -> Iterator[Harm]:
        board, shot = self._board, self._board.table.shots[column]
        lights = {row.group for row in rows if row.section == "lights"}
        skies = any(row.section == "environments" for row in rows)
        coloured = {row.group for row in rows if row.section == "lights" and row.leaf == "colour"}
        for mark, at in self._marks.items():
            whole = board.table.entry(at.total, column)
            before = _amount(whole.master) if whole is not None else None
            after = _amount(whole.value) if whole is not None else None
            if before is None or after is None or before <= 0.0:
                continue
            listed = sorted(lights & at.lights.keys(), key=at.lights.__getitem__)
            parts = {name: self._part(at.lights[name], column) for name in listed}
            moved = sum(value - master for master, value in parts.values())
            unlisted = self._unlisted(mark, column)
            mine = (lights | {""} if skies else lights) & unlisted
            if mine and mine != unlisted:
                continue  # what is left of the sum is of this and of something else
            if mine:
                moved += (after - before) - self._listed(mark, column)
            left = before + moved
            stops = math.log2(left / before) if left > 0.0 else -math.inf
            steps = max(
                (self._steps(name, column) * parts[name][0] / before for name in coloured if name in parts),
                default=0.0,
            )
            side = self._side(at, column, lights)
            if abs(stops) > 1e-6 or steps > 1e-3 or side:
                yield Harm(shot, mark, figure(stops), figure(steps), side)

    def _unlisted(self, mark: str, column: int) -> set[str]:
        """What changes the sum at a mark in a shot and has no row of its own there: lights that only this shot has, by name,
        and the environments under the empty name."""
        found = self._without_row.get((mark, column))
        if found is None:
            found = self._changed[column] - self._marks[mark].lights.keys()
            self._without_row[mark, column] = found
        return found

    def _listed(self, mark: str, column: int) -> float:
        """What the lights that have rows of their own at a mark change there in a shot, in all."""
        found = self._with_row.get((mark, column))
        if found is None:
            parts = (self._part(index, column) for index in self._marks[mark].lights.values())
            found = self._with_row[mark, column] = sum(value - master for master, value in parts)
        return found

    def _part(self, index: int, column: int) -> tuple[float, float]:
        """What a mark gets of one light by the master, and in the shot."""
        entry = self._board.table.entry(index, column)
        if entry is None:
            return 0.0, 0.0
        return _amount(entry.master) or 0.0, _amount(entry.value) or 0.0

    def _steps(self, light: str, column: int) -> float:
        index = self._board.row_of("lights", light, "colour")
        entry = None if index is None else self._board.table.entry(index, column)
        if entry is None or not isinstance(entry.value, Colour) or not math.isfinite(entry.drift):
            return 0.0
        return entry.drift

    def _side(self, at: _AtMark, column: int, lights: set[str]) -> str:
        """From where the key comes now, where that is another side and the finding is about that key."""
        table = self._board.table
        if at.side is None or at.key is None or table.grade[at.side, column] < Grade.DRIFT:
            return ""
        side, key = table.entry(at.side, column), table.entry(at.key, column)
        if side is None or side.value is None or side.master is None:
            return ""  # where no light is the key, it comes from nowhere
        if key is None or not {key.master, key.value} & lights:
            return ""
        return f"{side.value} for {side.master}"


def _touched(board: Board, finding: Finding) -> dict[int, list[Row]]:
    """By column, the rows of lights and environments that a finding's own cells are of."""
    touched: dict[int, list[Row]] = defaultdict(list)
    for index, column in finding.cells:
        row = board.table.rows[index]
        if row.section in ("lights", "environments"):
            touched[column].append(row)
    return touched


def _amount(value: Value | None) -> float | None:
    return value.value if isinstance(value, Level) else None


def harm_text(harm: Harm) -> str:
    """What happens to a mark, as a clause.

    >>> harm_text(Harm("A_010", "face", -1.31, 0.0)), harm_text(Harm("A_010", "face", 0.0, 0.0, "left for right"))
    ('the face goes 1.3 stops darker', "the face's key comes from the left, not from the right")
    """
    who = thing(harm.mark)
    many = verb_for(who) == "are"
    said = []
    if harm.stops == -math.inf:
        said.append("go dark" if many else "goes dark")
    elif abs(harm.stops) >= 0.05:
        said.append(
            f"{'go' if many else 'goes'} {plain(f'{abs(harm.stops):.1f}')} "
            f"{'stop' if abs(harm.stops) == 1.0 else 'stops'} {'brighter' if harm.stops > 0 else 'darker'}"
        )
    if harm.steps >= 1.0:
        said.append(f"{'change' if many else 'changes'} colour by about {harm.steps:.0f} steps")
    now, _, before = harm.side.partition(" for ")
    key = f"key comes from {_from(now)}, not from {_from(before)}" if harm.side else ""
    if not said:
        return f"{who}'s {key}" if key else ""
    return f"{who} {' and '.join(said)}" + (f", and {'their' if many else 'its'} {key}" if key else "")


def _from(side: str) -> str:
    return {"top": "above", "under": "below"}.get(side, f"the {side}")


def told(finding: Finding, harm: Harm, weight: float) -> str:
    """The sentence of a finding with its harm in it, where that is out of the mark's tolerance."""
    text = harm_text(harm) if weight > 1.0 and finding.says.endswith(".") else ""
    if not text:
        return finding.says
    where = f" in {harm.shot}" if len(finding.shots) > 1 else ""
    head, mark, cause = finding.says.removesuffix(".").partition(". No cause is known")
    return f"{head}; {text}{where}{mark}{cause}."


def urgency(board: Board, finding: Finding, weight: float | None) -> float:
    """How much a finding harms, in times that a mark is out of tolerance. `weight` is what it does to the light on one."""
    if finding.concern is Concern.SOUND:
        return 0.0
    grade = board.table.grade.data
    grades = [grade[cell] for cell in finding.cells]
    broken = {index for (index, _), of in zip(finding.cells, grades, strict=True) if of >= Grade.BREAK}
    case = max((case.level for case in finding.cases), default=Grade.NONE)
    found = _OTHERWISE[finding.concern]
    if weight is not None and finding.concern is Concern.PICTURE:
        # Where everything that it is about reaches the marks, the light on them says all there is.
        typed = {board.table.rows[index].section for index, _ in finding.cells if board.typed[index]}
        measured = typed == {"lights"}
        found = weight if measured else max(found, weight)
    if max(case, *grades, Grade.NONE) < Grade.DRIFT and found < 1.0:
        return min(found, WITHIN)
    if finding.finding in _NAMES_ALONE:
        return max(weight or 0.0, 1.0)
    if finding.finding in _SURELY_WRONG and finding.sureness is Sureness.CERTAIN:
        return max(found, WRONG)
    if case >= Grade.BREAK or any(concern_of(board.table.rows[index]) is Concern.PICTURE for index in broken):
        return max(found, LOCKED)
    return max(found, 1.0) if broken else found


def rank(finding: Finding, urgent: float) -> Rank:
    """By harm, as far as half as much again is more; then by how many shots, then by how far out of tolerance."""
    computed = all(name.partition(".")[0] not in COMPARED_SECTIONS for _, name in finding.explained)
    step = round(2.0 * math.log2(urgent)) if 0.0 < urgent < math.inf else -1000 if urgent == 0.0 else 1000
    return (
        -step,
        int(finding.concern),
        -len(finding.shots),
        # What follows from typed values only stands behind what those values are about.
        computed,
        -figure(finding.worst, SORTED_BY),
        finding.finding,
        finding.shots,
        finding.parameters,
    )
