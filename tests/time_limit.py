"""A limit that turns a hang into a failure; no measure of speed."""

import signal
from contextlib import contextmanager


class TookTooLong(BaseException):
    """Not an Exception, so that nothing under test can catch it."""


@contextmanager
def within_seconds(seconds):
    """Raise TookTooLong when the block computes longer, however busy the machine is otherwise."""

    def stop(_number, _frame):
        raise TookTooLong

    before = signal.signal(signal.SIGPROF, stop)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)
