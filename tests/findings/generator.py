"""Sequences that drift at random, with the causes known: each plant changes shots and notes what must be found there.

Truth and what is found are both sets of (finding, shot). Plants keep to groups of parameters that no other plant of the
same shot has touched, as two causes in one value leave nobody a way to tell them apart.
"""

from __future__ import annotations

import copy
import math
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

from findings.drafts import LIGHT_LIMIT, Draft, Tree, draft, master_tree
from samelight.decisions.decision import Verb
from samelight.findings.colour_transfer import srgb_decoded, srgb_encoded
from samelight.light.directions import from_azimuth_elevation

SETTABLE = ("bounce", "quay_spot", "window_fill", "rim", "lamp")
"""Lights that plants may change; the sun has plants of its own."""

COLOURED = ("bounce", "window_fill")
AIMED = ("bounce", "window_fill", "rim")


@dataclass
class Grown:
    """A sequence with its plants, and what must be found in it."""

    draft: Draft
    dice: random.Random
    truth: set[tuple[str, str]] = field(default_factory=set)
    touched: set[tuple[str, str]] = field(default_factory=set)

    @property
    def names(self) -> list[str]:
        """The shots in cut order."""
        return list(self.draft.shots)

    def free(self, groups: Sequence[str]) -> list[int]:
        """Places in the cut whose shots no plant has touched in these groups."""
        return [
            place
            for place, shot in enumerate(self.names)
            if not any((shot, group) in self.touched for group in groups)
        ]

    def claim(self, groups: Sequence[str], count: int, *, together: bool = False) -> list[str]:
        """Shots for a plant, marked as touched; fewer, or none, where there is no room."""
        free = self.free(groups)
        if together:
            starts = [place for place in free if all(place + step in free for step in range(count))]
            if not starts:
                return []
            start = self.dice.choice(starts)
            places = list(range(start, start + count))
        else:
            places = sorted(self.dice.sample(free, min(count, len(free))))
        shots = [self.names[place] for place in places]
        self.touched.update((shot, group) for shot in shots for group in groups)
        return shots

    def must(self, name: str, shots: Sequence[str]) -> None:
        """Note that a finding must name these shots."""
        self.truth.update((name, shot) for shot in shots)

    def light(self, shot: str, name: str) -> Tree:
        """A light of a shot, as it is typed."""
        light: Tree = self.draft.shots[shot]["lights"][name]
        return light

    def sign(self) -> int:
        """Plus or minus one."""
        return self.dice.choice((-1, 1))


Plant = Callable[[Grown], None]


def one_cause(grown: Grown) -> None:
    """One drifted value in several shots."""
    dice = grown.dice
    name = dice.choice(SETTABLE)
    together = dice.random() < 0.6
    shots = grown.claim([name], dice.randint(2, 5) if together else dice.randint(3, 5), together=together)
    if len(shots) < 2:
        return
    changes: dict[str, Callable[[], Any]] = {
        "exposure": lambda: round(
            grown.draft.master["lights"][name].get("exposure", 0) + grown.sign() * dice.uniform(0.2, 0.9), 3
        ),
        "position": lambda: _moved(grown, name, dice.uniform(0.3, 1.2)),
        "samples": lambda: int(grown.draft.master["lights"][name]["samples"] * dice.choice((0.75, 1.5, 2))),
    }
    for key in dice.sample(list(changes), dice.randint(1, 2)):
        value = changes[key]()
        for shot in shots:
            grown.light(shot, name)[key] = copy.deepcopy(value)
    grown.must("one-cause", shots)


def sun_moved(grown: Grown) -> None:
    """The sun turned alike in several shots, and the sky not with it."""
    shots = grown.claim(["sun", "dawn_sky"], grown.dice.randint(2, 4), together=True)
    azimuth = 131 + grown.sign() * grown.dice.uniform(3, 30)
    for number, shot in enumerate(shots):
        sun = grown.light(shot, "sun")
        del sun["azimuth"], sun["elevation"]
        if number % 2:
            sun["direction"] = [round(x, 4) for x in from_azimuth_elevation(azimuth, 24)]
        else:
            sun.update(azimuth=round(azimuth, 2), elevation=24)
    grown.must("one-cause", shots)
    grown.must("sun-sky", shots)


