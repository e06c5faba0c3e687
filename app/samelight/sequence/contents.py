"""What a sequence folder holds, read: master setups, one sheet a shot, the policy, and what is wrong with any of it."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from functools import lru_cache
from itertools import chain
from pathlib import Path

from samelight.decisions.state import Versions
from samelight.drift.policy import Policy, default_policy, read_policy
from samelight.sequence.cut_order import CutOrder
from samelight.sequence.disk import Disk
from samelight.sequence.measured import Witnesses, witnesses
from samelight.sequence.members import Members
from samelight.sequence.prefetch import Prefetch
from samelight.sequence.setups import comes_from, policy_of
from samelight.sequence.shots_read import ReadBy, ShotsRead
from samelight.sequence.store import FEWEST, SheetStore
from samelight.sequence.stored import Rules, SheetFile, StoredSheet, folded_ahead
from samelight.sequence.troubles import (
    Trouble,
    rivals,
    said_of,
    without_base,
    without_master,
    without_sheet,
)
from samelight.sheets.errors import Fault, Position, SamelightError, SheetError, nearest_name
from samelight.sheets.folder_files import SEQUENCE_FILE
from samelight.sheets.garbage import without_collection
from samelight.sheets.sequence import (
    Published,
    SequenceFile,
    published_masters,
    read_sequence,
)
from samelight.sheets.setups import StatedSetUp
from samelight.sheets.sheet import Sheet
from samelight.sheets.shot_lists import Lighters
from samelight.sheets.stamps import Stamp
from samelight.sheets.trees import read_document
from samelight.sources.cut.cuts import Cut, read_cut
from samelight.sources.errors import CaptureError
from samelight.sources.limits import CUT
from samelight.sources.read_well import read_guarded

__all__ = ["CancelledError", "Contents", "Progress", "SheetStore", "Trouble", "read_contents"]

Progress = Callable[[int, int, str], None]
"""Called with how many files are read, how many there are to read, and the name of the next."""


class CancelledError(SamelightError):
    """The user stopped the loading."""


ShotFilter = Callable[[Sequence[str], SequenceFile], Collection[str]]
"""Picks shots from the cut of a sequence."""


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


@dataclass(frozen=True, slots=True)
class Contents:
    """A sequence folder as it was read at one moment. `master_version` is the setup that shots are compared with.

    Where shots are compared with several masters or against other shots, there are `setups`: of each the contents as if it
    were a sequence by itself, with its own shots, masters, policy and key shot, and the sheets of all. The whole then has
    no master of its own.
    """

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
    newest_master: int = 0
    """The newest version that is published, whether or not it can be read or is the one in use; 0 without any."""
    name: str = ""
    """Of a set-up, what it is called."""
    follows: str = ""
    """The shot that these are compared with in place of a master."""
    published: Mapping[int, Sheet] = field(default_factory=dict, compare=False)
    """The master setups of a set-up as their files have them, where `masters` are held to those of another."""
    setups: tuple[Contents, ...] = ()
    measured: Witnesses = field(default_factory=dict)
    """What was measured in the frames of its shots."""
    store: SheetStore = field(kw_only=True, compare=False, repr=False)
    """Where it was read, and where older versions of its shots are."""
    _setup_of: Mapping[str, Contents] = field(init=False, compare=False, repr=False)
    versions_held: Versions = field(init=False, compare=False, repr=False)
    """The version of the master setup that shots are compared with: one, or by shot where there are set-ups."""
    sheet_versions: Mapping[str, int] = field(init=False, compare=False, repr=False)
    """The version of each shot's sheet that was read."""

    def __post_init__(self) -> None:
        of_shots = {shot: setup for setup in self.setups for shot in setup.shots}
        held = {shot: setup.master_version for shot, setup in of_shots.items()}
        object.__setattr__(self, "_setup_of", of_shots)
        object.__setattr__(self, "versions_held", held if self.setups else self.master_version)
        versions = {shot: sheet.version for shot, sheet in self.sheets.items()}
        object.__setattr__(self, "sheet_versions", versions)

    def __eq__(self, other: object) -> bool:
        """Whether the folder held the same, also in the spelling of values: 1 is neither 1.0 nor true."""
        if not isinstance(other, Contents):
            return NotImplemented
        return (
            all(
                getattr(self, each.name) == getattr(other, each.name) for each in fields(self) if each.compare
            )
            and all(_as_typed(sheet, other.masters[version]) for version, sheet in self.masters.items())
            and all(_as_typed(sheet, other.sheets[shot]) for shot, sheet in self.sheets.items())
        )

    def __hash__(self) -> int:
        return hash((self.shots, self.master_version))

    @property
    def master(self) -> Sheet | None:
        """The master setup that shots are compared with, or the sheet of the shot that takes its place."""
        if self.follows:
            return self.sheets.get(self.follows)
        return None if self.master_version is None else self.masters[self.master_version]

    @property
    def parts(self) -> tuple[Contents, ...]:
        """The set-ups; the whole itself where it is one."""
        return self.setups or (self,)

    def setup_of(self, shot: str) -> Contents:
        """The set-up that a shot belongs to; the whole, which has no master then, for a shot of none."""
        return self._setup_of.get(shot, self)

    def setup_called(self, name: str) -> Contents | None:
        """The set-up of a name with its masters."""
        return next((setup for setup in self.parts if setup.name == name and not setup.follows), None)

    def setup_asked_for(self, name: str) -> Contents:
        """A set-up by its name, "" where the sequence states none. Raises `SamelightError`."""
        found = self.setup_called(name)
        if found is None:
            names = list(dict.fromkeys(setup.name for setup in self.parts if setup.name))
            near = nearest_name(name, names)
            hint = f"; did you mean {near}?" if near else f"; there are {', '.join(names)}" if names else ""
            raise SamelightError(f"the sequence states no set-up {name}{hint}")
        return found

    def version_held(self, shots: Iterable[str]) -> int | None:
        """The newest version of the masters that these shots are compared with."""
        versions = {self.setup_of(shot).master_version for shot in shots} or {self.master_version}
        return max((version for version in versions if version is not None), default=None)

    @property
    def has_master(self) -> bool:
        """Whether there is something that shots are compared with."""
        return any(setup.master is not None for setup in self.parts)

    @property
    def folder(self) -> Path:
        """The sequence folder."""
        return self.sequence.folder

    @property
    def lit_on(self) -> str | None:
        """The shot that the master setup was lit on, as the sequence or else the master says."""
        stated = self.master.typed.get("key_shot") if self.master is not None else None
        return self.sequence.key_shot or (str(stated) if stated else None)

    @property
    def rules(self) -> Rules:
        """What its sheets are read by."""
        return Rules(self.sequence.conventions, self.policy.kinds)

    @property
    def disk(self) -> Disk:
        """Where it is kept for another day."""
        return Disk(self.sequence.folder, self.rules)

    @property
    def all_sheets(self) -> list[Sheet]:
        """The master setups as their files have them, then those of the shots."""
        own = (part for part in self.parts if not part.follows)
        masters = (sheet for part in own for sheet in (part.published or part.masters).values())
        return [*masters, *self.sheets.values()]

    def read_sheet(self, path: Path, shot: str | None, version: int) -> Sheet:
        """Any sheet of the folder, as its own were read. Raises `SheetError`."""
        return self.store.sheet(SheetFile(path, shot, version, self.rules)).value


