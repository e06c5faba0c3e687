"""What a parameter of a light is where a sheet says nothing of it: a light that states as much is the same light."""

from __future__ import annotations

from collections.abc import Mapping

from samelight.sheets.parameters import OF_SECTION, Parameter
from samelight.sheets.values import Curve, Level, Value
from samelight.sheets.vocabulary import BRIGHTNESS, COLOUR, LEVEL, LIT


def unstated(section: str, leaf: str, beside: Value | None) -> Value | None:
    """The canonical value of a parameter that a light's sheet leaves out; None where that is not one value.

    `beside` is what another sheet states: where that is of another kind, by a policy say, there is none.

    >>> unstated("lights", "visible", False), unstated("lights", "cone", 40.0)
    (True, None)
    """
    value = _VALUES.get((section, leaf))
    if value is None:
        return None
    stated = beside.keys[0][1] if isinstance(beside, Curve) else beside
    return value if type(stated) is type(value) else None


def _canonical(name: str, parameter: Parameter) -> tuple[str, Value]:
    if parameter.kind == COLOUR:  # black has no chromaticity
        return name + BRIGHTNESS, Level(0.0)
    if parameter.kind == LEVEL:
        return name, Level(parameter.unstated)
    return name, parameter.unstated


_VALUES: Mapping[tuple[str, str], Value] = {
    (section, leaf): value
    for section in LIT
    for name, parameter in OF_SECTION[section].items()
    if parameter.unstated is not None
    for leaf, value in [_canonical(name, parameter)]
}
