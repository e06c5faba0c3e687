"""What a sequence folder holds, read: master setups, one sheet a shot, the policy, and what is wrong with any of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeVar

from samelight.ahead import File
from samelight.drift.policy import Policy, default_policy, read_policy
from samelight.kept import FEWEST, Kept
from samelight.reading import Reading
from samelight.sheets.errors import Fault, SamelightError, SheetError, nearest_name
from samelight.sheets.sequence import (
    SEQUENCE_FILE,
    Published,
    SequenceFile,
    is_safe_name,
    published_masters,
    published_sheets,
    read_sequence,
    shot_folders,
)
from samelight.sheets.sheet import Sheet, read_sheet, without_collection
from samelight.sheets.shot_lists import unknown_shots
from samelight.sources.cuts import Cut, read_cut, shot_of
from samelight.sources.errors import CaptureError

T = TypeVar("T")

Progress = Callable[[int, int, str], None]
"""Called with how many files are read, how many there are, and the name of the next."""


class CancelledError(SamelightError):
    """The user stopped the loading."""


@dataclass(frozen=True, slots=True)
class Trouble:
    """Something about the sequence that the user must know: what, and the shot it concerns, if one."""

    says: str
    shot: str | None = None
    faults: tuple[Fault, ...] = ()


_Stamp = tuple[int, int, int]


@dataclass(slots=True)
class _Steps:
    """The count of the files that are read, told to whoever watches."""

    total: int
    progress: Progress | None
    cancelled: Callable[[], bool] | None
    done: int = 0
    ahead: int = 0
    """How many were read before it was their turn."""

    def look(self) -> None:
        """Raise `CancelledError` where the user stopped the reading."""
        if self.cancelled is not None and self.cancelled():
            raise CancelledError("loading was stopped")

    def came(self, count: int) -> None:
        """So many more were read ahead."""
        self.ahead += count
        self._tell(self.ahead, "")

    def to(self, name: str) -> None:
        """The next file's turn has come."""
        self.look()
        if self.done >= self.ahead:
            self._tell(self.done, name)
        self.done += 1

    def end(self) -> None:
        """All are read."""
        self._tell(self.total, "")

    def _tell(self, done: int, name: str) -> None:
        if self.progress is not None:
            self.progress(done, self.total, name)


@dataclass(slots=True)
class Shelf:
    """Files already read. One is read again only when it changed on disk, or is to be read in another way."""

    _read: dict[Path, tuple[tuple[_Stamp | None, Hashable], Any]] = field(default_factory=dict)
    _listed: dict[str, Published] = field(default_factory=dict)
    kept: Kept | None = None
    """What another day left of the sequence, where it is large enough; `keep` it anew when there is time."""

    @property
    def has_sheets(self) -> bool:
        """Whether any sheet was read."""
        return any(isinstance(outcome, Sheet) for _, outcome in self._read.values())

    def published(self, folder: Path, shot: str, *, look: bool) -> Published:
        """The sheets of a shot; without `look` as they were listed last."""
        known = None if look else self._listed.get(shot)
        if known is None:
            known = self._listed[shot] = published_sheets(folder, shot)
        return known

    def get(self, path: Path, way: Hashable, read: Callable[[], T], *, look: bool = True) -> T:
        """What `read` makes of the file. Raises the `SheetError` that it raised, also when it is remembered.

        `way` is everything else that the outcome hangs on. Without `look` the file is taken to be as it was.
        """
        known = self._read.get(path)
        stamp = _stamp(path) if look or known is None else known[0][0]
        key = (stamp, way)
        if known is None or known[0] != key or stamp is None:
            outcome: T | SheetError
            try:
                outcome = read()
            except SheetError as error:
                outcome = error
            known = self._read[path] = (key, outcome)
        result: T | SheetError = known[1]
        if isinstance(result, SheetError):
            raise SheetError(result.faults)
        return result


def _stamp(path: Path) -> _Stamp | None:
    try:
        stat = path.stat()
    except OSError:
        return None
    return stat.st_mtime_ns, stat.st_size, stat.st_ino


@dataclass(frozen=True, slots=True)
class Contents:
    """A sequence folder as it was read at one moment. `master_version` is the setup that shots are held against."""

    sequence: SequenceFile
    policy: Policy
    own_policy: Policy
    shots: tuple[str, ...]
    masters: dict[int, Sheet]
    master_version: int | None
    sheets: dict[str, Sheet]
    versions: dict[str, dict[int, Path]]
    troubles: tuple[Trouble, ...]
    cut: Cut | None = None
    """The cut with its ranges, where it comes from a file."""

    @property
    def master(self) -> Sheet | None:
        """The master setup that shots are held against."""
        return None if self.master_version is None else self.masters[self.master_version]

    def read_sheet(self, shelf: Shelf, path: Path, shot: str | None, version: int) -> Sheet:
        """A sheet by the sequence's conventions and policy. Raises `SheetError`."""
        return _read_sheet(shelf, path, shot, version, Kept(self.sequence.folder, self.sequence, self.policy))