def behind(grown: Grown) -> None:
    """Shots that still stand on the older master."""
    groups = [*SETTABLE, "dawn_sky", "gi", "volume"]
    shots = grown.claim(groups, grown.dice.randint(1, 3))
    old = grown.draft.older[2]
    for shot in shots:
        tree = grown.draft.shots[shot]
        for section in ("lights", "environments", "render"):
            tree[section] = copy.deepcopy(old[section])
        tree["lights"]["sun"] = copy.deepcopy(grown.draft.master["lights"]["sun"])
        tree["master"] = grown.dice.choice((2, 3))
        if grown.dice.random() < 0.3:
            tree["render"]["volume"] = copy.deepcopy(grown.draft.master["render"]["volume"])
    grown.must("old-master", shots)


def renamed(grown: Grown) -> None:
    """A light under another name."""
    name = grown.dice.choice(SETTABLE)
    new = grown.dice.choice((f"{name}1", f"{name}_copy", f"old_{name}"))
    shots = grown.claim([name, "lights"], grown.dice.randint(1, 3))
    for shot in shots:
        lights = grown.draft.shots[shot]["lights"]
        lights[new] = lights.pop(name)
        if grown.dice.random() < 0.3:
            lights[new]["samples"] += 8
    grown.must("renamed", shots)


def unit_slip(grown: Grown) -> None:
    """A value typed in another unit."""
    dice = grown.dice
    kind = dice.choice(("range", "step", "radius", "position", "rotation", "softness"))
    group = {
        "range": "gi",
        "step": "volume",
        "radius": "rim",
        "position": "lamp",
        "rotation": "dawn_sky",
        "softness": "quay_spot",
    }[kind]
    shots = grown.claim([group, *(["sun"] if kind == "rotation" else [])], dice.randint(1, 2))
    for shot in shots:
        tree = grown.draft.shots[shot]
        if kind == "range":
            tree["render"]["gi"]["range"] = dice.choice((350, 3500, 11.48, 137.8))
        elif kind == "step":
            tree["render"]["volume"]["step"] = dice.choice((25, 250, 9.843))
        elif kind == "radius":
            tree["lights"]["rim"]["radius"] = dice.choice((35, 350, 13.78, 1.148))
        elif kind == "position":
            factor = dice.choice((100, 1000, 39.37))
            tree["lights"]["lamp"]["position"] = [round(factor * x, 2) for x in (0.9, 1.15, 0.6)]
        elif kind == "rotation":
            tree["environments"]["dawn_sky"]["rotation"] = round(math.radians(40), 4)
        else:
            tree["lights"]["quay_spot"]["softness"] = 20
    grown.must("unit-slip", shots)
    if kind == "rotation":
        grown.must("sun-sky", shots)


def axis_slip(grown: Grown) -> None:
    """A direction, and sometimes a place, read in other axes."""
    dice = grown.dice
    name = dice.choice(AIMED)
    shots = grown.claim([name], dice.randint(1, 2))
    slips: tuple[Callable[[list[float]], list[float]], ...] = (
        lambda v: [v[0], v[2], v[1]],
        lambda v: [v[0], v[2], -v[1]],
        lambda v: [-v[0], v[1], v[2]],
        lambda v: [v[0], v[1], -v[2]],
        lambda v: [-v[0], -v[1], -v[2]],
    )
    slip = dice.choice(slips)
    keys = dice.choice((["direction"], ["direction", "position"]))
    for shot in shots:
        light = grown.light(shot, name)
        for key in keys:
            light[key] = slip(light[key])
    grown.must("axis-slip", shots)


