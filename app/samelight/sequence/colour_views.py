"""Which OpenColorIO config a sequence is looked at through, and what it offers."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from samelight.sequence.troubles import Trouble
from samelight.sheets.errors import Fault, SheetError
from samelight.sheets.folder_files import SEQUENCE_FILE
from samelight.sheets.sequence import SequenceFile
from samelight.sheets.stamps import Stamp
from samelight.sources.errors import CaptureError
from samelight.sources.limits import VIEW
from samelight.sources.pictures.colour_config import (
    BUILT_IN,
    ColourConfigError,
    ConfigViews,
    check_config,
    config_views,
    stamps_of,
)
from samelight.sources.pictures.seen import Through
from samelight.sources.trial import tried

VARIABLE = "OCIO"
"""The environment variable that names a config. Source: OpenColorIO's documentation."""


@dataclass(frozen=True, slots=True)
class NamedConfig:
    """A config and who names it: the file, and in it the key with its line, or the environment."""

    config: str
    file: str
    key: str
    line: int | None = None
    column: int | None = None


def named_config(sequence: SequenceFile, environment: Mapping[str, str] = os.environ) -> NamedConfig | None:
    """The config that sequence.yaml names, else the environment; None where neither does."""
    config = _config(sequence, environment)
    if sequence.ocio:
        line, column = sequence.where(("ocio",)) or (None, None)
        return NamedConfig(config, str(sequence.folder / SEQUENCE_FILE), "ocio", line, column)
    return NamedConfig(config, "environment", VARIABLE) if config else None


def _config(sequence: SequenceFile, environment: Mapping[str, str]) -> str:
    if not sequence.ocio:
        return environment.get(VARIABLE, "").strip()
    return sequence.ocio if sequence.ocio.startswith(BUILT_IN) else str(sequence.folder / sequence.ocio)


def config_stamp(sequence: SequenceFile) -> tuple[Stamp | None, ...]:
    """The stamps of the config of a sequence and of its LUTs; empty where it has none, or one that is built in."""
    config = _config(sequence, os.environ)
    return stamps_of(config) if config else ()


def config_troubles(sequence: SequenceFile) -> list[Trouble]:
    """What is at fault with the config that sequence.yaml names, as far as that shows without OpenColorIO."""
    named = named_config(sequence) if sequence.ocio else None
    if named is None:
        return []
    try:
        check_config(named.config)
    except (ColourConfigError, OSError) as error:
        fault = _fault(named, str(error))
        return [
            Trouble(f"Frames are seen without the colour config of the sequence: {fault}", faults=(fault,))
        ]
    return []


def views_of(named: NamedConfig) -> ConfigViews:
    """What a config offers. Raises `SheetError`, which says where it is named and what is wrong with it."""
    try:
        return tried(Path(named.config), VIEW, config_views, named.config)
    except ColourConfigError as error:
        found = str(error)
    except CaptureError as error:
        found = f"it is {error.fault.found}"
    raise SheetError([_fault(named, found)])


def _fault(named: NamedConfig, found: str) -> Fault:
    expected = "an OpenColorIO config that can be read"
    said = f"{_short(named.config)}: {found}"
    return Fault(named.file, named.key, expected, said, named.line, named.column)


def through_of(sequence: SequenceFile) -> Through:
    """What the frames of a sequence are seen through where nobody chooses: the view that its config has by default. Raises `SheetError`
    where that config cannot be used."""
    named = named_config(sequence)
    view = views_of(named).default if named is not None else None
    return Through(view, sequence.conventions.working_space)


def _short(config: str) -> str:
    return config if config.startswith(BUILT_IN) else Path(config).name
