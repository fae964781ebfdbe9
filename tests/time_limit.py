"""A limit that turns a hang into a failure; no measure of speed."""

import signal
from contextlib import contextmanager


class TookTooLong(BaseException):
    """Not an Exception, so that nothing under test can catch it."""


@contextmanager
def within_seconds(seconds):
    """Raise TookTooLong when the block runs longer."""

    def stop(_number, _frame):
        raise TookTooLong

    before = signal.signal(signal.SIGALRM, stop)
    signal.setitimer(signal.ITIMER_REAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)
