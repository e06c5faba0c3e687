"""Whether two shots are seen by one camera, and what is said where they are not."""

from __future__ import annotations

import pytest

from measured_sequence import CAMERA, publish, tree
from samelight.sequence.same_camera import cameras_apart
from samelight.sequence.session import Session, open_session

SHOTS: dict[str, dict[str, object]] = {
    "A": {},
    "SAME": {},
    "AWAY": {"position": [0.5, 1.6, 2.5]},
    "TURNED": {"direction": [0.1, 0, -1]},
    "ROLLED": {"roll": 5},
    "LONGER": {"focal_length_mm": 65},
    "OFFSET": {"horizontal_offset_mm": 4},
}


@pytest.fixture(scope="module")
def session(tmp_path_factory: pytest.TempPathFactory) -> Session:
    folder = tmp_path_factory.mktemp("cameras")
    (folder / "sequence.yaml").write_text(f"cut: [{', '.join([*SHOTS, 'BLIND', 'GONE'])}]\n")
    for shot, more in SHOTS.items():
        publish(folder, shot, tree(camera={**CAMERA, **more}))
    publish(folder, "BLIND", {key: value for key, value in tree().items() if key != "camera"})
    return open_session(folder)


@pytest.mark.parametrize(
    ("other", "says"),
    [
        ("A", ""),
        ("SAME", ""),
        ("AWAY", "the camera of AWAY stands 0.50 m away"),
        ("TURNED", "the camera of TURNED is turned by 5.7 deg"),
        ("ROLLED", "the camera of ROLLED is turned by 5.0 deg"),
        ("LONGER", "the camera of LONGER has another lens"),
        ("OFFSET", "the camera of OFFSET has another lens"),
        ("BLIND", "the camera of BLIND is not known: the sheet has no camera"),
        ("GONE", "GONE has no sheet that can be read"),
    ],
)
def test_two_cameras(session: Session, other: str, says: str) -> None:
    assert cameras_apart(session, "A", other, (1920, 1080)) == says
