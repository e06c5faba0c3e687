"""Trims that bring a mark in a shot's frame to what it is in the key shot's frame, light by light, from the layers of both.

Light adds up: where each light gives the mark what it gives it in the key shot, level, colour and lit side are those of the key
shot too. So a trim is the ratio of two means, and no fit: the lights whose share is furthest off come first, until what is left of
all others is less than a tenth of a stop.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

from samelight.changes.trims import Trim, lit_sections, trimmed_cells, trims_text, typed_trims
from samelight.decisions.decision import Decision, Verb
from samelight.drift.cells import Grade
from samelight.drift.computed.derived import key_sheet
from samelight.drift.derived_names import PICTURE
from samelight.light.locus import steps
from samelight.light.region_figures import BLACK
from samelight.sequence.session import Session
from samelight.sequence.troubles import Trouble, apart
from samelight.sheets.errors import SamelightError, nearest_name
from samelight.sheets.measured import MeasuredMark, Witness
from samelight.sheets.names import parameter_name
from samelight.sheets.sheet import Sheet

LEFT = 0.1
"""Stops that may be left of all lights that are not trimmed."""
STEPS = 2.0
"""Steps within which two frames of a mark are of one colour: what passes across a cut."""
FURTHEST = 3.0
"""Stops that a light is trimmed by at most: what is further off is no trim, but another light."""
_HUNDREDTHS = 2


@dataclass(frozen=True, slots=True)
class Match:
    """Trims of a shot's lights that bring a mark of its frame to that of another shot's.

    `before` and `after` are by how many stops the mark is brighter than there, without and with them. `tree` is the shot's sheet
    with them typed; `notes` say what of it does not hold.
    """

    shot: str
    mark: str
    against: str
    sheet: Sheet
    trims: tuple[Trim, ...]
    before: float
    after: float
    tree: Mapping[str, Any]
    notes: tuple[str, ...] = ()
    lighter: str = ""


def matches(
    session: Session, shots: Collection[str], mark: str | None = None, failed: list[Trouble] | None = None
) -> list[Match | str]:
    """For each of these shots, in cut order, the trims that bring a mark to the frame that it is compared with; in words, why there are
    none.

    The mark is the one asked for, else the first whose layers were measured in both frames. Shots whose frame was not measured
    are left out, and so is the key shot itself. One that fails is left out and added to `failed`, without which it is raised.
    """
    found: list[Match | str] = []
    for shot in session.contents.shots:
        own = session.contents.measured.get(shot)
        if shot not in shots or shot not in session.contents.sheets or own is None:
            continue
        setup = session.contents.setup_of(shot)
        key = setup.follows or getattr(
            key_sheet(setup.sequence.key_shot, setup.master, session.contents.sheets), "shot", ""
        )
        if key != shot:
            with apart(shot, failed):
                found.append(_match(session, shot, key, mark))
    return found


def send_back(session: Session, match: Match, who: str) -> list[Decision]:
    """Send the level of each light that is to be trimmed back to its lighter, for what to type there; undo takes all of it back.

    The reason is `wanted_text`. Nothing is written where no light is to be trimmed. Raises as `Session.decide`.
    """
    cells = trimmed_cells(session, match.shot, match.trims)
    return session.decide(Verb.RETURN, cells, who, wanted_text(match)) if cells else []


def wanted_text(match: Match) -> str:
    """What to set, as the reason for which it is sent back: exact values in the sheet's spelling, where it has any."""
    return f"{match.mark} as in {match.against}: {trims_text(match.trims)}"


def check_mark(session: Session, mark: str) -> None:
    """See that some frame was looked at for a mark, where any was measured. Raises `SamelightError` with what was probably meant."""
    known = {
        name: None
        for witness in session.contents.measured.values()
        for name in (*witness.measured.marks, *witness.measured.unseen)
    }
    if known and mark not in known:
        near = nearest_name(mark, known)
        hint = f"did you mean {near}?" if near else f"there are {', '.join(sorted(known))}"
        raise SamelightError(f"--mark {mark}: no frame was measured that has this mark; {hint}")


def _match(session: Session, shot: str, key: str, asked: str | None) -> Match | str:
    own, held = session.contents.measured[shot], session.contents.measured.get(key)
    if held is None:
        return f"{shot}: nothing was measured of {key or 'a key shot'}, to which it would be brought"
    for witness in (own, held):
        if witness.is_old:
            return f"{shot}: {'' if witness is own else f'of {key}: '}{witness.age}"
    mark = asked or _first_in_both(own, held)
    if mark is None:
        return f"{shot}: there is no mark whose light was measured by layers both there and in {key}"
    both = [of.measured.marks.get(mark) for of in (own, held)]
    if both[0] is None or both[1] is None:
        where, of = (shot, own) if both[0] is None else (key, held)
        return f"{shot}: {mark} was not measured in {where}, {of.measured.unseen.get(mark, 'its sheet has no such mark')}"
    if not (both[0].lights and both[1].lights):
        return f"{shot}: the frame of {shot if both[1].lights else key} has no layers of lights"
    return _trimmed(session, shot, key, mark, (both[0], both[1]))