def colour_transfer(grown: Grown) -> None:
    """A colour typed after a transfer curve."""
    dice = grown.dice
    name = dice.choice(COLOURED)
    shots = grown.claim([name], dice.randint(1, 2))
    curve = dice.choice((srgb_decoded, srgb_encoded, lambda x: x**2.2, lambda x: x ** (1 / 2.2)))
    digits = dice.choice((2, 3, 4))
    for shot in shots:
        light = grown.light(shot, name)
        light["color"] = [round(curve(channel), digits) for channel in light["color"]]
    grown.must("colour-transfer", shots)


def default(grown: Grown) -> None:
    """A setting that fell back to its default, or that nobody set."""
    dice = grown.dice
    kind = dice.choice(("volume", "gi", "light", "unset"))
    group = {"volume": "volume", "gi": "gi", "light": "rim", "unset": "volume"}[kind]
    shots = grown.claim([group], dice.randint(1, 3))
    for shot in shots:
        tree = grown.draft.shots[shot]
        if kind == "volume":
            tree["render"]["volume"]["samples"] = 8
        elif kind == "gi":
            tree["render"]["gi"]["samples"] = 16
        elif kind == "light":
            tree["lights"]["rim"]["samples"] = 4
        else:
            del tree["render"]["volume"]["samples"]
    grown.must("at-default", shots)


def not_remade(grown: Grown) -> None:
    """Render settings that are absent, or all at their defaults."""
    kind = grown.dice.choice(("absent", "defaults"))
    shots = grown.claim(["gi"], grown.dice.randint(1, 2))
    for shot in shots:
        render = grown.draft.shots[shot]["render"]
        if kind == "absent":
            del render["gi"]
        else:
            render["gi"] = {"on": False, "range": 0, "bounces": 1, "samples": 16}
    grown.must("settings-not-remade", shots)


def gi_gap(grown: Grown) -> None:
    """The sky is no longer seen by indirect rays."""
    shots = grown.claim(["dawn_sky", "gi"], grown.dice.randint(1, 2))
    for shot in shots:
        grown.draft.shots[shot]["environments"]["dawn_sky"]["seen_by"] = ["camera", "reflection"]
    grown.must("gi-gap", shots)


def reflection_gap(grown: Grown) -> None:
    """The sky is no longer seen by reflection rays."""
    shots = grown.claim(["dawn_sky"], grown.dice.randint(1, 2))
    for shot in shots:
        grown.draft.shots[shot]["environments"]["dawn_sky"]["seen_by"] = ["camera", "indirect"]
    grown.must("reflection-gap", shots)


def sound_copies(grown: Grown) -> None:
    """Two copies of the sky that together are the one of the master."""
    shots = grown.claim(["dawn_sky"], grown.dice.randint(1, 2))
    apart = grown.dice.choice(("indirect", "reflection", "camera"))
    for shot in shots:
        skies = grown.draft.shots[shot]["environments"]
        copied = copy.deepcopy(skies["dawn_sky"])
        skies["dawn_sky"]["seen_by"] = [kind for kind in copied["seen_by"] if kind != apart]
        skies[f"dawn_sky_{apart}"] = {**copied, "seen_by": [apart]}
    grown.must("equal-copies", shots)


def links(grown: Grown) -> None:
    """Links that point elsewhere, or lost a member."""
    dice = grown.dice
    kind = dice.choice(("surface", "lost", "missing"))
    group = {"surface": "nets", "lost": "window_fill", "missing": "lamp"}[kind]
    shots = grown.claim([group], 1)
    for shot in shots:
        tree = grown.draft.shots[shot]
        if kind == "surface":
            tree["surfaces"]["nets"]["assigned_to"] = [f"/set/nets_{dice.randrange(1000)}"]
        elif kind == "lost":
            tree["lights"]["window_fill"]["light_links"] = ["/set/boat", "/char/boatman"]
        else:
            tree["lights"]["lamp"]["missing_links"] = ["/set/gone"]
    grown.must("links", shots)


def low_samples(grown: Grown) -> None:
    """Fewer than half of the samples, and not the default."""
    shots = grown.claim(["volume"], grown.dice.randint(1, 2))
    for shot in shots:
        grown.draft.shots[shot]["render"]["volume"]["samples"] = grown.dice.choice((12, 24, 40))
    grown.must("low-samples", shots)


