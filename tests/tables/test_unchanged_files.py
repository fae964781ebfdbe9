"""Files that did not change are judged once; no answer is ever older than its files."""

import os
from dataclasses import replace
from datetime import date

import pandas as pd
import pytest
from tables.invented_study import EXPECTED, Study

from pmulab.tables import checking, read_and_check


@pytest.fixture(autouse=True)
def nothing_kept():
    checking._KEPT.clear()


@pytest.fixture
def folder(tmp_path):
    Study().write_csv(tmp_path)
    return tmp_path


def same(one, other):
    for name in ("clients", "sessions", "healed", "events"):
        pd.testing.assert_frame_equal(one[name], other[name])
        pd.testing.assert_frame_equal(one.sources[name], other.sources[name])
    pd.testing.assert_frame_equal(one.missing, other.missing)
    assert one.fingerprint == other.fingerprint


def test_a_second_reading_says_the_same_as_a_first(folder):
    records, report = read_and_check(folder, EXPECTED)
    again, report_again = read_and_check(folder, EXPECTED)
    checking._KEPT.clear()
    anew, report_anew = read_and_check(folder, EXPECTED)

    same(again, anew)
    same(records, anew)
    assert report == report_again == report_anew


def test_a_changed_value_is_seen_though_size_and_time_of_the_file_stay(folder):
    path = folder / "sessions.csv"
    before, _ = read_and_check(folder, EXPECTED)
    stamp, size = path.stat().st_mtime_ns, path.stat().st_size
    value = f"{before.sessions['work_min'].iloc[0]:g}"
    other = value[:-1] + ("8" if value[-1] != "8" else "7")
    path.write_bytes(path.read_bytes().replace(f",{value},".encode(), f",{other},".encode(), 1))
    os.utime(path, ns=(stamp, stamp))

    after, _ = read_and_check(folder, EXPECTED)

    assert path.stat().st_size == size
    assert after.fingerprint != before.fingerprint


def test_a_file_that_comes_or_goes_is_seen(folder):
    assert read_and_check(folder, EXPECTED)[1].files
    (folder / "events.csv").rename(folder / "put-aside.bak")

    codes = {one.code for one in read_and_check(folder, EXPECTED)[1].problems}

    assert "table_missing" in codes


def test_another_day_or_plan_is_a_new_reading(folder):
    _, report = read_and_check(folder, replace(EXPECTED, today=date(2099, 1, 1)))
    _, earlier = read_and_check(folder, replace(EXPECTED, today=date(2000, 1, 1)))

    assert len(earlier) > len(report)


def test_what_is_done_to_the_rows_is_done_to_nobody_elses(folder):
    records, _ = read_and_check(folder, EXPECTED)
    records.sessions["work_min"] = 1.0
    records.sources["sessions"].iloc[0, 0] = "elsewhere.csv"
    again, _ = read_and_check(folder, EXPECTED)
    checking._KEPT.clear()

    same(again, read_and_check(folder, EXPECTED)[0])
