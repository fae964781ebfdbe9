"""A full disk, a folder that is read-only, a file held elsewhere: told in words, nothing lost."""

import errno
import os
import subprocess

import pytest
from safety.commands import COMMANDS
from safety.killing import forked, full_at
from safety.trials import Trial
from safety.whole import contents
from studies import ANSWERS, clock, enrolled_study

from pmulab.disk import append
from pmulab.errors import UserError
from pmulab.stations.check import check
from pmulab.stations.enrol import enrol
from pmulab.study import Study

pytestmark = pytest.mark.filterwarnings("ignore:.*fork:DeprecationWarning")
NAMED = {one.name: one for one in COMMANDS}
SOME = ("new", "lock", "absent", "photo", "chart --begin")
TOLD = {
    errno.ENOSPC: "the disk is full",
    errno.EDQUOT: "the disk is full",
    errno.EROFS: "the folder is read-only",
    errno.EACCES: "another program holds it open",
    errno.EIO: "the disk fails",
}


class Refusing:
    """The nth flush to the disk in this process is refused, and every later one."""

    def __init__(self, number, code):
        self.number, self.code = number, code

    def __call__(self):
        sync, met = os.fsync, iter(range(10**6))

        def refused(handle):
            if next(met) >= self.number:
                raise OSError(self.code, os.strerror(self.code))
            sync(handle)

        os.fsync = refused


@pytest.mark.parametrize(
    ("name", "code"),
    [*((name, errno.ENOSPC) for name in SOME), *(("enrol", code) for code in TOLD)],
)
def test_every_command_says_what_the_disk_refused(tmp_path, name, code):
    trial = Trial(NAMED[name], tmp_path / "trial")
    kind, words = trial.refused("first flush", Refusing(0, code))

    assert kind == "refused"
    assert TOLD[code] in words
    assert "Nothing that you typed was overwritten" in words
    assert str(trial.root) in words
    assert trial.tally.faults == []


@pytest.mark.parametrize("name", ["lock", "enrol", "score collect"])
def test_a_disk_that_fills_at_any_flush_loses_nothing(tmp_path, name):
    trial = Trial(NAMED[name], tmp_path / "trial")
    for number in range(1, 12, 4):
        kind, words = trial.refused(f"flush {number}", Refusing(number, errno.ENOSPC))
        assert kind == "done" or "the disk is full" in words

    assert trial.tally.faults == []


@pytest.mark.parametrize("size", [1, 900, 6_000])
def test_a_file_cut_at_any_byte_is_none(tmp_path, size):
    """The limit of the operating system for file sizes stands for a disk that fills mid-write."""
    trial = Trial(NAMED["lock"], tmp_path / "trial")
    trial.refused(f"{size} bytes", full_at(size))

    assert trial.tally.faults == []


def test_a_journal_line_that_found_no_room_leaves_nothing_behind(tmp_path):
    path = tmp_path / "journal.jsonl"
    path.write_bytes(b"a whole line\n")
    kind, _ = forked(lambda: append(path, b"x" * 5000), full_at(300))

    assert kind == "broke"  # the station above says it in words
    assert path.read_bytes() == b"a whole line\n"


@pytest.fixture
def mounted(tmp_path):
    """A small disk of its own, if this machine lets one be made."""
    place = tmp_path / "disk"
    place.mkdir()

    def mount(options, source="tmpfs"):
        how = ["-t", "tmpfs"] if source == "tmpfs" else ["--bind"]
        made = subprocess.run(
            ["mount", *how, "-o", options, source, str(place)], capture_output=True, check=False
        )
        if made.returncode:
            pytest.skip(f"no disk can be mounted here: {made.stderr.decode().strip()}")
        return place

    yield mount
    subprocess.run(["umount", str(place)], capture_output=True, check=False)


def _fill(path):
    with path.open("wb", buffering=0) as filling:
        while True:
            filling.write(b"x" * 512)


def test_a_disk_that_is_really_full(mounted):
    folder = mounted("size=160k") / "study"
    study = enrolled_study(folder, 1, planned=4)
    with pytest.raises(OSError, match="No space"):
        _fill(folder / "filling")
    before = contents(folder)

    with pytest.raises(UserError, match="the disk is full"):
        enrol(study, "C900", ANSWERS)
    assert contents(folder)["clients.csv"] == before["clients.csv"]
    assert contents(folder)["journal.jsonl"].startswith(before["journal.jsonl"])
    assert study.tampering() == ()
    (folder / "filling").unlink()
    assert enrol(study, "C900", ANSWERS).value is not None


def test_a_folder_that_is_really_read_only(mounted):
    folder = mounted("size=2m") / "study"
    study = enrolled_study(folder, 1, planned=4)
    before = contents(folder)
    subprocess.run(["mount", "-o", "remount,ro", str(folder.parent)], check=True)

    for call in (lambda: enrol(study, "C900", ANSWERS), lambda: check(study)):
        with pytest.raises(UserError, match="the folder is read-only"):
            call()
    assert contents(folder) == before


@pytest.mark.parametrize("mark", ["~$records.xlsx", ".~lock.records.xlsx#"])
def test_a_workbook_open_elsewhere_is_told(tmp_path, mark):
    study = enrolled_study(tmp_path / "study", 1)
    study.path(mark).write_bytes(b"someone")

    told = str(check(study))
    assert "'records.xlsx' seems to be open in a spreadsheet program" in told
    assert "Save and close it there" in told


def test_a_workbook_that_cannot_be_opened_is_told_and_journalled_all_the_same(
    tmp_path, monkeypatch
):
    """As some systems lock a file that a spreadsheet program has open."""
    study = Study(enrolled_study(tmp_path / "study", 1).folder, clock(1))
    whole = type(study.folder).read_bytes

    def held(path):
        if path.name == "records.xlsx":
            raise PermissionError(13, "The process cannot access the file", str(path))
        return whole(path)

    monkeypatch.setattr(type(study.folder), "read_bytes", held)
    told = str(check(study))
    assert "records.xlsx' cannot be opened" in told
    assert "Close it in your spreadsheet program" in told
    assert study.journal()[-1].event == "records checked"
