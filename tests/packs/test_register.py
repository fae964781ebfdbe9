"""The group register: plain files that nothing writes over, strange ones named."""

import os
import threading
from datetime import date

import packs_builder as build
import pytest

from pmulab.analysis.registered import expected_by, with_states
from pmulab.disk import write_new
from pmulab.errors import UserError
from pmulab.findings.pooled import Registered
from pmulab.packs.register import announce, read_register, tell

ENTRY = Registered(
    code="wipes-north", study="a1" * 32, question='Does a "damp" wipe save time?\u202e',
    primary="Working minutes", unit="min", worthwhile=2.0, planned=12, registered="2026-01-26",
    due="2026-07-04",
)  # fmt: skip
FILE = f"wipes-north.{'a1' * 8}.toml"


def test_an_entry_is_a_readable_file_and_is_read_back(tmp_path):
    path = announce(tmp_path, ENTRY)
    text = path.read_text("utf-8")

    assert path.name == FILE
    assert text.startswith("# Announced to the study group before the first client.")
    assert 'primary = "Working minutes"' in text
    assert read_register(tmp_path).entries == (ENTRY,)


def test_nothing_is_ever_written_over(tmp_path):
    path = announce(tmp_path, ENTRY)
    before = path.read_bytes()
    with pytest.raises(UserError, match="there already"):
        announce(tmp_path, ENTRY)

    assert path.read_bytes() == before
    assert [one.name for one in path.parent.iterdir()] == [FILE]


def test_two_who_announce_at_once_leave_one_whole_file(tmp_path):
    told = []

    def try_it():
        try:
            told.append(announce(tmp_path, ENTRY))
        except UserError as error:
            told.append(error)

    threads = [threading.Thread(target=try_it) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert sum(not isinstance(one, UserError) for one in told) == 1
    assert read_register(tmp_path).entries == (ENTRY,)


def test_a_disk_without_hard_links_does_not_write_over_either(tmp_path, monkeypatch):
    def no_links(*_):
        raise OSError(1, "not here")

    monkeypatch.setattr(os, "link", no_links)
    write_new(tmp_path / "a", "first")
    with pytest.raises(FileExistsError):
        write_new(tmp_path / "a", "second")

    assert (tmp_path / "a").read_text() == "first"
    assert [one.name for one in tmp_path.iterdir()] == ["a"]


def test_news_are_added_beside_and_the_last_counts(tmp_path):
    announce(tmp_path, ENTRY)
    first = tell(tmp_path, ENTRY, date(2026, 3, 1), "running", 4)
    second = tell(tmp_path, ENTRY, date(2026, 4, 1), "stopped", 6)

    assert first.name.endswith(".news-1.toml")
    assert second.name.endswith(".news-2.toml")
    assert read_register(tmp_path).entries[0].state == "stopped"


COPY = FILE.removesuffix(".toml")


@pytest.mark.parametrize(
    "name",
    [
        f"{COPY} (1).toml",
        f"{COPY} - Copy.toml",
        f"{COPY} (conflicted copy 2026-03-01).toml",
        f"{COPY}.sync-conflict-20260301-1.toml",
        f"{COPY} (Case Conflict).toml",
        f"{COPY}-laptop-2.toml",
    ],
)
def test_second_copies_of_programs_for_shared_folders_are_named_and_not_read(tmp_path, name):
    path = announce(tmp_path, ENTRY)
    (path.parent / name).write_text(path.read_text("utf-8").replace("= 12", "= 99"), "utf-8")
    found = read_register(tmp_path)

    assert found.entries == (ENTRY,)
    assert found.set_aside[0].label == name
    assert "second copy" in found.set_aside[0].why


STRANGE = {
    "no TOML": ("= = =", "cannot be read"),
    "deep": ("a = " + "[" * 9000, "cannot be read"),
    "huge": ("# " + "x" * 30_000, "far too large"),
    "later release": ("format = 3", "later release"),
    "one entry more": ("surprise = 1", "not as pmulab writes it"),
    "no day": ('registered = "2026-13-45"', "not as pmulab writes it"),
    "infinite": ("worthwhile = inf", "not as pmulab writes it"),
    "two lines in one": ('question = """a\nb"""', "not as pmulab writes it"),
}


@pytest.mark.parametrize("name", STRANGE)
def test_a_strange_entry_is_set_aside_with_its_reason(tmp_path, name):
    text, why = STRANGE[name]
    path = announce(tmp_path, ENTRY)
    key = text.split(" = ")[0]
    kept = [line for line in path.read_text("utf-8").splitlines() if not line.startswith(key)]
    path.write_text("\n".join([*kept, text]), "utf-8")
    found = read_register(tmp_path)

    assert found.entries == ()
    assert why in found.set_aside[0].why


def test_an_entry_under_another_name_is_set_aside(tmp_path):
    path = announce(tmp_path, ENTRY)
    path.rename(path.with_name(f"wipes-south.{'a1' * 8}.toml"))
    (path.parent / "notes.txt").write_text("hello")
    (path.parent / f"link.{'b2' * 8}.toml").symlink_to(path)
    found = read_register(tmp_path)

    assert found.entries == ()
    assert [one.why.split(";")[0] for one in found.set_aside] == [
        "is a link, a folder or far too large",
        "is no entry of the register",
        "does not fit its own name",
    ]


def test_a_folder_that_is_not_there(tmp_path):
    with pytest.raises(UserError, match="no folder"):
        read_register(tmp_path / "nowhere")


def test_states_follow_from_what_came_in_and_from_the_day():
    pack = build.reported()
    ours = Registered(**{**dict(zip(ENTRY.__slots__, (getattr(ENTRY, n) for n in ENTRY.__slots__),
                                    strict=True)), "study": pack.study})  # fmt: skip
    states = {
        "in": with_states([ours], [pack], date(2027, 1, 1))[0],
        "early": with_states([ENTRY], [pack], date(2026, 7, 4))[0],
        "late": with_states([ENTRY], [pack], date(2027, 3, 1))[0],
    }

    assert states["in"].state == "finished"
    assert states["early"].state == "registered"
    assert (states["late"].state, states["late"].days_overdue) == ("never reported", 240)


def test_without_a_day_one_client_a_week_is_expected():
    assert expected_by(date(2026, 1, 1), 10, 70) == date(2026, 7, 20)  # 70 + 70 + 60 days
