"""What earlier formats called things, and files of them brought up to today's format: one function a step.

Every file of a user's states its format, and is read for good. A step takes the tree of one version to the next and
changes nothing that it was given. What a step renamed is told by place, so that a fault names what the file says.

Format 2 calls seven things by other names than format 1, and findings and states by what they are about.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from fnmatch import fnmatchcase
from typing import Any

from samelight.sheets.errors import Faults, Found, Place
from samelight.sheets.patterns import may_match
from samelight.sheets.vocabulary import FORMAT_VERSION

_SEEN = {"visible_to": "seen_by"}
_LIT = {**_SEEN, "links": "light_links"}
NAMES: Mapping[str, Mapping[str, str]] = {
    "lights": _LIT,
    "environments": _LIT,
    "surfaces": {
        **_SEEN,
        "links": "assigned_to",
        "shading_rate": "shade_area",
        "reflection_rays": "reflection_samples",
    },
    "passes": _SEEN,
}
"""By section, what format 1 called the parameters of a group."""

GI_RAYS, GI_SAMPLES = "gi.rays", "gi.samples"
"""What format 1 called the samples of global illumination, within the section `render`."""

WORDS: Mapping[str, Mapping[str, str]] = {"frames": {"one": "held"}}
"""By the name of a parameter, what format 1 called its words."""

FINDINGS: Mapping[str, str] = {
    "sound-copies": "equal-copies",
    "sound-frames": "held-frame",
    "hides": "pass-hides",
    "behind": "old-master",
    "not-remade": "settings-not-remade",
    "default": "at-default",
}
"""What format 1 called findings."""

STATES: Mapping[str, str] = {
    "open": "undecided",
    "returned": "sent back",
    "lapsed": "asks again",
    "contested": "two opinions",
}
"""What format 1 called states."""

Tree = Mapping[str, Any]
Renamed = dict[Place, Place]
"""Places of a new tree with what they were called in the file."""

Step = Callable[[Tree, Renamed], dict[str, Any]]


def parameter(name: str) -> str:
    """The full name of a parameter, or of a finding's case, by its name in format 1.

    >>> parameter("surfaces.nets.links"), parameter("render.gi.rays"), parameter("findings.behind")
    ('surfaces.nets.assigned_to', 'render.gi.samples', 'findings.old-master')
    """
    section, _, rest = name.partition(".")
    if section == "findings":
        finding, dot, subject = rest.partition(".")
        return f"{section}.{FINDINGS.get(finding, finding)}{dot}{subject}"
    if section == "render":
        return f"{section}.{GI_SAMPLES}" if rest == GI_RAYS else name
    group, dot, leaf = rest.partition(".")
    return f"{section}.{group}.{NAMES[section].get(leaf, leaf)}" if dot and section in NAMES else name


def patterns(pattern: str) -> tuple[str, ...]:
    """The patterns that together mean what one of format 1 did.

    >>> patterns("lights.*.links"), patterns("*.links")[1:], patterns("render.gi.*")
    (('lights.*.light_links',), ('*.light_links', '*.assigned_to'), ('render.gi.*',))
    """
    if pattern.startswith("findings."):
        return (parameter(pattern),)
    before, dot, last = pattern.rpartition(".")
    meant = [(section, old, new) for section, names in NAMES.items() for old, new in names.items()]
    if before.endswith("gi"):
        meant.append(("render", "rays", "samples"))
    found = [
        (old, f"{before}.{new}" if dot else f"{section}.*.{new}")
        for section, old, new in meant
        if may_match(pattern, section) and fnmatchcase(old, last) and not fnmatchcase(new, last)
    ]
    is_one = bool(found) and found[0][0] == last and "*" not in pattern.partition(".")[0]
    return tuple(dict.fromkeys([*(() if is_one else (pattern,)), *(new for _, new in found)]))


def _word(name: str, value: Any) -> Any:
    """A typed or bound value of a parameter, animated or not, in the words of format 2."""
    words = WORDS.get(name.rpartition(".")[2])
    if words is None:
        return value
    if isinstance(value, Mapping) and isinstance(value.get("keys"), list):
        keys = [
            [key[0], words.get(key[1], key[1]) if isinstance(key[1], str) else key[1]]
            if isinstance(key, list) and len(key) == 2
            else key
            for key in value["keys"]
        ]
        return {**value, "keys": keys}
    return words.get(value, value) if isinstance(value, str) else value


def _named(group: Tree, names: Mapping[str, str], place: Place, renamed: Renamed) -> Tree:
    """A mapping with its keys by these names, in their order; itself where none of them stands there.

    What has the new name already is the user's own, and is called own.
    """
    if not (names.keys() & group.keys()):
        return group
    taken = {names[name] for name in group if name in names}
    result: dict[str, Any] = {}
    for name, value in group.items():
        new = names.get(name, f"own_{name}" if name in taken else name)
        if new != name:
            renamed[(*place, new)] = (*place, name)
        result[new] = value
    return result


def _sheet_from_1(tree: Tree, renamed: Renamed) -> dict[str, Any]:
    new = dict(tree)
    for section, names in NAMES.items():
        groups = tree.get(section)
        if isinstance(groups, Mapping):
            new[section] = {
                name: _named(group, names, (section, name), renamed) if isinstance(group, Mapping) else group
                for name, group in groups.items()
            }
    passes = new.get("passes")
    if isinstance(passes, Mapping):
        new["passes"] = {
            name: {leaf: _word(leaf, value) for leaf, value in group.items()}
            if isinstance(group, Mapping)
            else group
            for name, group in passes.items()
        }
    render = tree.get("render")
    if isinstance(render, Mapping) and isinstance(render.get("gi"), Mapping):
        new["render"] = {**render, "gi": _named(render["gi"], {"rays": "samples"}, ("render", "gi"), renamed)}
    return new


def _policy_from_1(tree: Tree, renamed: Renamed) -> dict[str, Any]:
    new = dict(tree)
    for key in ("tolerances", "kinds", "defaults"):
        stated = tree.get(key)
        if isinstance(stated, Mapping):
            new[key] = {}
            for pattern, value in stated.items():
                # A pattern without a dot names a kind, where it is a tolerance's.
                for meant in patterns(pattern) if key != "tolerances" or "." in pattern else (pattern,):
                    renamed[(key, meant)] = (key, pattern)
                    new[key][meant] = _word(meant, value) if key == "defaults" else value
    locks = tree.get("locks")
    if isinstance(locks, list):
        new["locks"] = []
        for index, lock in enumerate(locks):
            pattern = lock.get("pattern") if isinstance(lock, Mapping) else lock
            for meant in patterns(pattern) if isinstance(pattern, str) else (pattern,):
                renamed["locks", len(new["locks"])] = ("locks", index)
                new["locks"].append({**lock, "pattern": meant} if isinstance(lock, Mapping) else meant)
    findings = tree.get("findings")
    if isinstance(findings, Mapping):
        new["findings"] = _named(findings, FINDINGS, ("findings",), renamed)
    return new


def _decision_from_1(tree: Tree, renamed: Renamed) -> dict[str, Any]:
    new, about = dict(tree), tree.get("parameter")
    if isinstance(about, str):
        new["parameter"] = parameter(about)
        for side in ("value", "master"):
            if side in tree:
                new[side] = _bound(about, tree[side])
    return new


def _bound(about: str, value: Any) -> Any:
    """What a decision on a parameter is bound to: its value, or several by name."""
    named = value.get("values") if isinstance(value, Mapping) else None
    if not isinstance(named, Mapping):
        return _word(about, value)
    names = NAMES.get(about.partition(".")[0], {})
    return {
        "values": {
            names.get(name, parameter(name)) if isinstance(name, str) else name: _word(str(name), one)
            for name, one in named.items()
        }
    }


def _view_from_1(tree: Tree, renamed: Renamed) -> dict[str, Any]:
    new = dict(tree)
    for key in ("expanded", "pinned", "hidden_rows", "together"):
        names = tree.get(key)
        if isinstance(names, list):
            new[key] = [parameter(name) if isinstance(name, str) else name for name in names]
    if tree.get("rows") == "what is open":
        new["rows"] = "what is undecided"
    if isinstance(tree.get("filter"), str):
        for old, name in {**_SEEN, **NAMES["surfaces"]}.items():
            if old != "links":  # which new names hold as well
                new["filter"] = new["filter"].replace(old, name)
    return new


def _check_from_1(tree: Tree, renamed: Renamed) -> dict[str, Any]:
    new = dict(tree)
    if isinstance(tree.get("cells"), list):
        new["cells"] = [_cell_from_1(cell) for cell in tree["cells"]]
    if isinstance(tree.get("findings"), list):
        new["findings"] = [
            {**finding, "cases": [_cell_from_1(case) for case in finding["cases"]]}
            if isinstance(finding, Mapping) and isinstance(finding.get("cases"), list)
            else finding
            for finding in tree["findings"]
        ]
    return new


def _cell_from_1(cell: Any) -> Any:
    """A cell, or a case, of a saved check: its name, its state, and what it is bound to, in words and by name."""
    if not isinstance(cell, Mapping):
        return cell
    about, new = cell.get("parameter"), dict(cell)
    if isinstance(about, str):
        new["parameter"] = parameter(about)
        new |= {side: _word(about, cell[side]) for side in ("master", "value") if side in cell}
        rests = cell.get("rests")
        if isinstance(rests, Mapping):
            new["rests"] = {side: _bound(about, value) for side, value in rests.items()}
    if isinstance(cell.get("state"), str):
        new["state"] = STATES.get(cell["state"], cell["state"])
    return new


def _same(tree: Tree, renamed: Renamed) -> dict[str, Any]:
    return dict(tree)


SHEET: Sequence[Step] = (_sheet_from_1,)
SEQUENCE: Sequence[Step] = (_same,)
POLICY: Sequence[Step] = (_policy_from_1,)
DECISION: Sequence[Step] = (_decision_from_1,)
VIEW: Sequence[Step] = (_view_from_1,)
CHECK: Sequence[Step] = (_check_from_1,)
"""The steps of each kind of file: the first from format 1 to 2, and so on."""


def upgraded(tree: Tree, version: int, steps: Sequence[Step]) -> tuple[Tree, Renamed]:
    """A tree of a format as today's says it, with what was renamed; itself where it is of today's.

    Raises ValueError for a version that there never was.
    """
    if not 1 <= version <= FORMAT_VERSION:
        raise ValueError(f"no format {version}")
    all_renamed: Renamed = {}
    for step in steps[version - 1 :]:
        renamed: Renamed = {}
        tree = step(tree, renamed)
        all_renamed = {**all_renamed, **{new: all_renamed.get(old, old) for new, old in renamed.items()}}
    return tree, all_renamed


def up_to_date(tree: Tree, key: str, steps: Sequence[Step], faults: Faults) -> Tree:
    """A file's tree as today's format says it, its faults told by the names that stand in the file.

    `key` states the format; a file without it may be of any. A wrong one is noted. Raises `SheetError` at once for one of a
    newer program, whose rules are not known.
    """
    version = tree.get(key, 1)
    is_number = isinstance(version, int | float) and not isinstance(version, bool)
    if is_number and version > FORMAT_VERSION:
        newer = Found(f"version {version:g}, of a newer program")
        faults.add((key,), f"format version {FORMAT_VERSION}", newer)
        faults.raise_if_any()
    if not is_number or version not in range(1, FORMAT_VERSION + 1):
        faults.add((key,), f"the format version, {key}: {FORMAT_VERSION}", version)
        return tree
    tree, renamed = upgraded(tree, int(version), steps)
    faults.were_called(renamed)
    return {**tree, key: FORMAT_VERSION} if tree.get(key, FORMAT_VERSION) != FORMAT_VERSION else tree
