"""The kinds of computed rows by their names, for whoever names one in a policy."""

from __future__ import annotations

from samelight.sheets.vocabulary import ANGLE, CHOICE, COLOUR, COUNT, LEVEL

MARK_KINDS: dict[str, str] = {
    "level": LEVEL,
    "lit": LEVEL,
    "key": CHOICE,
    "fill": LEVEL,
    "key_to_fill": LEVEL,
    "key_side": CHOICE,
    "key_angle": ANGLE,
    "key_height": ANGLE,
    "key_size": ANGLE,
}
"""What is computed at each mark; `level.LIGHT` and `lit.LIGHT` are levels too."""

SUBJECT_KINDS: dict[str, str] = {
    "level": LEVEL,
    "key_to_fill": LEVEL,
    "key_angle": ANGLE,
    "colour": COLOUR,
    "contrast": LEVEL,
}
"""What is computed of each mark as a subject, which is compared with itself in the key shot."""

PICTURE_KINDS: dict[str, str] = {
    "level": LEVEL,
    "unexplained": LEVEL,
    "spread": LEVEL,
    "side": LEVEL,
    "colour": COLOUR,
}
"""What is measured of each mark in its shot's frame, and compared with the key shot's frame."""

_REFERENCE = (
    "Compared with the master's lights at the shot's own mark. A light that moved as the mark did since the key shot, "
    "within a tenth of the way (or 5 cm, but never more than a quarter of it), and turned as it did, within 5 degrees, "
    "follows its mark: it is compared with the master's light carried along from the key shot's mark. No other light is."
)
_SUBJECT = (
    "Compared with the same mark of the key shot (the reference's own mark, where another shot stands in the master's place), "
    "each under its own lights: what changes for the subject from shot to shot, whoever moved."
)
_OF_SUBJECT: dict[str, tuple[str, ...]] = {
    "level": ("All light on the subject, as marks.NAME.level counts it.", _SUBJECT),
    "key_to_fill": ("Key over fill on the subject, as a ratio; its drift is in stops.", _SUBJECT),
    "key_angle": (
        "Whence the key comes, as the angle about the vertical from where the subject faces, positive to the right of whoever "
        "looks at it, and its height. Its drift is the great circle between the two directions, positive where the key "
        "turned to the right.",
        _SUBJECT,
    ),
    "colour": (
        "The colour of all light on the subject: the mixture of its lights, each by what it gives there, a sky's map by what "
        "the subject faces of it. Of a picture on a light only what tints it is in it.",
        _SUBJECT,
    ),
    "contrast": (
        "The lit cheek over the other: the light on two surfaces turned 60 degrees to either side of where the subject faces.",
        _SUBJECT,
    ),
}
_PICTURE = (
    "Measured in the linear frame of the shot, against the frame of the key shot (docs/measured_frames.md)."
)
_OF_PICTURE: dict[str, tuple[str, ...]] = {
    "level": ("How bright the mark is in the frame: the mean of its luminance's logarithms.", _PICTURE),
    "unexplained": (
        "How bright the mark is in the frame, against what the sheets lead one to expect: as bright as in the key shot's frame, "
        "and as much brighter as a ball at the mark is under this sheet's lights.",
        "A model and no render: without bounce light, and with what the sheets say of what stands in the light's way.",
    ),
    "spread": (
        "The contrast of the mark: the luminance that a twentieth of it lies above over that which a twentieth lies below.",
        _PICTURE,
    ),
    "side": ("The right half of the mark over its left half, as the frame shows it.", _PICTURE),
    "colour": ("The colour of the mark's mean.", _PICTURE),
}
_RULES: dict[str, tuple[str, ...]] = {
    "level": (
        "What a surface at the mark receives: illuminance, direct light with its cosines.",
        _REFERENCE,
        "Not in it: what stands between light and mark (see marks.NAME.lit), light links (they name scene paths; a mark is a place), "
        "bounce light. An environment without a map counts as even: π × level. For a real set a meter decides.",
    ),
    "lit": (
        "What really arrives: each light's level times the share of it that the mark sees past what stands in the way.",
        "The reference is the master's light, as the same mark of the key shot sees it. A light that a mark does not name is seen whole.",
    ),
    "key": (
        "The key is the brightest light at the mark; environments are fill. The reference's key stays the key while it "
        "is within a quarter of a stop of the brightest.",
        _REFERENCE,
    ),
    "fill": ("Fill is all light at the mark but the key's, environments included.", _REFERENCE),
    "key_to_fill": ("Key over fill, as a ratio; its drift is in stops.", _REFERENCE),
    "key_side": (
        "The side from which the key comes as the shot's own camera sees it, in the reference too: front within 22.5 "
        "degrees of the camera seen from above, back beyond 157.5, top or under steeper than 80. A key that turned "
        "less than 5 degrees stays on its side.",
    ),
    "key_angle": (
        "Whence the key comes, as the angle about the vertical through the mark from the shot's camera, positive to the "
        "camera's right, and its height; the same camera for both sides. Its drift is the great circle between the two "
        "directions, positive where the key turned to the right.",
    ),
    "key_height": ("The elevation of the key as seen from the mark.",),
    "key_size": (
        "How large the key looks from the mark: the full angle of the round light that fills the same solid angle. "
        "The larger, the softer its shadows.",
    ),
    "rays": ("The summed level of the environments that this kind of ray sees.",),
    "sky": (
        "The sun's azimuth less the environment's rotation, both clockwise seen from above. The sun is the master's "
        "brightest distant light; in the shot the light of that name, else its own brightest.",
    ),
    "count": ("How many lights the sheet holds, on or off.",),
}