def _as_typed(one: Sheet, other: Sheet) -> bool:
    return one is other or repr(dict(one.typed)) == repr(dict(other.typed))


@without_collection()
def read_contents(
    store: SheetStore,
    *,
    progress: Progress | None = None,
    cancelled: Callable[[], bool] | None = None,
    only: Collection[str] | None = None,
    shots: ShotFilter | None = None,
    prefetch: Prefetch | None = None,
) -> Contents:
    """Read the sequence folder of a store.

    A sheet that cannot be read makes its shot a trouble and stops nothing else. `only` are the shots of which alone
    something changed since the store was used last, where that is known: the others are not looked at, unless they are
    to be read in another way. `shots` picks from the cut those that alone are read, beside the master setups and the key
    shot; the others then have no sheet. Raises `SheetError` when sequence.yaml or a policy is at fault, what `shots`
    raises, and `CancelledError`.
    """
    sequence = _sequence(store)
    policy, own_policy = _policies(sequence, store)
    troubles = [*store.of_scenes, *_of_views(sequence)]
    cut = _cut_from_file(sequence, store, troubles)
    order = store.order(sequence, cut, only)
    read = order.shots if shots is None else _asked(order, sequence, shots)
    rules = Rules(sequence.conventions, policy.kinds)
    listed = _listed_masters(store, order.members, rules)
    by = ReadBy(order, rules, {name: listed.newest(name) for name in order.members.shots})
    known = _known(store, by) if only is not None and shots is None else None
    looked = read if known is None else [shot for shot in only or () if shot in known.versions]
    _list_shots(listed, store, sequence, rules, looked, only)
    of_masters = [file for masters in listed.masters.values() for file in masters.values()]
    steps = _Steps(len(of_masters) + len(looked) - len(listed.known), progress, cancelled)
    files = [*of_masters, *listed.sheets.values()]
    if len(of_masters) + len(read) >= FEWEST and files and store.is_empty:
        store.load(files)
    if prefetch is not None:
        prefetch(store, Disk(store.folder, rules), files, steps.came, steps.look)
    masters, of_these = _masters(store, listed, steps)
    shots_read = _sheets(store, listed, steps, by)
    steps.end()
    if known is not None:
        shots_read = known.with_anew(shots_read)
    if shots is None:
        store.shots_read = shots_read
    troubles += [*order.troubles, *listed.rivals(), *shots_read.in_order(shots_read.rivals)]
    troubles += [*of_these, *shots_read.in_order(shots_read.said)]
    measured, said = witnesses(store, shots_read.sheets)
    troubles += said
    of_one, one = masters.get("", {}), order.members.is_one
    is_whole = len(read) == len(order.shots)
    found = Contents(
        sequence,
        policy,
        own_policy if is_whole else Policy(),  # what it names may be in a shot left out
        order.shots,
        of_one if one else {},
        _reference_version(sequence, listed.setups[""], of_one, troubles) if one else None,
        shots_read.sheets,
        shots_read.versions,
        (),
        cut,
        max(map(listed.newest, listed.masters)),
        measured=measured,
        store=store,
    )
    setups = () if one else _setups(found, listed, masters, order.members, troubles, is_whole)
    return replace(found, setups=setups, troubles=tuple(troubles))


