"""The cut order of a sequence: as sequence.yaml lists it, as a cut file has it, or as the folders are called."""

from __future__ import annotations

import os
from bisect import bisect_left
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from samelight.drift.words import first_names
from samelight.sequence.members import Members, members_of
from samelight.sequence.troubles import Trouble
from samelight.sheets.folder_files import SEQUENCE_FILE
from samelight.sheets.sequence import SequenceFile, is_safe_name, listed_shots
from samelight.sheets.shot_lists import NamedShots, UnorderedShots, unknown_shots
from samelight.sources.cut.cuts import Cut, ShotNames

_NAMED = 40
"""Shots that a sentence names."""


@dataclass(frozen=True, slots=True)
class CutOrder:
    """The shots in cut order and by set-up, what is wrong with them, and what it was made of."""

    sequence: SequenceFile
    cut: Cut | None
    listed: tuple[list[str], str]
    shots: tuple[str, ...]
    troubles: tuple[Trouble, ...]
    members: Members

    def still_lists(self, shots: Iterable[str]) -> bool:
        """Whether of these shots still those have a folder that had one when it was made."""
        listed, unreadable = self.listed
        return not unreadable and all(
            (listed[place : place + 1] == [shot]) == os.path.isdir(f"{self.sequence.folder}/shots/{shot}")  # noqa: PTH112 - as they are listed
            for shot in shots
            for place in (bisect_left(listed, shot),)
        )


def cut_order(
    sequence: SequenceFile,
    cut: Cut | None,
    known: CutOrder | None = None,
    listed: tuple[list[str], str] | None = None,
) -> CutOrder:
    """The cut order, with the `cut` where it comes from a file; `known` itself where nothing it hangs on changed. `listed` is
    what `listed_shots` gives, where that is known."""
    listed = listed or listed_shots(sequence.folder)
    if known and known.sequence is sequence and known.cut is cut and known.listed == listed:
        return known
    on_disk, unreadable = listed
    troubles: list[Trouble] = []
    if unreadable:
        troubles.append(Trouble(f"The folder of all shots cannot be read: {unreadable}.", failed=True))
    if sequence.cut:
        shots = sequence.cut
    elif cut is not None:
        shots = shots_in(cut, on_disk, troubles)
    else:
        shots = tuple(on_disk) if sequence.cut_file is None else UnorderedShots(on_disk)
    in_cut = set(shots)
    outside = [shot for shot in on_disk if shot not in in_cut]
    if outside:
        troubles.append(Trouble(f"Not in the cut, and so not shown: {first_names(outside, _NAMED)}."))
    named_shots = NamedShots(shots)
    key_shots = [sequence.key_shot, *(setup.key_shot for setup in sequence.setups.values())]
    named = {"pins": list(sequence.pinned), "calls the key shot": [shot or "" for shot in key_shots]}
    for verb, names in named.items():
        for shot in names:
            if shot and shot not in in_cut:
                near = named_shots.nearest(shot)
                hint = f" (did you mean {near}?)" if near else ""
                troubles.append(Trouble(f"{SEQUENCE_FILE} {verb} {shot}, which is not in the cut{hint}."))
    unknown = unknown_shots(sequence.lighters, named_shots, sequence.where)
    troubles.extend(Trouble(f"{says}.") for says in unknown)
    members = members_of(sequence, shots, named_shots)
    return CutOrder(sequence, cut, listed, shots, (*troubles, *members.troubles), members)


def shots_in(cut: Cut, on_disk: Sequence[str], troubles: list[Trouble]) -> tuple[str, ...]:
    """The shots of a cut file, each at its first use: by folder where a clip, or its reel, is of one, else by name."""
    known, there = ShotNames(on_disk), set(on_disk)
    named = [known.of(use.clip) or (use.reel if use.reel in there else use.clip) for use in cut.uses]
    shots = [shot for shot in dict.fromkeys(named) if is_safe_name(shot)]
    unsafe = [shot for shot in dict.fromkeys(named) if not is_safe_name(shot)]
    times = Counter(named)
    repeated = [shot for shot in shots if times[shot] > 1]
    missing = [shot for shot in shots if shot not in there]
    for says, names in (
        ("used more than once, shown at the first use", repeated),
        ("without a folder in shots", missing),
        ("left out, since no shot can be called so", unsafe),
    ):
        if names:
            troubles.append(Trouble(f"In {cut.path.name}, {says}: {first_names(names, _NAMED)}."))
    return tuple(shots)
