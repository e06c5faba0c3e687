"""Where the nodes of a glTF scene stand over time: world space, which is Y-up and in metres as it is."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from samelight.light.directions import direction_from_matrix, normalised
from samelight.light.rows import product
from samelight.sources.gltf.animation import LINEAR, STEP, Animations, Sampler
from samelight.sources.gltf.nodes import STILL, Nodes, transform
from samelight.sources.numbers import tidy
from samelight.sources.over_time import Clock, over_time

Array = NDArray[np.float64]
Read = Callable[[Sequence[Sequence[float]]], Any]

VISIBILITY = "KHR_node_visibility"


@dataclass(frozen=True, slots=True)
class Step:
    """One moving node on the way down: its own transform at a frame, after everything still above it."""

    parts: dict[str, tuple[float, ...]]
    samplers: dict[str, Sampler]

    def at(self, frame: float) -> Array:
        """The local transform at a frame."""
        values = {
            name: self.samplers[name].at(frame) if name in self.samplers else still
            for name, still in self.parts.items()
        }
        return transform(values["translation"], values["rotation"], values["scale"])


@dataclass(frozen=True, slots=True)
class NodeTrack:
    """A node's world transform over the frames of a capture."""

    clock: Clock
    steps: Sequence[Array | Step]
    """From the node itself upwards; what stands still is one matrix."""

    def at(self, frame: float) -> Array:
        """The world transform, for row vectors, at a frame."""
        world = np.eye(4)
        for step in self.steps:
            world = product(world, step.at(frame) if isinstance(step, Step) else step)
        return world

    @property
    def samplers(self) -> list[Sampler]:
        """Everything that moves the node."""
        return [one for step in self.steps if isinstance(step, Step) for one in step.samplers.values()]

    def over_time(self, read: Callable[[Array], Any], *, circle: bool = False) -> Any:
        """What `read` makes of the world transform, animated where that moves; see `over_time.over_time`."""
        samplers = self.samplers
        # One straight slide stays a straight line in the world; nothing else does.
        slides = len(samplers) == 1 and samplers[0].interpolation == LINEAR and not samplers[0].turns
        return _over_time(
            self.clock, samplers, lambda frame: read(self.at(frame)), slides and not circle, circle
        )


def _over_time(
    clock: Clock, samplers: Sequence[Sampler], read: Callable[[float], Any], even: bool, circle: bool = False
) -> Any:
    steps = bool(samplers) and all(sampler.interpolation == STEP for sampler in samplers)
    frames = {frame for sampler in samplers for frame in sampler.frames}
    return over_time(
        clock, frames, read, linear=not steps, every_frame=not (even or steps), circle=circle and not steps
    )


class NodeSpace:
    """The nodes of one scene in the world, and the values that move with them."""

    def __init__(self, nodes: Nodes, animations: Animations, clock: Clock) -> None:
        self.nodes = nodes
        self.animations = animations
        self.clock = clock

    def track(self, node: int) -> NodeTrack:
        """A node's way down from the top."""
        steps: list[Array | Step] = []
        for one in reversed(self.nodes.chain(node)):
            step = self._step(one)
            if isinstance(step, Step) or not steps or isinstance(steps[-1], Step):
                steps.append(step)
            else:
                steps[-1] = product(steps[-1], step)
        return NodeTrack(self.clock, steps)

    def _step(self, node: int) -> Array | Step:
        own = self.nodes.matrix(node)
        if own is not None:
            return own
        parts = {name: self.nodes.part(node, name) for name in STILL}
        samplers = {
            name: sampler
            for name in STILL
            if (sampler := self.animations.sampler(f"/nodes/{node}/{name}", len(STILL[name]))) is not None
        }
        if samplers:
            return Step(parts, samplers)
        return transform(parts["translation"], parts["rotation"], parts["scale"])

    def values(self, stated: Sequence[tuple[str, tuple[float, ...]]], read: Read) -> Any:
        """What `read` makes of properties, each a pointer with its value where nothing moves it; over time."""
        samplers = [self.animations.sampler(pointer, len(still)) for pointer, still in stated]

        def at(frame: float) -> Any:
            return read(
                [
                    sampler.at(frame) if sampler else still
                    for sampler, (_, still) in zip(samplers, stated, strict=True)
                ]
            )

        moving = [sampler for sampler in samplers if sampler]
        even = len(moving) == 1 and moving[0].interpolation == LINEAR
        return _over_time(self.clock, moving, at, even)

    def visible(self, node: int) -> Any:
        """Whether a node and all above it are visible, over time."""
        return self.values(
            self._stated_visible(node), lambda values: all(value[0] != 0.0 for value in values)
        )

    def is_visible(self, node: int, frame: float) -> bool:
        """Whether a node and all above it are visible at a frame."""
        stated = [
            (self.animations.sampler(pointer, 1), still) for pointer, still in self._stated_visible(node)
        ]
        return all((sampler.at(frame) if sampler else still)[0] != 0.0 for sampler, still in stated)

    def switches(self, node: int) -> list[Sampler]:
        """What switches a node, or one above it, on and off."""
        stated = [self.animations.sampler(pointer, 1) for pointer, _ in self._stated_visible(node)]
        return [sampler for sampler in stated if sampler is not None]

    def _stated_visible(self, node: int) -> list[tuple[str, tuple[float, ...]]]:
        stated: list[tuple[str, tuple[float, ...]]] = []
        for one in self.nodes.chain(node):
            at = f"nodes[{one}]"
            extension = self.nodes.asset.extension(self.nodes.nodes[one], VISIBILITY, at)
            if extension is None:
                continue
            shown = extension.get("visible", True)
            if not isinstance(shown, bool):
                self.nodes.asset.fail(
                    f"{at}.extensions.{VISIBILITY}.visible", "true or false", str(shown)[:40]
                )
            stated.append((f"/nodes/{one}/extensions/{VISIBILITY}/visible", (float(shown),)))
        return stated


def stands_at(world: Array) -> list[float]:
    """The place of a node."""
    return [tidy(float(number)) for number in world[3, :3]]


def shines_to(world: Array) -> list[float] | None:
    """Where a node's own -Z points; None where its transform leaves it no direction."""
    try:
        return [tidy(number) for number in direction_from_matrix(world.tolist())]
    except ValueError:
        return None


def lies_along(world: Array) -> list[float] | None:
    """Where a node's own +X lies; None where its transform leaves it none."""
    try:
        return [tidy(number) for number in normalised(world[0, :3].tolist())]
    except ValueError:
        return None


def faces_to(world: Array) -> list[float] | None:
    """Where a node's own +Z points; None where its transform leaves it no direction."""
    try:
        return [tidy(number) for number in normalised(world[2, :3].tolist())]
    except ValueError:
        return None
