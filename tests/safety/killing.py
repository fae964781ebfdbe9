"""Kill a command at a chosen or a random moment, in a fork of this warmed process."""

import contextlib
import os
import pickle
import resource
import signal
import sys
import time
import traceback
from pathlib import Path

from pmulab.errors import UserError

_CHANGES = {"os.rename", "os.remove", "os.mkdir", "os.rmdir", "os.link", "os.chmod", "os.truncate"}
_WRITING = os.O_WRONLY | os.O_RDWR | os.O_CREAT


def forked(run, prepare=lambda: None, kill_after=None):
    """Run in a child process: its answer, or None when it was killed.

    `prepare` is called in the child first; `kill_after` kills it from here, so many seconds later.
    An answer is ('done', text), ('refused', words) or ('broke', traceback).
    """
    child, reading = _started(run, prepare)
    if kill_after is not None:
        time.sleep(kill_after)
        with contextlib.suppress(ProcessLookupError):
            os.kill(child, signal.SIGKILL)
    return _ended(child, reading)


def together(*jobs):
    """Run jobs in processes of their own at once; give their answers."""
    begun = [_started(job, lambda: None) for job in jobs]
    return [_ended(*one) for one in begun]


def _started(run, prepare):
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reading)
        _in_child(run, prepare, writing)
    os.close(writing)
    return child, reading


def _ended(child, reading):
    with os.fdopen(reading, "rb") as pipe:
        data = pipe.read()
    _, status = os.waitpid(child, 0)
    return None if os.WIFSIGNALED(status) else pickle.loads(data)


def _in_child(run, prepare, writing):
    try:
        quiet = os.open(os.devnull, os.O_WRONLY)
        os.dup2(quiet, 1)
        os.dup2(quiet, 2)
        prepare()
        answer = ("done", str(run()))
    except UserError as error:
        answer = ("refused", f"{error.what} {error.remedy}")
    except BaseException:
        answer = ("broke", traceback.format_exc())
    finally:
        with contextlib.suppress(BaseException), os.fdopen(writing, "wb") as pipe:
            pickle.dump(answer, pipe)
        os._exit(0)


class Points:
    """Every change of a file below a folder is a point; at one of them the process dies."""

    def __init__(self, root, at=None, tally=None):
        self.root, self.at, self.tally, self.met = str(Path(root).resolve()), at, tally, 0

    def __call__(self):
        """Watch this process; to be called in a child only, as a hook stays for good."""
        sync = os.fsync

        def watched_sync(handle):
            self.point()
            sync(handle)

        os.fsync = watched_sync
        sys.addaudithook(self._heard)

    def _heard(self, event, arguments):
        if event == "open":
            path, _, flags = arguments
            if isinstance(flags, int) and flags & _WRITING and self._ours(path):
                self.point()
        elif event in _CHANGES and any(self._ours(one) for one in arguments):
            self.point()

    def _ours(self, path):
        if not isinstance(path, (str, os.PathLike)):
            return False
        return os.path.abspath(path).startswith(self.root)

    def point(self):
        if self.at is not None and self.met == self.at:
            os.kill(os.getpid(), signal.SIGKILL)
        self.met += 1
        if self.tally is not None:
            self.tally.write_text(str(self.met))


def points_of(run, root, tally):
    """Count the points of a command that runs to its end, and how long it takes."""
    begun = time.monotonic()
    answer = forked(run, Points(root, tally=tally))
    met = int(tally.read_text()) if tally.exists() else 0
    return answer, met, time.monotonic() - begun


def torn_at(size):
    """No file grows beyond so many bytes: the write is cut there and the process dies."""

    def prepare():
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        signal.signal(signal.SIGXFSZ, signal.SIG_DFL)
        resource.setrlimit(resource.RLIMIT_FSIZE, (size, size + (1 << 30)))

    return prepare


def full_at(size):
    """No file grows beyond so many bytes: the write is cut there and the disk refuses."""

    def prepare():
        resource.setrlimit(resource.RLIMIT_FSIZE, (size, size + (1 << 30)))

    return prepare
