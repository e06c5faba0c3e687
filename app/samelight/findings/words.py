"""What findings say: shots, parameters and drifts as a lead would name them."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from samelight.drift.cells import ABSENT, EXTRA
from samelight.drift.table import Entry, Row
from samelight.drift.words import MINUS, measured_text, number_text, value_text
from samelight.findings.courses import course_text
from samelight.light.colour_words import shift_in_words
from samelight.light.directions import NORTH, Vector, angle_between, to_azimuth_elevation, turn_between
from samelight.sheets import vocabulary as kinds
from samelight.sheets.values import Colour, Curve, as_vector

_CARDINALS = ("north", "east", "south", "west")
_WORDS = {"gi": "GI", "ies": "IES"}
_LEAVES = {"seen_by": "visibility", "assigned_to": "assignment"}


def shots_text(columns: Sequence[int], shots: Sequence[str], at_most: int = 5) -> str:
    """Shots by their columns, three and more in a row as a range.

    >>> shots_text([0, 1, 2, 4], ["A10", "A20", "A30", "A40", "A50", "A60"])
    'A10 to A30 and A50'
    """
    ordered = sorted(set(columns))
    if len(ordered) == len(shots) > 3:
        return f"all {len(shots)} shots"
    runs: list[list[int]] = []
    for column in ordered:
        if runs and runs[-1][-1] == column - 1:
            runs[-1].append(column)
        else:
            runs.append([column])
    parts: list[tuple[str, int]] = []
    for run in runs:
        if len(run) > 2:
            parts.append((f"{shots[run[0]]} to {shots[run[-1]]}", len(run)))
        else:
            parts.extend((shots[column], 1) for column in run)
    if len(parts) <= at_most:
        return listed([text for text, _ in parts])
    more = sum(count for _, count in parts[at_most - 1 :])
    return ", ".join(text for text, _ in parts[: at_most - 1]) + f" and {more} more"


def listed(items: Sequence[str], at_most: int = 6) -> str:
    """Items as a sentence lists them.

    >>> listed(["a", "b", "c"]), listed(["a", "b", "c", "d"], at_most=3)
    ('a, b and c', 'a, b and 2 more')
    """
    if len(items) > at_most:
        return ", ".join(items[: at_most - 1]) + f" and {len(items) - at_most + 1} more"
    if len(items) < 2:
        return "".join(items)
    return ", ".join(items[:-1]) + f" and {items[-1]}"


def sentence(text: str) -> str:
    """Text with the article it starts with capitalised; names keep their letters.

    >>> sentence("the sun is gone"), sentence("boat_lamp is gone")
    ('The sun is gone', 'boat_lamp is gone')
    """
    return text[:1].upper() + text[1:] if re.match(r"(the|a|an|all|every|nothing)\b", text) else text


def capital(text: str) -> str:
    """Text that starts with no name, with a capital; a sign such as π stays.

    >>> capital("north taken for south."), capital("π more or less.")
    ('North taken for south.', 'π more or less.')
    """
    return text[:1].upper() + text[1:] if text[:1].isascii() else text


def thing(name: str) -> str:
    """A light or environment by its name: with an article when the name is a word.

    >>> thing("sun"), thing("boat_lamp")
    ('the sun', 'boat_lamp')
    """
    return f"the {name}" if name.isalpha() and name.islower() else name


def leaf_text(leaf: str) -> str:
    """The last part of a parameter's name in words.

    >>> leaf_text("seen_by"), leaf_text("shadow.distance"), leaf_text("gi")
    ('visibility', 'shadow distance', 'GI')
    """
    return _LEAVES.get(leaf) or " ".join(_WORDS.get(word, word) for word in re.split(r"[._]+", leaf) if word)


def group_text(row: Row) -> str:
    """The group of a row in words."""
    match row.section:
        case "render":
            return f"the {leaf_text(row.group)} settings" if row.group else "the render settings"
        case "passes":
            return f"the {row.group} pass"
        case "surfaces":
            return f"the surface {row.group}"
        case "lights" | "environments":
            return thing(row.group)
        case _:
            return leaf_text(row.group or row.section)


def parameter_text(row: Row) -> str:
    """A parameter in words: "the sun's direction", "the GI range", "the assignment of the surface nets"."""
    if not row.leaf:
        return group_text(row)
    match row.section:
        case "lights" | "environments":
            return f"{thing(row.group)}'s {leaf_text(row.leaf)}"
        case "render":
            return f"the {leaf_text(f'{row.group}.{row.leaf}')}"
        case "passes" | "surfaces":
            return f"the {leaf_text(row.leaf)} of {group_text(row)}"
        case _:
            return f"the {leaf_text(row.leaf)}"


def switch_text(section: str, group: str, leaf: str) -> str:
    """What a switch turns on and off.

    >>> switch_text("render", "gi", "on"), switch_text("lights", "key", "shadow.enable"), switch_text("lights", "key", "visible")
    ('GI', "the key's shadow", 'the key')
    """
    names = [name for name in re.split(r"[._]+", leaf) if name not in ("on", "enable", "enabled", "visible")]
    if section not in ("lights", "environments"):
        what = leaf_text("_".join((group, *names)))
        return what if what.split(" ")[0] in _WORDS.values() else f"the {what}"
    return f"{thing(group)}'s {leaf_text('_'.join(names))}" if names else thing(group)


def on_or_off(value: bool) -> str:
    """A switch's value in a word."""
    return "on" if value else "off"