def one_frame(grown: Grown) -> None:
    """The camera moves, or a lamp flickers, and the background is still one frame."""
    shots = grown.claim(["lamp", "passes"], grown.dice.randint(1, 2))
    for shot in shots:
        tree = grown.draft.shots[shot]
        if grown.dice.random() < 0.5:
            tree["camera"]["moves"] = True
        else:
            tree["lights"]["lamp"]["intensity"] = _flicker()
    grown.must("one-frame", shots)


def sound_frames(grown: Grown) -> None:
    """A lamp flickers, and so the background renders all frames."""
    shots = grown.claim(["lamp", "passes"], 1)
    for shot in shots:
        tree = grown.draft.shots[shot]
        tree["lights"]["lamp"]["intensity"] = _flicker()
        tree["passes"]["background"]["frames"] = "all"
    grown.must("held-frame", shots)


def hides(grown: Grown) -> None:
    """A pass hides something else."""
    shots = grown.claim(["passes"], grown.dice.randint(1, 2))
    for shot in shots:
        grown.draft.shots[shot]["passes"]["background"]["hides"] = grown.dice.choice(([], ["crew", "nets"]))
    grown.must("pass-hides", shots)


def render_time(grown: Grown) -> None:
    """A test frame out of the family."""
    shots = grown.claim(["cost"], 1)
    for shot in shots:
        grown.draft.shots[shot]["cost"]["test_frame"] *= grown.dice.uniform(2.2, 5)
    grown.must("render-time", shots)


def cut_jump(grown: Grown) -> None:
    """Two neighbours on either side of the master, each inside the tolerance."""
    shots = grown.claim(["bounce"], 2, together=True)
    if len(shots) < 2:
        return
    place = grown.names.index(shots[0])
    around = [grown.names[p] for p in (place - 1, place + 2) if 0 <= p < len(grown.names)]
    grown.touched.update((shot, "bounce") for shot in around)
    way = grown.sign()
    for shot, side in zip(shots, (way, -way), strict=True):
        grown.light(shot, "bounce")["exposure"] = 0.5 + side * grown.dice.uniform(0.06, 0.095)
    grown.must("cut-jump", shots)


def light_count(grown: Grown) -> None:
    """More lights than the policy allows."""
    shots = grown.claim(["lights", *SETTABLE], 1)
    for shot in shots:
        lights = grown.draft.shots[shot]["lights"]
        for number in range(LIGHT_LIMIT - len(lights) + grown.dice.randint(1, 3)):
            place = [round(grown.dice.uniform(-3, 3), 2) for _ in range(3)]
            lights[f"kick_{number}"] = {
                "type": "sphere",
                "position": place,
                "intensity": grown.dice.uniform(0.1, 2),
            }
    grown.must("light-count", shots)


def sky_turned(grown: Grown) -> None:
    """The sky turned in one shot, and the sun did not."""
    shots = grown.claim(["dawn_sky", "sun"], 1)
    for shot in shots:
        grown.draft.shots[shot]["environments"]["dawn_sky"]["rotation"] = round(
            40 + grown.sign() * grown.dice.uniform(2, 25), 2
        )
    grown.must("sun-sky", shots)


def lapsed(grown: Grown) -> None:
    """A decision that was made on another value."""
    shots = grown.claim(["rim"], 1)
    for shot in shots:
        _nudge_level(grown, shot, "rim")
        verb = grown.dice.choice((Verb.INTEND, Verb.RETURN))
        grown.draft.decisions.append((shot, "lights.rim.level", verb, "lead", False))
    grown.must("lapsed", shots)


def contested(grown: Grown) -> None:
    """Two decisions whose makers had not seen each other's."""
    shots = grown.claim(["rim"], 1)
    for shot in shots:
        _nudge_level(grown, shot, "rim")
        for verb, who in ((Verb.INTEND, "lead"), (Verb.RETURN, "supervisor")):
            grown.draft.decisions.append((shot, "lights.rim.level", verb, who, True))
    grown.must("contested", shots)


