"""A shift of colour in a gaffer's words: how much CTO, CTB, plus-green or minus-green would do the same."""

import math

from samelight.light.locus import UV, cct_duv, mired, planckian_uv, steps, xy_to_uv

# Common practice, no source, values from memory: what correction filters of the named strengths usually shift,
# in mired and in Duv.
_WARMING = (
    (26.0, "an eighth"),
    (64.0, "a quarter"),
    (109.0, "a half"),
    (159.0, "a full"),
    (318.0, "a double"),
)
_COOLING = (
    (18.0, "an eighth"),
    (35.0, "a quarter"),
    (78.0, "a half"),
    (137.0, "a full"),
    (274.0, "a double"),
)
_GREENING = (
    (0.0025, "an eighth"),
    (0.005, "a quarter"),
    (0.01, "a half"),
    (0.02, "a full"),
    (0.04, "a double"),
)

# The hues of the Rec.709 primaries and their mixtures, as angles in u'v' about D65.
_HUES = (
    ("redder", (0.6400, 0.3300)),
    ("yellower", (0.4193, 0.5053)),
    ("greener", (0.3000, 0.6000)),
    ("more cyan", (0.2247, 0.3287)),
    ("bluer", (0.1500, 0.0600)),
    ("more magenta", (0.3209, 0.1542)),
)


def shift_in_words(uv_from: UV, uv_to: UV) -> str:
    """What the shift from one u'v' to another looks like, as a lighter would say it; "" under one step.

    Near the Planckian locus it is told in correction filters (their strengths are common practice, no source,
    and the nearest one is named); elsewhere as a hue and a number of steps (`steps`).

    >>> shift_in_words(planckian_uv(5600), planckian_uv(4200))
    'warmer, as about a quarter CTO would'
    """
    distance = steps(uv_from, uv_to)
    if distance < 1.0:
        return ""
    before, after = cct_duv(*uv_from), cct_duv(*uv_to)
    if before is None or after is None:
        return f"{_hue(uv_from, uv_to)} by {distance:.0f} steps"
    along = steps(planckian_uv(before[0]), planckian_uv(after[0]))
    warmth, green = mired(after[0]) - mired(before[0]), after[1] - before[1]
    across = steps((0.0, 0.0), (green, 0.0))
    said = []
    if along >= 1.0 or along >= across:
        word, ladder, name = ("warmer", _WARMING, "CTO") if warmth > 0 else ("cooler", _COOLING, "CTB")
        said.append((along, _as_filter(word, abs(warmth), ladder, name)))
    if across >= 1.0 or across > along:
        word, name = ("greener", "plus-green") if green > 0 else ("more magenta", "minus-green")
        said.append((across, _as_filter(word, abs(green), _GREENING, name)))
    return ", and ".join(text for _, text in sorted(said, reverse=True))


def _as_filter(word: str, amount: float, ladder: tuple[tuple[float, str], ...], name: str) -> str:
    weakest, strongest = ladder[0][0], ladder[-1][0]
    if amount < 0.7 * weakest:
        return f"slightly {word}, less than an eighth {name} would"
    if amount > 1.4 * strongest:
        return f"much {word}, more than a double {name} would"
    _, strength = min(ladder, key=lambda rung: abs(math.log(amount / rung[0])))
    return f"{word}, as about {strength} {name} would"


def _hue(uv_from: UV, uv_to: UV) -> str:
    white = xy_to_uv(0.3127, 0.3290)
    heading = math.atan2(uv_to[1] - uv_from[1], uv_to[0] - uv_from[0])

    def turn(hue: tuple[str, tuple[float, float]]) -> float:
        u, v = xy_to_uv(*hue[1])
        return abs(math.remainder(math.atan2(v - white[1], u - white[0]) - heading, math.tau))

    return min(_HUES, key=turn)[0]