def verb_for(leaf: str) -> str:
    """The verb that agrees with a parameter's name.

    >>> verb_for("samples"), verb_for("radius"), verb_for("range")
    ('are', 'is', 'is')
    """
    return "are" if leaf.endswith("s") and not leaf.endswith(("ss", "us", "is")) else "is"


def plain(text: str) -> str:
    """A measured drift without decimals that say nothing.

    >>> plain("12.0°"), plain("7.50°"), plain("0.35 st")
    ('12°', '7.5°', '0.35 st')
    """
    return re.sub(r"(\.\d*?)0+(?=\D|$)", lambda found: found[1].rstrip("."), text)


def size_text(kind: str, drift: float) -> str:
    """A drift without its sign, where the words around it say which way."""
    return said_drift(kind, abs(drift)).lstrip(f"+{MINUS}")


def said_drift(kind: str, drift: float) -> str:
    """A drift as people say it, with its sign.

    >>> said_drift("level", -0.35), said_drift("level", 1.0), said_drift("temperature", 12.5), said_drift("colour", 1.0)
    ('−0.35 stops', '+1 stop', '+12.5 mired', '1 step')
    """
    number, _, unit = plain(measured_text(kind, drift)).partition(" ")
    unit = _SAID_UNITS.get(unit, unit)
    if unit in ("stops", "steps") and number.lstrip(f"+{MINUS}") == "1":
        unit = unit.removesuffix("s")
    return f"{number} {unit}" if unit else number


_SAID_UNITS = {"st": "stops", "MK⁻¹": "mired"}


def happening(row: Row, entry: Entry, north: Vector = NORTH, distant: bool = False) -> str:
    """What happened to a parameter, as a clause: "the sun stands 12° further south".

    `distant` says that the row belongs to a light that is a direction and no place.
    """
    if not row.leaf:
        gone = {ABSENT: "absent", EXTRA: "extra"}
        return f"{group_text(row)} {verb_for(group_text(row))} {gone.get(entry.remark, 'changed')}"
    if entry.value is None:
        return f"{parameter_text(row)} {verb_for(row.leaf)} not set, for {value_text(entry.master, row.kind, north)}"
    if entry.master is None:
        value = value_text(entry.value, row.kind, north)
        return f"{parameter_text(row)} {verb_for(row.leaf)} {value}; the master sets none"
    if isinstance(entry.value, bool) and isinstance(entry.master, bool):
        what = switch_text(row.section, row.group, row.leaf)
        return f"{what} is {on_or_off(entry.value)}; the master has it {on_or_off(entry.master)}"
    if isinstance(entry.value, Curve) or isinstance(entry.master, Curve):
        ours, masters = (
            course_text(side, row.kind, lambda value: value_text(value, row.kind, north))
            for side in (entry.value, entry.master)
        )
        return f"{parameter_text(row)} {ours} (the master's {masters})"
    said = _of_light(row, entry, north, distant) if row.section in ("lights", "environments") else ""
    return said or f"{parameter_text(row)} {_predicate(row, entry, north)}"


