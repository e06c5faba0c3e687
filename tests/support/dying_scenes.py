"""Work for a pool of processes in which one scene takes its process down, as a fault in a library would."""

from __future__ import annotations

import os
import signal

from samelight.sources.batch import Job, Outcome, Result


def capture_or_die(job: Job) -> Outcome:
    """Stands in for `capture_job`; a pool imports it by its name."""
    if job.shot == "QU_020":
        os.kill(os.getpid(), signal.SIGKILL)
    return Outcome(job.shot, Result.NEW)