SUBJECT = "subject"
PICTURE = "picture"

APART: frozenset[str] = frozenset({SUBJECT, PICTURE})
"""Sections whose rows hold a shot against the key shot: they follow from no typed row, and inside their tolerances are the same."""

SECTIONS: tuple[str, ...] = ("marks", SUBJECT, "rays", "sky", "count", PICTURE)
"""Sections of computed rows, in the order they stand after the typed ones."""


def derived_kind(pattern: str) -> str | None:
    """The kind of the computed rows that a pattern means, or None when it means others.

    >>> derived_kind("marks.*.level.*"), derived_kind("*.key_size"), derived_kind("lights.*.level")
    ('level', 'angle', None)
    """
    section, *rest = pattern.split(".")
    if section == "marks" and len(rest) > 1:
        return MARK_KINDS.get(rest[1])
    if section == SUBJECT and len(rest) > 1:
        return SUBJECT_KINDS.get(rest[1])
    if section == PICTURE and len(rest) > 1:
        return PICTURE_KINDS.get(rest[1])
    if section == "rays":
        return LEVEL
    if section == "sky":
        return ANGLE
    if section == "count":
        return COUNT
    last = rest[-1] if rest else ""
    return MARK_KINDS.get(last) if last.startswith("key") or last == "fill" else None


def derived_rule(parameter: str) -> tuple[str, ...]:
    """How a computed row comes about, in sentences; empty for the name of a typed parameter.

    >>> derived_rule("count.lights"), derived_rule("lights.sun.level")
    (('How many lights the sheet holds, on or off.',), ())
    """
    section, _, rest = parameter.partition(".")
    if section == SUBJECT:
        return next((rule for leaf, rule in _OF_SUBJECT.items() if rest.endswith(f".{leaf}")), ())
    if section == PICTURE:
        return _OF_PICTURE.get(rest.split(".")[1] if "." in rest else "", ())
    if section != "marks":
        return _RULES[section] if section in SECTIONS else ()
    leaf = rest.split(".")[1] if "." in rest else ""
    return _RULES[leaf if leaf in MARK_KINDS else "level"]