@without_collection()
def read_contents(
    folder: Path,
    shelf: Shelf,
    *,
    progress: Progress | None = None,
    cancelled: Callable[[], bool] | None = None,
    only: Collection[str] | None = None,
    reading: Reading | None = None,
) -> Contents:
    """Read a sequence folder.

    A sheet that cannot be read makes its shot a trouble and stops nothing else. `only` are the shots of which alone
    something changed since the shelf was used last, where that is known: the others are not looked at. `reading` may
    leave shots out, which then have no sheet. Raises `SheetError` when sequence.yaml or a policy is at fault, and
    `CancelledError`.
    """
    how = reading or Reading()
    policy_there = (folder / "policy.yaml").exists()
    sequence = shelf.get(folder / SEQUENCE_FILE, policy_there, lambda: read_sequence(folder))
    policy, own_policy = _policies(sequence, shelf)
    troubles: list[Trouble] = []
    cut = _cut_from_file(sequence, shelf, troubles)
    shots = _cut_order(sequence, cut, troubles)
    read = how.chosen(shots, sequence)
    is_whole = len(read) == len(shots)
    master_files = _versions(published_masters(folder), None, troubles)
    looked_at = frozenset(shots if only is None else only)
    versions = {
        shot: _versions(shelf.published(folder, shot, look=shot in looked_at), shot, troubles)
        for shot in read
    }
    steps = _Steps(len(master_files) + len(read), progress, cancelled)
    kept = Kept(folder, sequence, policy)

    def add(into: dict[Any, Sheet], key: object, path: Path, shot: str | None, version: int) -> None:
        try:
            look = shot is None or shot in looked_at
            sheet = _read_sheet(shelf, path, shot, version, kept, look=look)
        except SheetError as error:
            troubles.append(_unreadable(shot, version, error))
        else:
            into[key] = sheet
            troubles.extend(Trouble(remark, shot) for remark in sheet.remarks)

    if steps.total >= FEWEST and not shelf.has_sheets:
        shelf.kept = kept
        kept.load()
    if not is_whole:
        shelf.kept = None  # some shots are not to be kept in the place of all
    how.take_parts(kept)
    how.read_ahead(kept, _files(master_files, versions, sequence.pinned), steps.came, steps.look)
    masters: dict[int, Sheet] = {}
    for version, path in master_files.items():
        steps.to(path.name)
        add(masters, version, path, None, version)
    sheets: dict[str, Sheet] = {}
    for shot in read:
        steps.to(shot)
        chosen = _chosen_version(shot, versions[shot], sequence.pinned, troubles)
        if chosen is not None:
            add(sheets, shot, versions[shot][chosen], shot, chosen)
    steps.end()
    kept.drop_offers()
    if not is_whole:
        own_policy = Policy()  # what it names may be in the shots that were left out
    reference = _reference_version(sequence, master_files, masters, troubles)
    return Contents(
        sequence, policy, own_policy, shots, masters, reference, sheets, versions, tuple(troubles), cut
    )


def _policies(sequence: SequenceFile, shelf: Shelf) -> tuple[Policy, Policy]:
    """The program's policy with the sequence's own on top, and what is the sequence's own of it."""
    base = default_policy()
    if sequence.policy is None:
        return base, Policy()
    path = sequence.policy
    policy = shelf.get(path, "policy", lambda: read_policy(path, base))
    return policy, Policy(
        tolerances=policy.tolerances[len(base.tolerances) :], locks=policy.locks[len(base.locks) :]
    )


def _read_sheet(
    shelf: Shelf, path: Path, shot: str | None, version: int, kept: Kept, *, look: bool = True
) -> Sheet:
    given, kinds = kept.sequence.conventions, kept.policy.kinds

    def read() -> Sheet:
        return read_sheet(path, shot=shot, version=version, given=given, kinds=kinds)

    return shelf.get(
        path, (shot, version, given, kinds), lambda: kept.get(path, shot, version, read), look=look
    )


def _versions(published: Published, shot: str | None, troubles: list[Trouble]) -> dict[int, Path]:
    """The versions that count. Where two files state one, which it is must not be a chance that nobody hears of."""
    troubles.extend(
        Trouble(f"{read.name} and {other.name} are the same version: {read.name} is read.", shot)
        for read, other in published.rivals
    )
    return published.versions


