"""How a figure of a subject came about: what lights it in its shot, and in the one that it is compared with."""

from __future__ import annotations

from samelight.drift.cells import ComparedCell
from samelight.drift.computed.lit import Lit
from samelight.drift.computed.subject import FacedKey, LitSubject
from samelight.drift.computed.sums import frame_words, terms
from samelight.drift.words import number_text, value_text
from samelight.light.noise import figure
from samelight.sheets.values import Bearing, Colour, Level


def subject_words(subject: LitSubject, leaf: str, cell: ComparedCell) -> list[str]:
    """The inputs of both sides of a subject's cell, in words."""
    at = subject.at
    moment = next((row for row in range(len(at.moments)) if _shows(subject, leaf, row, cell)), 0)
    held, own = subject.keys
    where = f"{at.mark} in {subject.of[moment] or 'the key shot'}"
    return [
        *frame_words(at, moment),
        f"shot: {_side(subject.own, own, leaf, moment)}",
        f"{where}: {_side(subject.held, held, leaf, moment)}",
    ]


def _shows(subject: LitSubject, leaf: str, moment: int, cell: ComparedCell) -> bool:
    """Whether the cell shows this moment."""
    value = cell.value.value if isinstance(cell.value, Level) else cell.value
    own = subject.keys[1]
    match leaf:
        case "level":
            return figure(float(subject.own.total[moment])) == value
        case "key_to_fill":
            return bool(own.fill[moment]) and figure(float(own.level[moment] / own.fill[moment])) == value
        case "key_angle":
            return Bearing(figure(float(own.angle[moment])), figure(float(own.height[moment]))) == value
        case "colour":
            return Colour(*map(figure, subject.own.colour[moment].tolist())) == value
        case _:
            cheeks = subject.own.cheeks[moment]
            return bool(cheeks.min()) and figure(float(cheeks.max() / cheeks.min())) == value


def _side(lit: Lit, key: FacedKey, leaf: str, moment: int) -> str:
    light = int(key.light[moment])
    if leaf == "contrast":
        left, right = (number_text(one) for one in lit.cheeks[moment].tolist()[::-1])
        return f"the cheek to the left {left}, the other {right}, of whoever looks at it"
    if leaf in ("level", "colour") or light < 0:
        return terms(lit.names, lit.levels[moment])
    name = lit.names[light]
    if leaf == "key_to_fill":
        fill = number_text(float(key.fill[moment]))
        return f"{name} {number_text(float(key.level[moment]))} / fill {fill}"
    angle, height = (value_text(float(part[moment]), "angle") for part in (key.angle, key.height))
    return f"{name}, {angle} from where it faces ({key.side[moment] or 'no side'}), {height} high"
