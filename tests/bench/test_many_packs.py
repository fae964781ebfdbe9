"""Packs in number, for pytest-benchmark to time; no time is asserted."""

import pytest

from pmulab.packs import many
from pmulab.packs.many import find_packs, read_packs
from pmulab.stations.pool import pool

from .many_packs import write_packs

pytestmark = pytest.mark.bench


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    place = tmp_path_factory.mktemp("packs")
    write_packs(place, 100)
    return place


@pytest.mark.benchmark(group="100 packs of 12 clients")
def test_reading_and_checking(benchmark, folder):
    good, bad = benchmark.pedantic(read_packs, args=(find_packs([folder]),), rounds=2)

    assert (len(good), bad) == (100, [])


@pytest.mark.benchmark(group="100 packs of 12 clients")
def test_reading_checking_and_pooling(benchmark, folder):
    found = benchmark.pedantic(pool, args=(folder,), kwargs={"to": folder}, rounds=2)

    assert len(found.value.studies) == 100


def test_more_packs_than_one_process_reads_are_read_by_several(tmp_path, monkeypatch):
    monkeypatch.setattr(many, "ALONE", 20)
    write_packs(tmp_path, 70)
    (tmp_path / "00033.zip").write_bytes(b"hello")
    good, bad = read_packs(find_packs([tmp_path]))

    assert len(good) == 69
    assert [one.label for one in bad] == ["00033.zip"]
    assert [one.source for one in good[:3]] == ["00000.zip", "00001.zip", "00002.zip"]
