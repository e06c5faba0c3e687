"""Files of another version than the master's."""

from __future__ import annotations

import copy

import pytest

from findings.drafts import draft


@pytest.mark.parametrize(
    ("master", "shot", "says"),
    [
        ("maps/noon_v03.exr", "maps/noon_v02.exr", "Dawn_sky's texture is an older version than the master's in S_020: v002 for v003."),
        ("maps/v3/noon.exr", "maps/v12/noon.exr", "a newer version than the master's in S_020: v012 for v003."),
        ("maps/v3/noon_v3.exr", "maps/v2/noon_v2.exr", "v002 for v003"),
        ("maps/noon_v03.exr", "maps/dusk_v02.exr", ""),
        ("maps/noon_v03.exr", "old/noon_v02.exr", ""),
        ("maps/nov03.exr", "maps/nov02.exr", ""),
        ("maps/noon_v03.exr", "maps/noon.exr", ""),
    ],
)  # fmt: skip
def test_an_older_or_newer_map_is_told_by_its_versions(master: str, shot: str, says: str) -> None:
    made = draft(4)
    for tree in (made.master, *made.shots.values()):
        tree["environments"]["dawn_sky"].update(texture=master, sha256="ab" * 32)
    made.shots["S_020"]["environments"]["dawn_sky"].update(texture=shot, sha256="cd" * 32)
    found = [one.says for one in made.findings("file-version")]
    assert len(found) == bool(says)
    assert all(says.lower() in one.lower() for one in found)


def test_the_file_of_an_older_master_is_told_as_that() -> None:
    made = draft(4)
    made.older[2] = {**copy.deepcopy(made.master), "version": 2}
    made.older[2]["environments"]["dawn_sky"]["texture"] = "maps/dawn_test.exr"
    made.older[2]["lights"]["rim"]["intensity"] = 2.2
    made.older[2]["lights"]["lamp"]["intensity"] = 0.2
    made.shots["S_020"]["environments"]["dawn_sky"]["texture"] = "maps/dawn_test.exr"
    (finding,) = made.findings()
    assert (
        finding.says
        == "dawn_sky's texture is that of master 2 in S_020: maps/dawn_test.exr for maps/dawn.exr."
    )
    assert finding.finding == "file-version"
    made.shots["S_020"]["lights"]["rim"]["intensity"] = 5.2  # what neither master has
    (finding,) = made.findings("file-version")
    assert finding.known == "Master 2 has this very file there."