def _known(store: SheetStore, by: ReadBy) -> ShotsRead | None:
    """The shots as they were read last, where they would be read in the same way again."""
    known = store.shots_read
    return known if known is not None and known.by.is_as(by) else None


def _asked(order: CutOrder, sequence: SequenceFile, shots: ShotFilter) -> tuple[str, ...]:
    """The shots of the cut that are read: those that are picked, with the key shots and what any of them is compared with."""
    asked = {*shots(order.shots, sequence), *key_shots(sequence)}
    asked |= {other for shot, other in order.members.follows.items() if shot in asked}
    return tuple(shot for shot in order.shots if shot in asked)


def key_shots(sequence: SequenceFile) -> list[str | None]:
    """The key shot of each set-up."""
    return [sequence.key_shot, *(setup.key_shot for setup in sequence.setups.values())]


def _setups(
    whole: Contents,
    listed: _Listed,
    masters: Mapping[str, dict[int, Sheet]],
    members: Members,
    troubles: list[Trouble],
    is_whole: bool,
) -> tuple[Contents, ...]:
    """Each set-up as contents of its own, followed by those of its shots that are compared with another shot."""
    found: dict[str, Contents] = {}
    stated = whole.sequence.setups
    depths = _depths(members.shots, stated)
    for name in sorted(members.shots, key=depths.__getitem__):
        setup = stated.get(name)
        base = found.get(setup.base or "") if setup is not None else None
        sequence, policies = whole.sequence, (whole.policy, whole.own_policy)
        if setup is not None:
            sequence = replace(sequence, key_shot=setup.key_shot, master=setup.master)
            above = base or whole
            policies = policy_of(setup, (above.policy, above.own_policy), whole.store)
        of_this = masters.get(name, {})
        published: Mapping[int, Sheet] = {}
        if base is not None and setup is not None:
            published = of_this
            of_this = comes_from(setup, of_this, base.master, whole.store)
            if base.master is None:
                troubles.append(without_base(name, base.name))
        version = _reference_version(sequence, listed.setups[name], of_this, troubles, name)
        found[name] = replace(
            whole,
            sequence=sequence,
            policy=policies[0],
            own_policy=policies[1] if is_whole else Policy(),
            shots=members.shots[name],
            masters=of_this,
            master_version=version,
            newest_master=listed.newest(name),
            name=name,
            published=published,
        )
    return tuple(part for name in members.shots for part in _parts(found[name], members.follows, troubles))


def _parts(setup: Contents, follows: Mapping[str, str], troubles: list[Trouble]) -> Iterator[Contents]:
    """A set-up with the shots that are compared with its master, then those of its shots that are compared with another."""
    own, following = _by_reference(setup.shots, follows)
    yield replace(setup, shots=tuple(own))
    for other, held in following.items():
        yield replace(setup, shots=tuple(held), masters={}, follows=other)
        if other not in setup.sheets:
            troubles += [
                Trouble(f"{shot} is compared with {other}, which has no readable sheet.", unheld=True)
                for shot in held
            ]