def slow_drift(grown: Grown) -> None:
    """A level that creeps, with a little noise on it."""
    dice = grown.dice
    count = dice.randint(7, 12)
    shots = grown.claim(["window_fill"], count, together=True)
    if not shots:
        return
    place = grown.names.index(shots[0])
    around = [grown.names[p] for p in (place - 1, place + count) if 0 <= p < len(grown.names)]
    grown.touched.update((shot, "window_fill") for shot in around)
    step = grown.sign() * dice.uniform(0.03, 0.07)
    for number, shot in enumerate(shots, 1):
        grown.light(shot, "window_fill")["exposure"] = 1 + step * number + dice.uniform(-0.006, 0.006)
    grown.must("slow-drift", shots)


def unexplained(grown: Grown) -> None:
    """A nudge that stands for itself."""
    dice = grown.dice
    name = dice.choice(SETTABLE)
    shots = grown.claim([name], 1)
    for shot in shots:
        if dice.random() < 0.5:
            _nudge_level(grown, shot, name)
        else:
            grown.light(shot, name)["position"] = _moved(grown, name, dice.uniform(0.1, 1.0))
    grown.must("unexplained", shots)


def meant(grown: Grown) -> None:
    """A nudge that was said to be intended: nothing to find."""
    shots = grown.claim(["lamp"], grown.dice.randint(1, 2))
    for shot in shots:
        _nudge_level(grown, shot, "lamp")
        grown.draft.decisions.append((shot, "lights.lamp.level", Verb.INTEND, "lead", True))


def scene_change(grown: Grown) -> None:
    """A change that was said to be intended in a whole scene, of which one shot did not get it."""
    shots = grown.claim(["water", "surfaces"], 5, together=True)
    for place, shot in enumerate(shots):
        if place != 2:
            grown.draft.shots[shot]["surfaces"]["water"]["shade_area"] = 0.75
            grown.draft.decisions.append((shot, "surfaces.water.shade_area", Verb.INTEND, "lead", True))
    grown.must("lacks-approved", shots[2:3])


def respelled(grown: Grown) -> None:
    """Other spellings of the master's values, and wobble inside the tolerance: nothing to find."""
    shots = grown.claim(["gi", "quay_spot", "sun"], grown.dice.randint(2, 5))
    for shot in shots:
        tree = grown.draft.shots[shot]
        tree["render"]["gi"]["range"] = grown.dice.choice(("350 cm", 3.5, "3500 mm"))
        tree["lights"]["quay_spot"].update(intensity=1.2, exposure=1 + grown.dice.uniform(-0.04, 0.04))
        tree["lights"]["sun"].update(intensity=1.6, exposure=1)


def outdated_note(grown: Grown) -> None:
    """A sheet that names an older master and holds the values of the newest: nothing to find."""
    for shot in grown.claim(["dawn_sky", *SETTABLE], 1):
        grown.draft.shots[shot]["master"] = 2


def half_behind(grown: Grown) -> None:
    """A sheet that has two of the five changed parameters as the older master had them: it was half adopted."""
    shots = grown.claim([*SETTABLE, "dawn_sky", "volume"], 1)
    old = grown.draft.older[2]
    for shot in shots:
        tree = grown.draft.shots[shot]
        tree["lights"]["bounce"] = copy.deepcopy(old["lights"]["bounce"])
        tree["lights"]["quay_spot"] = copy.deepcopy(old["lights"]["quay_spot"])
    grown.must("old-master", shots)


def replaced(grown: Grown) -> None:
    """A light absent and another one extra, which stands elsewhere: no new name for the old."""
    name = grown.dice.choice(AIMED)
    shots = grown.claim([name, "lights"], 1)
    for shot in shots:
        lights = grown.draft.shots[shot]["lights"]
        lights[f"{name}_b"] = {
            **lights.pop(name),
            "position": _moved(grown, name, grown.dice.uniform(0.5, 2)),
        }
    grown.must("unexplained", shots)


