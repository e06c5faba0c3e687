"""Files written whole: to a temporary name beside the target, fsynced, then renamed."""

from __future__ import annotations

import contextlib
import datetime
import errno
import io
import json
import math
import os
import stat
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

import yaml

from samelight.sheets.errors import SamelightError
from samelight.sheets.plain_files import can_be_named
from samelight.sheets.scalars import scalar

_ENDLESS = 10**9
_LONGEST_STEM = 100

_AT_ONCE = 8
"""Files that are written at once, where there are more of them."""


class WriteError(SamelightError):
    """A file that could not be written; the target is as it was before."""


def write_whole(path: Path, content: str | bytes, *, overwrite: bool = True) -> None:
    """Write a text as UTF-8, or bytes as they are, so that a reader sees the old file or the new one, never a part.

    With `overwrite` false an existing target is an error, also when another process makes it meanwhile. Raises
    `WriteError`.
    """
    if not overwrite:
        write_new({path: content})
        return
    target = _resolved(path)
    temporary = _temporary(target)
    try:
        with failure_told(path):
            _check_place(path, target)
            target.parent.mkdir(parents=True, exist_ok=True)
            _write_synced(temporary, content)
            _keep_mode(target, temporary)
            temporary.replace(target)
            _sync_folder(target.parent)
    finally:
        _remove([temporary])


def write_new(contents: Mapping[Path, str | bytes]) -> None:
    """Write files that are not there yet as `write_whole` does: all of them or, where one cannot be written, none.

    Each is whole and synced under a temporary name before the first gets its own. Their folders are synced once, after
    all. Raises `WriteError`.
    """
    temporaries = {path: _temporary(path) for path in contents}
    placed: list[Path] = []
    try:
        _write_all_synced(contents, temporaries)
        for path, temporary in temporaries.items():
            with failure_told(path):
                _place_new(temporary, path)
            placed.append(path)
        for folder in dict.fromkeys(path.parent for path in contents):
            _sync_folder(folder)
    except BaseException:
        _remove(placed)
        raise
    finally:
        _remove(temporaries.values())


def _write_all_synced(contents: Mapping[Path, str | bytes], temporaries: Mapping[Path, Path]) -> None:
    folders: set[Path] = set()

    def write(path: Path) -> None:
        with failure_told(path):
            _write_synced(temporaries[path], contents[path])

    for path in contents:
        with failure_told(path):
            _check_place(path, path)
            if path.parent not in folders:
                path.parent.mkdir(parents=True, exist_ok=True)
                folders.add(path.parent)
    if len(contents) <= _AT_ONCE:
        for path in contents:
            write(path)
        return
    from concurrent.futures import ThreadPoolExecutor  # most runs write a file or none

    # A sync waits for the disk, and those that wait together are answered together.
    with ThreadPoolExecutor(_AT_ONCE) as pool:
        writing = [pool.submit(write, path) for path in contents]
        try:
            for one in writing:
                one.result()
        except BaseException:
            pool.shutdown(cancel_futures=True)
            raise


@contextlib.contextmanager
def failure_told(path: Path) -> Iterator[None]:
    """Say of a file why it could not be written. Raises `WriteError`."""
    if not can_be_named(path):
        raise WriteError(f"{path}: could not be written: no file can have this name")
    try:
        yield
    except OSError as error:
        raise WriteError(f"{path}: could not be written: {error.strerror or error}") from None
    except UnicodeEncodeError:
        raise WriteError(f"{path}: could not be written: its text has half of a character") from None
    except (ValueError, RuntimeError) as error:
        raise WriteError(f"{path}: could not be written: {error}") from None


def _check_place(path: Path, target: Path) -> None:
    """Raises `WriteError` where no file can be."""
    if not target.name:
        raise WriteError(f"{path}: could not be written: it is a folder")
    if _is_special(target):
        raise WriteError(f"{path}: could not be written: it is a pipe or a device")


def _temporary(target: Path) -> Path:
    """A name beside a file that nobody else takes, not longer than names may be."""
    return target.parent / f".{target.name[:_LONGEST_STEM]}.{os.getpid()}.{os.urandom(4).hex()}.tmp"