def _by_reference(shots: Sequence[str], follows: Mapping[str, str]) -> tuple[list[str], dict[str, list[str]]]:
    """The shots that are compared with the master, and by other shot those that are compared with that, all in cut order."""
    own: list[str] = []
    held: dict[str, list[str]] = {}
    for shot in shots:
        (held.setdefault(follows[shot], []) if shot in follows else own).append(shot)
    return own, held


def _depths(names: Iterable[str], stated: Mapping[str, StatedSetUp]) -> dict[str, int]:
    """How many set-ups each set-up comes from."""
    depths: dict[str, int] = {}
    for name in names:
        way: list[str] = []
        at: str | None = name
        while at is not None and at not in depths:
            way.append(at)
            at = stated[at].base if at in stated else None
        depth = -1 if at is None else depths[at]
        for one in reversed(way):
            depth += 1
            depths[one] = depth
    return depths


def _masters(
    store: SheetStore, listed: _Listed, steps: _Steps
) -> tuple[dict[str, dict[int, Sheet]], list[Trouble]]:
    """The master setups that can be read, by the names of set-ups, and what there is to say of all."""
    found: dict[str, dict[int, Sheet]] = {}
    troubles: list[Trouble] = []
    for name, files in listed.masters.items():
        masters = found[name] = {}
        for version, file in files.items():
            steps.to(file.path.name)
            outcome = store.sheet(file).outcome
            if isinstance(outcome, Sheet):
                masters[version] = outcome
            troubles += said_of(outcome, None, version)
    return found, troubles


def _sheets(store: SheetStore, listed: _Listed, steps: _Steps, by: ReadBy) -> ShotsRead:
    """The sheets of the shots that are listed, and what there is to say of them."""
    found = ShotsRead(by)
    left, pinned = by.order.members.left, by.order.sequence.pinned
    newest_for = by.newest_for()
    missing = folded_ahead(store.missing(listed.sheets.values()))
    following = next(missing, None)
    for shot, published in listed.published.items():
        found.versions[shot] = published.versions
        if published.rivals:
            found.rivals[shot] = rivals(published, shot)
        stored = listed.known.get(shot)
        if stored is None:
            steps.to(shot)
            if shot not in listed.sheets:
                found.said[shot] = [without_sheet(shot, published, pinned.get(shot))]
                continue
            file = listed.sheets[shot]
            if file is following:
                following = next(missing, None)
            stored = store.sheet(file)
        outcome = _of_no_master(stored, newest_for(shot)) or stored.outcome
        if isinstance(outcome, Sheet) and shot not in left:
            found.sheets[shot] = outcome
        if said := said_of(outcome, shot, stored.way.version):
            found.said[shot] = [*said]
    return found


def common_policy(path: Path | None) -> Policy:
    """The policy of a production on top of the program's. Raises `SheetError`."""
    return default_policy() if path is None else read_policy(path, default_policy())


def _policies(sequence: SequenceFile, store: SheetStore) -> tuple[Policy, Policy]:
    """The program's policy with the sequence's own on top, and what is the sequence's own of it."""
    base, common = default_policy(), store.rules_above().policy
    if common is not None:
        base = store.get(common, "common policy", lambda: common_policy(common)).value
    if sequence.policy is None:
        return base, Policy()
    path, under = sequence.policy, base
    policy = store.get(path, ("policy", under), lambda: read_policy(path, under)).value
    return policy, Policy(
        tolerances=policy.tolerances[len(base.tolerances) :],
        locks=policy.locks[len(base.locks) :],
        defaults=policy.defaults[len(base.defaults) :],
    )


def _sequence(store: SheetStore) -> SequenceFile:
    folder, policy = store.folder, store.policy
    path = folder / SEQUENCE_FILE
    try:
        way = ((folder / "policy.yaml").exists(), policy)
        stated = store.get(path, way, lambda: read_sequence(folder, policy)).value
        common = store.rules_above().lighters
        return stated if not common else store.made(path, (stated, common), _with_lighters)
    except SheetError:
        store.forget(path)  # a file that it names may be what is missing, and come
        raise


def _with_lighters(stated: SequenceFile, common: Lighters) -> SequenceFile:
    """A sequence with what the production says of who lights it, where it does not say so itself."""
    return replace(stated, lighters={**common, **stated.lighters})


