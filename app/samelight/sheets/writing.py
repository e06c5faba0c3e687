"""Files written whole: to a temporary name beside the target, fsynced, then renamed."""

from __future__ import annotations

import contextlib
import json
import os
import secrets
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import yaml

from samelight.sheets.errors import SamelightError
from samelight.sheets.scalars import scalar

_FLOW_WIDTH = 110


class WriteError(SamelightError):
    """A file that could not be written; the target is as it was before."""


def write_whole(path: Path, text: str, *, overwrite: bool = True) -> None:
    """Write `text` as UTF-8 so that a reader sees the old file or the new one, never a part.

    With `overwrite` false an existing target is an error, also when another process makes it meanwhile.
    Raises `WriteError`.
    """
    temporary = path.with_name(f".{path.name}.{os.getpid()}.{secrets.token_hex(4)}.tmp")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with temporary.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        if overwrite:
            temporary.replace(path)
        else:
            _place_new(temporary, path)
        _sync_folder(path.parent)
    except OSError as error:
        raise WriteError(f"{path}: could not be written: {error.strerror or error}") from None
    finally:
        with contextlib.suppress(OSError):
            temporary.unlink(missing_ok=True)


def _place_new(temporary: Path, path: Path) -> None:
    try:
        os.link(temporary, path)
    except FileExistsError:
        raise
    except OSError:  # a file system without hard links
        if path.exists():
            raise FileExistsError(17, "the file exists", str(path)) from None
        temporary.rename(path)


def _sync_folder(folder: Path) -> None:
    """Make the rename itself durable, where the system lets a folder be opened."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    except OSError:
        pass  # some network shares refuse it; the file itself is already synced
    finally:
        os.close(handle)


class _Dumper(yaml.SafeDumper):
    """Block mappings outside, one flow mapping a light, so that a light stays on a line."""

    def ignore_aliases(self, data: Any) -> bool:
        return True


def _represent_float(dumper: _Dumper, value: float) -> yaml.Node:
    text = repr(value)
    if "e" in text and "." not in text:  # YAML 1.1 readers take 1e-05 for text
        text = text.replace("e", ".0e")
    return dumper.represent_scalar("tag:yaml.org,2002:float", text)


def _represent_text(dumper: _Dumper, value: str) -> yaml.Node:
    """Quote what a reader, of YAML 1.1 or ours, would take for something else than text."""
    try:
        plain = scalar(value)
    except ValueError:
        plain = None
    return dumper.represent_scalar("tag:yaml.org,2002:str", value, style=None if plain == value else "'")


_Dumper.add_representer(float, _represent_float)
_Dumper.add_representer(str, _represent_text)


def yaml_text(data: Mapping[str, Any]) -> str:
    """A sheet's tree as YAML, in the given order, that any YAML 1.1 or 1.2 reader takes for the same values."""
    parts = []
    for key, value in data.items():
        if isinstance(value, dict) and value and any(isinstance(item, dict) for item in value.values()):
            parts.append(f"{_dump(key)}:\n")
            for name, item in value.items():
                parts.append(f"  {_dump(name)}: {_flow(item)}\n")
        else:
            parts.append(f"{_dump(key)}: {_flow(value)}\n")
    return "".join(parts)


def _dump(scalar: Any) -> str:
    return _flow(scalar).strip()


def _flow(value: Any) -> str:
    text = yaml.dump(
        value, Dumper=_Dumper, default_flow_style=True, sort_keys=False, allow_unicode=True, width=10**9
    )
    return text.removesuffix("\n").removesuffix("\n...")


def json_text(data: Mapping[str, Any]) -> str:
    """A tree as JSON text; numbers that are not finite are refused with ValueError."""
    return json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def write_sheet(path: Path, data: Mapping[str, Any], *, overwrite: bool = True) -> None:
    """Write a sheet's tree to a .yaml or .json file, by its ending."""
    write_whole(path, json_text(data) if path.suffix == ".json" else yaml_text(data), overwrite=overwrite)
