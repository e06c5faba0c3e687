"""Which config a sequence is looked at through, and where it is told that it cannot be."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from ocio_configs import ACES_1, write_config
from samelight.sequence.colour_views import NamedConfig, config_troubles, named_config, views_of
from samelight.sequence.session import open_session
from samelight.sheets.errors import Fault, SheetError
from samelight.sheets.sequence import read_sequence


def named(folder: Path, text: str, environment: Mapping[str, str] | None = None) -> NamedConfig | None:
    folder.joinpath("sequence.yaml").write_text(text)
    return named_config(read_sequence(folder), environment or {})


def test_the_sequence_comes_before_the_environment(tmp_path: Path) -> None:
    outside = {"OCIO": "/studio/show.ocio"}
    file = str(tmp_path / "sequence.yaml")
    own = named(tmp_path, "title: Quay\nocio: colour/show.ocio\n", outside)
    assert own == NamedConfig(str(tmp_path / "colour/show.ocio"), file, "ocio", 2, 1)
    assert named(tmp_path, f"ocio: {ACES_1}\n", outside) == NamedConfig(ACES_1, file, "ocio", 1, 1)
    assert named(tmp_path, "title: Quay\n", outside) == NamedConfig(
        "/studio/show.ocio", "environment", "OCIO"
    )
    assert named(tmp_path, "title: Quay\n", {"OCIO": " "}) is None
    absolute = named(tmp_path, "ocio: /studio/show.ocio\n")
    assert absolute is not None and absolute.config == "/studio/show.ocio"


def test_what_it_offers(tmp_path: Path) -> None:
    write_config(tmp_path / "colour/show.ocio")
    found = named(tmp_path, "ocio: colour/show.ocio")
    assert found is not None
    assert list(views_of(found).displays) == ["Desk", "Wall"]


def test_a_config_that_cannot_be_used_is_told_where_it_is_named(tmp_path: Path) -> None:
    def told(config: NamedConfig | None) -> Fault:
        assert config is not None
        with pytest.raises(SheetError) as caught:
            views_of(config)
        (fault,) = caught.value.faults
        return fault

    fault = told(named(tmp_path, "title: Quay\nocio: colour/show.ocio\n"))
    assert (fault.file, fault.line, fault.path) == (str(tmp_path / "sequence.yaml"), 2, "ocio")
    assert fault.expected == "an OpenColorIO config that can be read"
    assert fault.found == "show.ocio: it is not there"
    (tmp_path / "colour").mkdir()
    (tmp_path / "colour/show.ocio").write_text("ocio_profile_version: 2\nroles: [\n")
    assert "show.ocio: yaml-cpp: error at line 3" in told(named(tmp_path, "ocio: colour/show.ocio")).found
    fault = told(named(tmp_path, "title: Quay", {"OCIO": "ocio://gone"}))
    assert (fault.file, fault.path, fault.line) == ("environment", "OCIO", None)
    assert fault.found.startswith("ocio://gone: ")


def test_a_check_tells_a_config_that_cannot_be_one(tmp_path: Path) -> None:
    (tmp_path / "sequence.yaml").write_text("ocio: colour/show.ocio\n")

    def told() -> list[str]:
        return [one.says for one in config_troubles(read_sequence(tmp_path))]

    (says,) = told()
    assert says.startswith("Frames are seen without the colour config of the sequence: ")
    assert says.endswith(
        "sequence.yaml:1:1: ocio: expected an OpenColorIO config that can be read, found show.ocio: it is not there"
    )
    assert says in [one.says for one in open_session(tmp_path).troubles]
    config = write_config(tmp_path / "colour/show.ocio")
    assert told() == []
    config.write_text("title: a sequence\n")
    assert "it is no OpenColorIO config" in told()[0]