def near_twins(grown: Grown) -> None:
    """Two shots far apart with nudges that are nearly, and not quite, one."""
    name = grown.dice.choice(SETTABLE)
    shots = grown.claim([name], 2)
    level = grown.sign() * grown.dice.uniform(0.3, 0.8)
    for number, shot in enumerate(shots):
        light = grown.light(shot, name)
        light["exposure"] = light.get("exposure", 0) + level + 0.03 * number
    grown.must("unexplained", shots)


def fewer_samples(grown: Grown) -> None:
    """Samples that differ, and are not below half of the master's."""
    shots = grown.claim(["volume"], 1)
    for shot in shots:
        grown.draft.shots[shot]["render"]["volume"]["samples"] = grown.dice.choice(
            (*range(49, 95), *range(97, 160))
        )
    grown.must("unexplained", shots)


def resized(grown: Grown) -> None:
    """A size changed by a factor that is near that of a unit, and none."""
    shots = grown.claim(["rim"], 1)
    for shot in shots:
        grown.light(shot, "rim")["radius"] = round(
            0.35 * grown.dice.choice((1.5, 1.8, 2.48, 3.1, 9.5, 11.2)), 3
        )
    grown.must("unexplained", shots)


def recoloured(grown: Grown) -> None:
    """A colour changed by hand."""
    name = grown.dice.choice(COLOURED)
    shots = grown.claim([name], 1)
    for shot in shots:
        light = grown.light(shot, name)
        light["color"] = [
            round(min(1.0, channel * grown.dice.uniform(0.75, 1.25)), 3) for channel in light["color"]
        ]
        light["color"][grown.dice.randrange(3)] *= 0.7
    grown.must("unexplained", shots)


def reaimed(grown: Grown) -> None:
    """A light that was aimed elsewhere."""
    name = grown.dice.choice(AIMED)
    shots = grown.claim([name], 1)
    for shot in shots:
        light = grown.light(shot, name)
        light["direction"] = [x + grown.dice.uniform(0.1, 0.3) * grown.sign() for x in light["direction"]]
    grown.must("unexplained", shots)


def hidden_sky(grown: Grown) -> None:
    """A sky that the camera no longer sees: neither GI nor reflections lose it."""
    shots = grown.claim(["dawn_sky"], 1)
    for shot in shots:
        grown.draft.shots[shot]["environments"]["dawn_sky"]["seen_by"] = ["indirect", "reflection"]
    grown.must("unexplained", shots)


def doubled_sky(grown: Grown) -> None:
    """A second sky that every ray sees beside the first: twice the light, and not sound."""
    shots = grown.claim(["dawn_sky"], 1)
    for shot in shots:
        skies = grown.draft.shots[shot]["environments"]
        skies["dawn_sky_2"] = copy.deepcopy(skies["dawn_sky"])
    grown.must("duplicate", shots)


def relinked(grown: Grown) -> None:
    """A light that lights one thing more, which other lights light too."""
    shots = grown.claim(["rim"], 1)
    for shot in shots:
        grown.light(shot, "rim")["light_links"] = ["/char/boatman", "/set/boat"]
    grown.must("unexplained", shots)


def turned_together(grown: Grown) -> None:
    """Sun and sky turned by one angle in one shot: the two still belong together."""
    shots = grown.claim(["sun", "dawn_sky"], 1)
    turn = grown.sign() * round(grown.dice.uniform(3, 25), 1)
    for shot in shots:
        grown.light(shot, "sun")["azimuth"] += turn
        grown.draft.shots[shot]["environments"]["dawn_sky"]["rotation"] += turn
    grown.must("unexplained", shots)


def wandering(grown: Grown) -> None:
    """A level that wanders inside the tolerance and goes nowhere: nothing to find."""
    shots = grown.claim(["window_fill"], grown.dice.randint(6, 10), together=True)
    for shot in shots:
        grown.light(shot, "window_fill")["exposure"] = 1 + grown.dice.uniform(-0.045, 0.045)