def _write_synced(temporary: Path, content: str | bytes) -> None:
    whole = content.encode("utf-8") if isinstance(content, str) else content
    with temporary.open("xb") as file:
        file.write(whole)
        file.flush()
        os.fsync(file.fileno())


def _remove(paths: Iterable[Path]) -> None:
    """Remove those of the files that are there, as far as may be."""
    for path in paths:
        with contextlib.suppress(OSError, ValueError):
            path.unlink(missing_ok=True)


def _resolved(path: Path) -> Path:
    """The file itself where the path is a link to it, so that the link stays."""
    try:
        return path.resolve() if path.is_symlink() else path
    except (OSError, RuntimeError):
        return path


def _is_special(target: Path) -> bool:
    """Whether something stands there that is neither a file nor a folder, and that a rename would do away with."""
    try:
        mode = target.stat().st_mode
    except (OSError, ValueError):
        return False
    return not (stat.S_ISREG(mode) or stat.S_ISDIR(mode))


def _keep_mode(target: Path, temporary: Path) -> None:
    """Give the new file the permissions of the one it replaces."""
    with contextlib.suppress(OSError):
        temporary.chmod(stat.S_IMODE(target.stat().st_mode))


def _place_new(temporary: Path, path: Path) -> None:
    try:
        os.link(temporary, path)
    except FileExistsError:
        # A share that lost its answer is asked once more, and then finds what it did itself.
        if not _is_one_file(temporary, path):
            raise
    except OSError:  # a file system without hard links
        with _claimed(path):
            if os.path.lexists(path):
                raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(path)) from None
            temporary.rename(path)


def _is_one_file(one: Path, other: Path) -> bool:
    try:
        return one.samefile(other)
    except OSError:
        return False


def make_folder(path: Path) -> None:
    """Make one folder, durably, in a folder that is there; nothing where it is there already. Raises `WriteError`."""
    with failure_told(path):
        if not path.is_dir():
            path.mkdir(exist_ok=True)
            _sync_folder(path.parent)


@contextlib.contextmanager
def _claimed(path: Path) -> Iterator[None]:
    """Be the only one who gives a file this name, where a rename would write over what another put there.

    A claim is a file that one alone can create, on any file system. It is there for two calls of the system; one that
    stays behind was of a program that was stopped between them, and is for a person to remove: whether its owner is
    still at work cannot be known from another machine.
    """
    claim = path.parent / f".{path.name[:_LONGEST_STEM]}.claim"
    try:
        os.close(os.open(claim, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o666))
    except FileExistsError:
        raise WriteError(
            f"{path}: could not be written: somebody else is writing it; where nobody is, "
            f"one was stopped while doing so: remove {claim.name} beside it"
        ) from None
    try:
        yield
    finally:
        claim.unlink(missing_ok=True)


def _sync_folder(folder: Path) -> None:
    """Make the rename itself durable, where the system lets a folder be opened."""
    if os.name != "posix":
        return
    # Some network shares refuse it, and so does a folder that may not be read; the file itself is already synced.
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


class Dumper(yaml.SafeDumper):
    """Writes what any reader of YAML 1.1 or 1.2, and ours, takes for the same values."""

    def ignore_aliases(self, data: Any) -> bool:
        return True


class _UnlikeError(Exception):
    """A text that libyaml may lay out in another way."""


class QuickDumper(yaml.CSafeDumper):
    """Writes the very text that `Dumper` writes, through libyaml and several times as fast, or raises `_UnlikeError`."""

    def ignore_aliases(self, data: Any) -> bool:
        return True

    def represent_mapping(self, tag: str, mapping: Any, flow_style: bool | None = None) -> yaml.MappingNode:
        if any(len(str(key)) > _SHORT_KEY for key in mapping):
            raise _UnlikeError
        return super().represent_mapping(tag, mapping, flow_style)


_SHORT_KEY = 40
"""Characters of a key. Past a bound a key gets a line of its own: the two count differently how long one is."""

_EitherDumper = Dumper | QuickDumper


