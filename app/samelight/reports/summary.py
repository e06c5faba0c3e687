"""What a production knows of one of its sequences: plain figures that are kept, so that nobody opens what did not change."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from typing import Any

import numpy as np

from samelight.decisions.state import State
from samelight.decisions.tally import Tally
from samelight.drift.cells import Grade
from samelight.drift.table import strongest_distant
from samelight.reports.held import held_shots
from samelight.reports.render_plan import render_plan
from samelight.sequence.contents import Contents
from samelight.sequence.session import Session
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Value, decoded, encoded

CaseKey = tuple[str, str]
"""Shot and parameter of a case."""

Groups = Mapping[str, Mapping[str, Mapping[str, Any]]]
"""Values as plain data by section, group and leaf."""

SHARED_SECTIONS = ("lights", "environments")
"""What sequences may have in common."""


@dataclass(frozen=True, slots=True)
class SetUpLook:
    """What a set-up is lit by: the lights and environments of its master (`groups`, plain data), where each light stands in its
    scene (`paths`), and what the master states of the sun itself, if it does (`sun`, as typed). `key` names the sun: the
    strongest distant light. `shots` are how many are compared with it; `north` is where its azimuths count from."""

    name: str
    version: int
    shots: int
    groups: Groups
    paths: Mapping[str, str] = field(default_factory=dict)
    key: str = ""
    sun: Mapping[str, Any] = field(default_factory=dict)
    north: tuple[float, float, float] = (0.0, 0.0, -1.0)

    def group(self, section: str, name: str) -> dict[str, Value]:
        """A light or an environment as it is compared; empty where it has none of that name."""
        stated = self.groups.get(section, {}).get(name, {}).items()
        return {leaf: value for leaf, data in stated if (value := decoded(data)) is not None}


@dataclass(frozen=True, slots=True)
class Summary:
    """One sequence. `held` is what its shots are compared with, by set-up; `strip` has for each shot of the cut how far its worst
    unsettled cell is out of tolerance, infinite where something is there or not, 0 where all is settled. `mended` are the
    cases that wait for a look.

    `cases` are those that nobody settled, each with how it stands; `hours` are those of the render plan, None where it has
    none; `trouble` says how much could not be read.
    """

    title: str
    held: str
    strip: tuple[float, ...]
    tally: Tally
    mended: int
    hours: float | None
    lighters: tuple[str, ...]
    trouble: str
    cases: Mapping[CaseKey, str]
    looks: tuple[SetUpLook, ...]

    def as_data(self) -> dict[str, Any]:
        """Plain data, the inverse of `summary_from`."""
        return {**asdict(self), "cases": [[*key, said] for key, said in self.cases.items()]}


def summary_from(data: Mapping[str, Any]) -> Summary:
    """A summary from its plain data. Raises KeyError, TypeError and ValueError for what is none."""
    north = [tuple(map(float, one["north"])) for one in data["looks"]]
    looks = [SetUpLook(**{**one, "north": of}) for one, of in zip(data["looks"], north, strict=True)]
    return Summary(
        **{
            **data,
            "strip": tuple(map(float, data["strip"])),
            "tally": Tally(**data["tally"]),
            "lighters": tuple(map(str, data["lighters"])),
            "cases": {(str(shot), str(name)): str(said) for shot, name, said in data["cases"]},
            "looks": tuple(looks),
        }
    )


def summary_of(session: Session) -> Summary:
    """The summary of an opened sequence."""
    plan = render_plan(session.contents.sheets, session.cases.findings)
    unread = session.unreadable()
    trouble = next(iter(unread.values())).says if unread else ""
    if not session.contents.has_master:
        trouble = trouble or "There is no master setup to compare the shots with."
    elif len(unread) > 1:
        trouble = f"{trouble} ({len(unread) - 1} more shots are not compared.)"
    return Summary(
        session.contents.sequence.title,
        _held(session),
        tuple(_strip(session)),
        session.cases.tally(),
        _mended(session),
        plan.seconds / 3600.0 if plan.timed else None,
        tuple(session.contents.sequence.lighters),
        trouble,
        _cases(session),
        tuple(_looks(session.contents.parts)),
    )


def _held(session: Session) -> str:
    """The set-ups with the version of each one's master."""
    parts = {one.setup: one.master for one in held_shots(session) if not one.follows}
    if not parts:
        parts = {"": session.contents.master_version}
    said = (
        f"{name} {'—' if version is None else f'v{version:03d}'}".lstrip() for name, version in parts.items()
    )
    return ", ".join(said)


def _strip(session: Session) -> list[float]:
    unsettled = session.cases.unsettled_mask(Grade.DRIFT)
    severity = np.where(unsettled, np.asarray(session.table.severity), 0.0)
    strip: list[float] = np.nan_to_num(severity, posinf=np.inf).max(axis=0, initial=0.0).tolist()
    for case in session.cases.unsettled_cases():
        column = session.table.column(case.shot)
        if column is not None:
            strip[column] = max(strip[column], 1.0)
    return strip


def _mended(session: Session) -> int:
    follows = session.cases.following().mask
    cells = sum(
        state is State.MENDED and not follows[cell] for cell, state in session.cases.judged().states.items()
    )
    return cells + sum(case.state is State.MENDED for case in session.cases.finding_cases())


def _cases(session: Session) -> dict[CaseKey, str]:
    """What is not settled, by how far it is off and what was decided; cells, then findings."""
    table, found = session.table, dict[CaseKey, str]()
    for row, column in session.cases.unsettled_cells():
        drift = float(table.drift[row, column])
        said = "" if math.isnan(drift) else f"{drift:.6g} "
        found[table.shots[column], table.rows[row].parameter] = f"{said}{session.cases.state(row, column)}"
    for case in session.cases.unsettled_cases():
        found[case.shot, case.parameter] = str(case.state)
    return found


def _looks(parts: Sequence[Contents]) -> list[SetUpLook]:
    found = []
    for part in parts:
        master = part.master
        if master is None or part.follows:
            continue
        key = strongest_distant(master.sections)
        source = master.typed.get("source")
        paths = source.get("lights") if isinstance(source, Mapping) else None
        found.append(
            SetUpLook(
                part.name,
                master.version,
                len(part.shots),
                {
                    section: {
                        name: {leaf: encoded(value) for leaf, value in group.items()}
                        for name, group in master.sections.get(section, {}).items()
                    }
                    for section in SHARED_SECTIONS
                },
                {str(name): str(path) for name, path in paths.items()} if isinstance(paths, Mapping) else {},
                key,
                _stated_sun(master, key),
                master.conventions.north,
            )
        )
    return found


def _stated_sun(master: Sheet, key: str) -> dict[str, Any]:
    stated = master.as_typed("lights", key, "direction").get("sun") if key else None
    return {str(name): value for name, value in stated.items()} if isinstance(stated, Mapping) else {}