def _files(
    masters: Mapping[int, Path], versions: Mapping[str, Mapping[int, Path]], pinned: Mapping[str, int]
) -> Iterator[File]:
    """The files that are to be read."""
    yield from ((path, None, version) for version, path in masters.items())
    for shot, published in versions.items():
        chosen = _chosen_version(shot, published, pinned, [])
        if chosen is not None:
            yield published[chosen], shot, chosen


def _unreadable(shot: str | None, version: int, error: SheetError) -> Trouble:
    subject = f"{shot} is unreadable" if shot else f"Master version {version} is unreadable"
    count = len(error.faults)
    more = f" (and {count - 1} more)" if count > 1 else ""
    return Trouble(f"{subject}: {error.faults[0]}{more}", shot, error.faults)


def _cut_from_file(sequence: SequenceFile, shelf: Shelf, troubles: list[Trouble]) -> Cut | None:
    """The cut that sequence.yaml names a file for; None where it names none, or one that cannot be read."""
    path, rate = sequence.cut_file, sequence.frame_rate
    if path is None:
        return None

    def read() -> Cut:
        try:
            return read_cut(path, rate)
        except CaptureError as error:
            raise SheetError([error.fault]) from None

    try:
        return shelf.get(path, rate, read)
    except SheetError as error:
        says = f"The cut cannot be read, so that shots stand in the order of their names: {error.faults[0]}"
        troubles.append(Trouble(says, faults=error.faults))
        return None


def _cut_order(sequence: SequenceFile, cut: Cut | None, troubles: list[Trouble]) -> tuple[str, ...]:
    on_disk = shot_folders(sequence.folder)
    shots = sequence.cut or (tuple(on_disk) if cut is None else _shots_in(cut, on_disk, troubles))
    listed = set(shots)
    outside = [shot for shot in on_disk if shot not in listed]
    if outside:
        troubles.append(Trouble(f"Not in the cut, and so not shown: {', '.join(outside)}."))
    named = {"pins": list(sequence.pinned), "calls the key shot": [sequence.key_shot or ""]}
    for verb, names in named.items():
        for shot in names:
            if shot and shot not in shots:
                near = nearest_name(shot, shots)
                hint = f" (did you mean {near}?)" if near else ""
                troubles.append(Trouble(f"{SEQUENCE_FILE} {verb} {shot}, which is not in the cut{hint}."))
    troubles.extend(Trouble(f"{says}.") for says in unknown_shots(sequence.lighters, shots))
    return shots


def _shots_in(cut: Cut, on_disk: Sequence[str], troubles: list[Trouble]) -> tuple[str, ...]:
    """The shots of a cut file, each at its first use: by folder where a clip, or its reel, is of one, else by name."""
    named = [
        shot_of(use.clip, on_disk) or (use.reel if use.reel in on_disk else use.clip) for use in cut.uses
    ]
    shots = [shot for shot in dict.fromkeys(named) if is_safe_name(shot)]
    unsafe = [shot for shot in dict.fromkeys(named) if not is_safe_name(shot)]
    times, there = Counter(named), set(on_disk)
    repeated = [shot for shot in shots if times[shot] > 1]
    missing = [shot for shot in shots if shot not in there]
    for says, names in (
        ("used more than once, shown at the first use", repeated),
        ("without a folder in shots", missing),
        ("left out, since no shot can be called so", unsafe),
    ):
        if names:
            troubles.append(Trouble(f"In {cut.path.name}, {says}: {', '.join(names)}."))
    return tuple(shots)


def _chosen_version(
    shot: str, versions: Mapping[int, Path], pinned: Mapping[str, int], troubles: list[Trouble]
) -> int | None:
    if not versions:
        troubles.append(Trouble(f"{shot} has no published sheet.", shot))
        return None
    pin = pinned.get(shot)
    if pin is not None and pin not in versions:
        troubles.append(Trouble(f"{shot} is pinned to version {pin}, which is not there.", shot))
        return None
    return pin if pin is not None else max(versions)


def _reference_version(
    sequence: SequenceFile, files: Mapping[int, Path], masters: Mapping[int, Sheet], troubles: list[Trouble]
) -> int | None:
    if not files:
        troubles.append(Trouble("No master setup is published yet: there is nothing to compare with."))
        return None
    wanted = sequence.master if sequence.master is not None else max(files)
    if wanted in masters:
        return wanted
    why = "cannot be read" if wanted in files else "is asked for and not there"
    troubles.append(Trouble(f"Nothing is compared: master version {wanted} {why}."))
    return None
