"""What each kind of ray sees, and what samples buy.

Kinds of ray are free text ("camera", "indirect", "reflection", "volume" ...), as renderers name them
differently: "indirect" and "diffuse" are two kinds here. Letter case does not matter; "*" and "all" stand for
every kind.
"""

import math
from collections.abc import Collection, Iterable

EVERY_KIND = frozenset({"*", "all"})


def noise_ratio(samples: float, reference: float) -> float:
    """How much noisier `samples` renders than `reference` does: sqrt(reference / samples), over 1 being
    noisier.

    The error of a Monte Carlo mean falls with 1 / sqrt(samples), whatever is sampled, as long as the samples
    are independent; adaptive sampling and denoising change what is seen. No samples at all are infinitely
    noisy. Raises ValueError for negative counts or no reference.

    >>> noise_ratio(16, 64)
    2.0
    """
    _check(samples, reference)
    return math.inf if samples == 0 else math.sqrt(reference / samples)


def cost_ratio(samples: float, reference: float) -> float:
    """How many times the rays of `reference` are shot at `samples`; errors as `noise_ratio`.

    >>> cost_ratio(16, 64)
    0.25
    """
    _check(samples, reference)
    return samples / reference


def _check(samples: float, reference: float) -> None:
    if not (math.isfinite(samples) and math.isfinite(reference) and samples >= 0 and reference > 0):
        raise ValueError(
            f"samples are 0 or more, against a reference above 0; found {samples:g} against {reference:g}"
        )


def sees(seen_by: Collection[str] | None, ray_kind: str) -> bool:
    """Whether a ray of this kind sees what is visible to `seen_by`; None means that nothing was
    restricted.

    >>> sees({"camera", "reflection"}, "Camera"), sees(set(), "camera"), sees(None, "camera")
    (True, False, True)
    """
    if seen_by is None:
        return True
    kinds = {kind.casefold() for kind in seen_by}
    return bool(kinds & EVERY_KIND) or ray_kind.casefold() in kinds


def named_kinds(seen_by: Iterable[Collection[str] | None]) -> list[str]:
    """Every kind of ray that is named, lower case, in alphabetical order; "*" and "all" name none.

    >>> named_kinds([{"camera", "Reflection"}, None, {"all"}])
    ['camera', 'reflection']
    """
    kinds = {kind.casefold() for collection in seen_by if collection is not None for kind in collection}
    return sorted(kinds - EVERY_KIND)