def _first_in_both(own: Witness, held: Witness) -> str | None:
    return next(
        (
            mark
            for mark, one in own.measured.marks.items()
            if one.lights and mark in held.measured.marks and held.measured.marks[mark].lights
        ),
        None,
    )


def _trimmed(
    session: Session, shot: str, key: str, mark: str, marks: tuple[MeasuredMark, MeasuredMark]
) -> Match | str:
    sheet = session.contents.sheets[shot]
    wanted, notes = trims_of(*marks)
    if wanted and holds(*marks):
        return f"{shot}: {mark} is as in {key} as it is; trims of its lights would only cancel each other"
    sections = lit_sections(sheet)
    notes += [
        f"{light} has a layer, and is no light of its sheet" for light in wanted if light not in sections
    ]
    wanted = {light: stops for light, stops in wanted.items() if light in sections}
    trims, typed = typed_trims(session, sheet, wanted)
    notes += [
        f"in the frame of {whose} {one.layers_words}: the trims are as far off"
        for whose, one in ((shot, marks[0]), (key, marks[1]))
        if one.layers_words
    ]
    unlike = session.table.row(parameter_name(PICTURE, mark, "unexplained")), session.table.column(shot)
    if unlike[0] is not None and unlike[1] is not None and session.table.grade[unlike] >= Grade.DRIFT:
        notes.insert(0, "the frame is not what its sheet leads one to expect: see to that first")
    before, after = _off(*marks, {}), _off(*marks, wanted)
    lighter = session.crew.who(shot)
    return Match(shot, mark, key, sheet, trims, before, after, typed, tuple(notes), lighter)


def holds(own: MeasuredMark, held: MeasuredMark) -> bool:
    """Whether a mark looks in a frame as it does in another, whichever lights make it do so: as bright, as contrasty and brighter on
    the same side within `LEFT`, and of one colour within `STEPS`."""
    assert own.mean is not None and held.mean is not None
    a, b = own.figures, held.figures
    stops = own.mean - held.mean, a.level - b.level, a.spread - b.spread, a.side - b.side
    return max(map(abs, stops)) <= LEFT and steps((a.u, a.v), (b.u, b.v)) <= STEPS


def trims_of(own: MeasuredMark, held: MeasuredMark) -> tuple[dict[str, float], list[str]]:
    """By how many stops to brighten which lights, so that a mark gets of each what it gets in another frame: the fewest that leave
    less than `LEFT`, the one that is furthest off first. Beside it, in words, what that does not do.

    >>> from samelight.light.framing import Region
    >>> from samelight.light.region_figures import Figures
    >>> def of(key, rim): return MeasuredMark(Region(0, 0, 9, 9, True), Figures(0, 0, 0, 0, 0, 0, 81), {"key": key, "rim": rim}, 0.0)
    >>> trims_of(of(-1.5, -4.0), of(-0.2, -4.3))
    ({'key': 1.3}, [])
    """
    given, wanted = ({name: _light(level) for name, level in one.lights.items()} for one in (own, held))
    total = math.fsum(wanted.values())
    off = {light: abs(wanted.get(light, 0.0) - gives) for light, gives in given.items()}
    notes = [
        f"{light} has no layer in the frame that it is brought to, and stays as it is"
        for light in given
        if light not in wanted
    ]
    notes += [f"{light} lights it there and has no layer here" for light in wanted if light not in given]
    trims: dict[str, float] = {}
    for light in sorted(off, key=lambda one: (-off[one], one)):
        left = math.fsum(size for other, size in off.items() if other not in trims and other in wanted)
        if left <= (math.pow(2.0, LEFT) - 1.0) * total:
            break
        if light not in wanted:
            continue
        if given[light] <= 0.0 or wanted[light] <= 0.0:
            where = "here" if given[light] <= 0.0 else "there"
            notes.append(f"{light} gives it no light {where}, which no trim changes")
            off[light] = 0.0
            continue
        stops = round(math.log2(wanted[light]) - math.log2(given[light]), _HUNDREDTHS)
        if abs(stops) > FURTHEST:
            notes.append(
                f"{light} would take {stops:+.1f} stops; no more than {FURTHEST:g} are offered".replace(
                    "-", "−"
                )
            )
            stops = math.copysign(FURTHEST, stops)
        if stops:
            trims[light] = stops
    return trims, notes


def _light(stops: float) -> float:
    return math.pow(2.0, stops) if stops > BLACK else 0.0


def _off(own: MeasuredMark, held: MeasuredMark, trims: Mapping[str, float]) -> float:
    """By how many stops a mark is brighter than in another frame, with its lights trimmed; what no layer holds stays."""
    added = math.fsum(
        _light(own.lights[light]) * (math.pow(2.0, stops) - 1.0) for light, stops in trims.items()
    )
    assert own.mean is not None and held.mean is not None
    return math.log2(max(_light(own.mean) + added, math.pow(2.0, BLACK))) - held.mean