def _represent_float(dumper: _EitherDumper, value: float) -> yaml.Node:
    if not math.isfinite(value):
        raise ValueError(f"a number that is not finite cannot be written: {value}")
    text = repr(float(value))
    if "e" in text and "." not in text:  # YAML 1.1 readers take 1e-05 for text
        text = text.replace("e", ".0e")
    return dumper.represent_scalar("tag:yaml.org,2002:float", text)


def _represent_text(dumper: _EitherDumper, value: str) -> yaml.Node:
    """Quote what some reader would take for something else than text."""
    try:
        plain = scalar(value)
    except ValueError:
        plain = None
    style = "'" if plain != value or value in _SHORT_SWITCHES else None
    if not value.isprintable():
        style = '"'  # between single quotes a line break of any sort would be folded into a space
    return dumper.represent_scalar("tag:yaml.org,2002:str", value, style=style)


def _represent_usual_text(dumper: QuickDumper, value: str) -> yaml.Node:
    # The two spell other characters by different escapes.
    if not value.isprintable() or (value and max(value) > "\ufffd"):
        raise _UnlikeError
    return _represent_text(dumper, value)


def _represent_other(dumper: _EitherDumper, value: Any) -> yaml.Node:
    raise ValueError(f"a {type(value).__name__} cannot be written: {value!r}")


_SHORT_SWITCHES = frozenset("yYnN")
"""True and false to the letter of YAML 1.1, though few readers follow it."""

Dumper.add_representer(str, _represent_text)
QuickDumper.add_representer(str, _represent_usual_text)
for _dumper in (Dumper, QuickDumper):
    _dumper.add_representer(float, _represent_float)
    for _kind in (set, bytes, datetime.date, datetime.datetime):
        _dumper.add_representer(_kind, _represent_other)
    _dumper.add_multi_representer(object, _represent_other)


def yaml_text(data: Mapping[str, Any]) -> str:
    """A sheet's tree as YAML, in the given order: one line for each light, as far as names are short enough.

    Raises ValueError for what is not plain data, and for numbers that are not finite.
    """
    try:
        return written_by(QuickDumper, data)
    except _UnlikeError:
        return written_by(Dumper, data)


def written_by(kind: type[Dumper | QuickDumper], data: Mapping[str, Any]) -> str:
    """The same by one of the two, of which `QuickDumper` leaves some texts to the other."""
    stream = io.StringIO()
    dumper = kind(stream, allow_unicode=True, width=_ENDLESS, sort_keys=False)
    try:
        dumper.open()
        root = dumper.represent_data(dict(data))
        _lay_out(root)
        dumper.serialize(root)
        dumper.close()
    finally:
        dumper.dispose()
    return stream.getvalue()


def _lay_out(root: yaml.Node) -> None:
    """Block mappings outside, one flow mapping a light, so that a light stays on a line."""
    if not isinstance(root, yaml.MappingNode) or not root.value:
        return
    root.flow_style = False
    for _, value in root.value:
        nested = isinstance(value, yaml.MappingNode)
        inside = [item for _, item in value.value] if nested else []
        block = any(isinstance(item, yaml.MappingNode) for item in inside)
        for node in inside if block else [value]:
            _in_flow(node)
        if block:
            value.flow_style = False


def _in_flow(node: yaml.Node) -> None:
    if isinstance(node, yaml.CollectionNode):
        node.flow_style = True
        for item in node.value:
            for part in item if isinstance(item, tuple) else (item,):
                _in_flow(part)


def json_text(data: Mapping[str, Any]) -> str:
    """A tree as JSON text; numbers that are not finite are refused with ValueError."""
    return json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def write_sheet(path: Path, data: Mapping[str, Any], *, overwrite: bool = True) -> None:
    """Write a sheet's tree to a .yaml or .json file, by its ending. Raises `WriteError`."""
    try:
        text = json_text(data) if path.suffix.lower() == ".json" else yaml_text(data)
    except (TypeError, ValueError) as error:
        raise WriteError(f"{path}: could not be written: {error}") from None
    write_whole(path, text, overwrite=overwrite)