def _of_light(row: Row, entry: Entry, north: Vector, distant: bool) -> str:
    """Drifts that have words of their own; empty for the others."""
    who, master, value = thing(row.group), entry.master, entry.value
    a, b = as_vector(master), as_vector(value)
    if row.leaf == "direction" and a and b:
        aimed = f"{size_text(kinds.DIRECTION, angle_between(a, b))} elsewhere"
        return f"{who} stands {stands(a, b, north)}" if distant else f"{who} points {aimed}"
    if row.leaf == "position":
        return f"{who} stands {size_text(kinds.POSITION, entry.drift)} from its place"
    if row.leaf == "level" and math.isfinite(entry.drift):
        return f"{who} is {size_text(kinds.LEVEL, entry.drift)} {'brighter' if entry.drift > 0 else 'darker'}"
    if row.leaf == "level" and math.isinf(entry.drift):
        return f"{who} is {'dark' if entry.drift < 0 else 'on, and dark in the master'}"
    if row.leaf == "rotation" and math.isfinite(entry.drift):
        way = "clockwise" if entry.drift > 0 else "anticlockwise"
        return f"{who} is turned {size_text(kinds.ANGLE, entry.drift)} {way}"
    if isinstance(master, Colour) and isinstance(value, Colour) and row.leaf == "colour":
        shift = shift_in_words((master.u, master.v), (value.u, value.v))
        return f"{who} is {shift} ({size_text(kinds.COLOUR, entry.drift)})" if shift else ""
    return ""


def stands(master: Vector, value: Vector, north: Vector = NORTH) -> str:
    """Where a sun went, from its two directions: the angle between them, as its cell has it, and which way.

    >>> from samelight.light.directions import from_azimuth_elevation as sun
    >>> stands(sun(131, 24), sun(143, 24)), stands(sun(131, 24), sun(131, 20))
    ('11° further south', '4° lower')
    """
    apart = angle_between(master, value)
    (azimuth, elevation), (new_azimuth, new_elevation) = (
        to_azimuth_elevation(vector, north) for vector in (master, value)
    )
    turn, rise = turn_between(azimuth, new_azimuth), new_elevation - elevation
    across = abs(turn) * math.cos(math.radians(elevation))
    if abs(turn) > 60.0:
        return f"{size_text(kinds.DIRECTION, apart)} away"
    quarter = math.ceil(new_azimuth / 90.0 - 1e-9) if turn > 0 else math.floor(new_azimuth / 90.0 + 1e-9)
    sideways, upwards = f"further {_CARDINALS[quarter % 4]}", "higher" if rise > 0 else "lower"
    if abs(rise) < 0.1 * apart:
        return f"{size_text(kinds.DIRECTION, apart)} {sideways}"
    if across < 0.1 * apart:
        return f"{size_text(kinds.DIRECTION, apart)} {upwards}"
    return f"{size_text(kinds.DIRECTION, apart)} off, {sideways} and {upwards}"


def _predicate(row: Row, entry: Entry, north: Vector) -> str:
    master, value = entry.master, entry.value
    if isinstance(master, frozenset) and isinstance(value, frozenset):
        changes = [f"{MINUS}{member}" for member in sorted(master - value)]
        changes += [f"+{member}" for member in sorted(value - master)]
        return f"changed: {listed(changes)}"
    said = (
        f"{verb_for(row.leaf)} {value_text(value, row.kind, north)} for {value_text(master, row.kind, north)}"
    )
    drift = said_drift(row.kind, entry.drift) if row.kind not in (kinds.ANGLE,) else ""
    return f"{said} ({drift})" if drift and math.isfinite(entry.drift) else said


def signed(number: float) -> str:
    """A number with its sign, as an exposure is said.

    >>> signed(0.5), signed(-1.0)
    ('+0.5', '−1')
    """
    return f"{number:+g}".replace("-", MINUS)


def times_text(factor: float) -> str:
    """A factor in words.

    >>> times_text(3.0153), times_text(100.0)
    ('3.02 times', '100 times')
    """
    return f"{number_text(factor, 3)} times"