@dataclass(frozen=True, slots=True)
class _Listed:
    """The files of a sequence folder: what is published, which of it is known already, and which sheets are to be read.

    What is of master setups is by the names of set-ups.
    """

    setups: dict[str, Published]
    masters: dict[str, dict[int, SheetFile]]
    published: dict[str, Published] = field(default_factory=dict)
    sheets: dict[str, SheetFile] = field(default_factory=dict)
    known: dict[str, StoredSheet] = field(default_factory=dict)

    def newest(self, name: str) -> int:
        """The newest version of the master setups of a set-up; 0 without any."""
        return max(self.masters.get(name, ()), default=0)

    def rivals(self) -> list[Trouble]:
        """What there is to say of master setups that state one version."""
        return [*chain.from_iterable(rivals(one, None) for one in self.setups.values())]


def _listed_masters(store: SheetStore, members: Members, rules: Rules) -> _Listed:
    setups = published_masters(store.folder, members.shots)
    masters = {
        name: {version: SheetFile(path, None, version, rules) for version, path in one.versions.items()}
        for name, one in setups.items()
    }
    return _Listed(setups, masters)


def _list_shots(
    listed: _Listed,
    store: SheetStore,
    sequence: SequenceFile,
    rules: Rules,
    shots: Iterable[str],
    only: Collection[str] | None,
) -> None:
    for shot in shots:
        look = only is None or shot in only
        published = listed.published[shot] = store.published(shot, look=look)
        version = sequence.pinned.get(shot) or max(published.versions, default=0)
        path = published.versions.get(version)
        if path is None:
            continue
        way = (
            path,
            shot,
            version,
            rules,
        )  # made a file only where it is to be read: a film is looked at all the time
        known = store.known(path, way, look=look)
        if known is not None:
            listed.known[shot] = known
        else:
            listed.sheets[shot] = SheetFile(*way)


def _of_no_master(stored: StoredSheet, newest: int) -> SheetError | None:
    """What is wrong with a sheet that says it was built on a master setup that was never published, if it does."""
    sheet = stored.outcome
    if isinstance(sheet, SheetError) or not newest or sheet.master is None or 0 < sheet.master <= newest:
        return None  # an older one may have been put away since
    line, column = _place_of_master(stored.path, stored.stamp) or (None, None)
    expected = f"the version of a published master setup, {newest} at most"
    found = f"version {sheet.master}, which was never published"
    return SheetError([Fault(str(stored.path), "master", expected, found, line, column)])


@lru_cache(maxsize=256)
def _place_of_master(path: Path, stamp: Stamp | None) -> Position | None:  # noqa: ARG001 - a key of the cache
    """Where a sheet, as it was with this stamp, says which master setup it was built on."""
    try:
        return read_document(path).faults.locate(("master",))
    except SheetError:
        return None


def _of_views(sequence: SequenceFile) -> list[Trouble]:
    """What is wrong with the colour config that a sequence names, if it names one."""
    if not sequence.ocio:
        return []
    from samelight.sequence.colour_views import config_troubles  # what reads pictures, for a config alone

    return config_troubles(sequence)


def _cut_from_file(sequence: SequenceFile, store: SheetStore, troubles: list[Trouble]) -> Cut | None:
    """The cut that sequence.yaml names a file for; None where it names none, or one that cannot be read."""
    path, rate = sequence.cut_file, sequence.frame_rate
    if path is None:
        return None

    def read() -> Cut:
        try:
            return read_guarded(path, CUT, read_cut, path, rate)
        except CaptureError as error:
            raise SheetError([error.fault]) from None

    try:
        return store.get(path, rate, read).value
    except SheetError as error:
        says = f"The cut cannot be read, so that shots stand in the order of their names and no run of them is known: {error.faults[0]}"
        troubles.append(Trouble(says, faults=error.faults))
        return None


def _reference_version(
    sequence: SequenceFile,
    setups: Published,
    masters: Mapping[int, Sheet],
    troubles: list[Trouble],
    name: str = "",
) -> int | None:
    files = setups.versions
    nothing = f"Nothing of {name} is compared" if name else "Nothing is compared"
    if setups.unreadable:
        says = f"{nothing}: the folder of master setups cannot be read: {setups.unreadable}."
        troubles.append(Trouble(says, unheld=bool(name)))
        return None
    if not files:
        troubles.append(without_master(sequence.folder, sequence.key_shot, name))
        return None
    wanted = sequence.master if sequence.master is not None else max(files)
    if wanted in masters:
        return wanted
    why = "cannot be read" if wanted in files else "is asked for and not there"
    troubles.append(Trouble(f"{nothing}: master version {wanted} {why}.", unheld=bool(name)))
    return None
