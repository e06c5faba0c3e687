"""A writer that dies between any two steps leaves the old state or the new one, never a part."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest

from samelight.decisions.ledger import open_ledger
from samelight.sheets.writing import write_whole

pytestmark = pytest.mark.skipif(os.name != "posix", reason="kill -9 is a signal of POSIX systems")

APP = Path(__file__).parents[2] / "app"
STEPS = ("open", "write", "fsync", "link", "unlink")

WRITER = """
import os, signal, sys
from pathlib import Path
import samelight.sheets.writing as writing
from samelight.decisions.decision import Verb
from samelight.decisions.ledger import Subject, open_ledger
from samelight.sheets.values import Level

step = sys.argv[2]

def die(*_args, **_named):
    os.kill(os.getpid(), signal.SIGKILL)

if step in ("fsync", "link"):
    setattr(os, step, die)
elif step == "unlink":
    Path.unlink = die
else:
    real = Path.open
    class Dying:
        def __init__(self, file):
            self.file = file
        def __enter__(self):
            if step == "open":
                die()
            return self
        def __exit__(self, *_):
            self.file.close()
        def write(self, text):
            self.file.write(text[: len(text) // 2])
            self.file.flush()
            die()
    Path.open = lambda self, *a, **k: Dying(real(self, *a, **k))
ledger = open_ledger(Path(sys.argv[1]))
ledger.decide(Verb.INTEND, [Subject("HB_010", "lights.sun.level", Level(2.0), Level(1.0))], "ada", "meant")
"""


@pytest.mark.parametrize("step", STEPS)
def test_a_decision_is_there_whole_or_not_at_all(tmp_path: Path, step: str) -> None:
    script = tmp_path / "writer.py"
    script.write_text(textwrap.dedent(WRITER), encoding="utf-8")
    ended = subprocess.run(
        [sys.executable, str(script), str(tmp_path), step],
        env={**os.environ, "PYTHONPATH": str(APP)},
        capture_output=True,
        check=False,
    )
    assert ended.returncode == -signal.SIGKILL, ended.stderr.decode()
    ledger = open_ledger(tmp_path)
    assert ledger.faults == ()
    expected = 1 if step == "unlink" else 0
    assert len(ledger.all()) == expected
    # Whoever comes next can go on.
    from samelight.decisions.decision import Verb
    from samelight.decisions.ledger import Subject

    ledger.decide(Verb.INTEND, [Subject("HB_020", "lights.sun.level", 1.0, 2.0)], "ben", "meant")
    assert len(open_ledger(tmp_path).all()) == expected + 1


def test_a_full_disk_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from samelight.sheets.writing import WriteError

    target = tmp_path / "sheet.yaml"
    write_whole(target, "old\n")

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(WriteError, match="No space left"):
        write_whole(target, "new\n")
    assert target.read_text(encoding="utf-8") == "old\n"
    assert [path.name for path in tmp_path.iterdir()] == ["sheet.yaml"]
