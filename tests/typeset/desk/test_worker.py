"""The process that works for the desk: jobs of the standard library, which any process can find."""

from __future__ import annotations

import os
import signal
import threading
import time

import pytest

from cagework.typeset.desk.worker import JobFailed, Superseded, Worker


def test_a_worker_is_another_process_and_outlives_a_kill() -> None:
    worker = Worker(impatient=False, seconds=60)
    first = worker.do("a", os.getpid)
    assert first != os.getpid() and worker.do("a", os.getpid) == first
    with pytest.raises(JobFailed, match="no number"):
        worker.do("a", int, "no number")
    os.kill(first, signal.SIGKILL)
    second = worker.do("a", os.getpid)
    assert second not in (first, os.getpid())
    worker.close()


@pytest.mark.parametrize("impatient", [True, False])
def test_an_older_job_gives_way_to_a_newer(impatient: bool) -> None:
    """At once where the worker is impatient; else those that wait, and the one at work ends."""
    worker = Worker(impatient=impatient, seconds=600)
    worker.do("a", os.getpid)
    told: list[object] = []

    def ask(seconds: float) -> None:
        try:
            told.append(worker.do("a", time.sleep, seconds))
        except Superseded:
            told.append("superseded")

    lengths = (600.0, 0.0) if impatient else (1.0, 600.0, 0.0)
    threads = []
    for seconds in lengths:
        threads.append(threading.Thread(target=ask, args=(seconds,)))
        threads[-1].start()
        time.sleep(0.3)
    for thread in threads:
        thread.join(120)
        assert not thread.is_alive()
    assert told.count("superseded") == 1 and len(told) == len(lengths)
    worker.close()


def test_a_job_that_takes_too_long_is_given_up() -> None:
    worker = Worker(impatient=False, seconds=0.2)
    with pytest.raises(JobFailed, match="too long"):
        worker.do("a", time.sleep, 600.0)
    worker.close()