PLANTS: tuple[Plant, ...] = (
    one_cause,
    sun_moved,
    behind,
    renamed,
    unit_slip,
    axis_slip,
    colour_transfer,
    default,
    not_remade,
    gi_gap,
    reflection_gap,
    sound_copies,
    links,
    low_samples,
    one_frame,
    sound_frames,
    hides,
    render_time,
    cut_jump,
    light_count,
    sky_turned,
    lapsed,
    contested,
    slow_drift,
    unexplained,
    meant,
    respelled,
    outdated_note,
    half_behind,
    replaced,
    near_twins,
    fewer_samples,
    resized,
    recoloured,
    reaimed,
    hidden_sky,
    doubled_sky,
    relinked,
    turned_together,
    wandering,
)

ALIKE = frozenset({half_behind, doubled_sky, hidden_sky, relinked, light_count})
"""Plants that leave the same values wherever they are put: a second one would make one cause of the two."""


def grow(seed: int, shots: int = 30, plants: int = 20, chosen: Sequence[Plant] = PLANTS) -> Grown:
    """A sequence with so many plants, drawn from `chosen`; the same seed gives the same sequence."""
    dice = random.Random(seed)
    grown = Grown(draft(shots, _varied_master(dice)), dice)
    grown.draft.older[2] = _older(grown.draft.master, dice)
    grown.draft.older[1] = _older(grown.draft.older[2], dice)
    for number, master in enumerate(grown.draft.older.values()):
        master["version"] = 2 - number
    for tree in grown.draft.shots.values():
        tree["cost"]["test_frame"] = round(1100 * dice.uniform(0.92, 1.08))
    planted: set[Plant] = set()
    for plant in dice.choices(chosen, k=plants):
        if plant not in ALIKE or plant not in planted:
            plant(grown)
            planted.add(plant)
    if chosen is PLANTS:
        scene_change(grown)  # last, where it takes no room that others find by chance
    return grown


def _varied_master(dice: random.Random) -> Tree:
    tree = master_tree()
    for name in SETTABLE:
        light = tree["lights"][name]
        light["samples"] = dice.choice((16, 24, 32, 48))
    for name in COLOURED:
        tree["lights"][name]["color"] = [round(dice.uniform(0.15, 0.95), 2) for _ in range(3)]
    return tree


def _older(master: Tree, dice: random.Random) -> Tree:
    """A master that differs in a handful of parameters."""
    tree = copy.deepcopy(master)
    tree["lights"]["bounce"]["exposure"] = round(
        master["lights"]["bounce"]["exposure"] - dice.uniform(0.2, 0.6), 2
    )
    tree["lights"]["quay_spot"]["temperature"] = f"{dice.randint(2300, 2500)} K"
    tree["environments"]["dawn_sky"]["rotation"] = master["environments"]["dawn_sky"][
        "rotation"
    ] - dice.randint(4, 9)
    tree["environments"]["dawn_sky"]["intensity"] = round(
        master["environments"]["dawn_sky"]["intensity"] * 0.85, 3
    )
    tree["render"]["volume"]["samples"] = int(master["render"]["volume"]["samples"] * 2 / 3)
    return tree


def _moved(grown: Grown, name: str, far: float) -> list[float]:
    way = from_azimuth_elevation(grown.dice.uniform(0, 360), grown.dice.uniform(-60, 60))
    place: list[Any] = grown.draft.master["lights"][name]["position"]
    return [round(x + far * step, 3) for x, step in zip(place, way, strict=True)]


def _nudge_level(grown: Grown, shot: str, name: str) -> None:
    light = grown.light(shot, name)
    light["exposure"] = round(light.get("exposure", 0) + grown.sign() * grown.dice.uniform(0.15, 1.2), 4)


def _flicker() -> Tree:
    return {"keys": [[1001, 0.3], [1030, 0.31], [1060, 0.293], [1096, 0.3]], "interpolation": "linear"}
