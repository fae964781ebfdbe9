"""Whoever opens a pack can repeat its analysis, although columns of it were withheld."""

import json
from dataclasses import replace

import packs_builder as build
import pandas as pd
import pytest
from frictionless import Package
from scipy import stats

from pmulab.packs.writing import pack_files
from pmulab.tables import study_tables
from pmulab.tables.shared import shared_frames

ORVANE = build.group()["Orvane"]


@pytest.fixture(params=["Orvane", "Lantry"])
def opened(request, tmp_path, monkeypatch):
    """The tables of a pack as another reader of the open standard gives them, and its findings."""
    contents = build.told(request.param)
    for name, data in pack_files(contents).items():
        (tmp_path / name).write_bytes(data)
    monkeypatch.chdir(tmp_path)
    package = Package("datapackage.json")
    tables = {
        name: pd.DataFrame([row.to_dict() for row in package.get_resource(name).read_rows()])
        for name in ("differences", "sessions", "healed")
    }
    return tables, json.loads((tmp_path / "findings.json").read_text("utf-8")), contents


def compared(tables, outcome):
    rows = tables["differences"]
    return rows[rows["outcome"] == outcome].set_index("client_code")


def by_side(rows, column):
    """Way, client and value of each eyelid, from the rows of a visit."""
    return rows.dropna(subset=[column]).groupby(["client_code", "side"])[column].mean()


def test_columns_were_withheld_in_the_first_pack():
    withheld = build.told("Orvane").withheld

    assert any(name.startswith("sessions.") for name in withheld)
    assert any(name.startswith("healed.") for name in withheld)


def test_the_interval_comes_again_from_the_differences(opened):
    """Student's paired interval by scipy, from the table alone."""
    tables, findings, _ = opened
    effect = findings["primary"]
    differences = compared(tables, effect["outcome"]["name"])["difference"].dropna().astype(float)
    again = stats.ttest_1samp(differences, 0).confidence_interval(0.95)
    interval = effect["other_forms"]["t"]["interval"]

    assert float(differences.mean()) == pytest.approx(effect["difference"]["value"])
    assert (again.low, again.high) == pytest.approx((interval["low"], interval["high"]))


def test_the_differences_come_again_from_the_sessions(opened):
    tables, _, _ = opened
    sessions = tables["sessions"]
    first = sessions[sessions["session_no"] == 1].astype({"work_min": float})
    wide = first.pivot_table(index="client_code", columns="arm_planned", values="work_min")
    told = compared(tables, "work_min")

    assert (wide["A"] - wide["B"]).to_dict() == pytest.approx(
        told["difference"].dropna().astype(float).to_dict()
    )


def test_the_differences_come_again_from_the_healed_eyelids(opened):
    """First looks, blinded assessors, the mean over them; the side's way from the sessions."""
    tables, _, _ = opened
    told = compared(tables, "segments_kept")["difference"].dropna().astype(float)
    if told.empty:
        pytest.skip("this studio did not look at healed lines")
    healed = tables["healed"].astype({"segments_kept": float})
    looks = healed[(healed["look_no"] == 1) & healed["blinded"].fillna(False).astype(bool)]
    values = by_side(looks, "segments_kept").reset_index()
    ways = tables["sessions"].query("session_no == 1")[["client_code", "side", "arm_planned"]]
    wide = values.merge(ways).pivot_table(
        index="client_code", columns="arm_planned", values="segments_kept"
    )

    assert (wide["A"] - wide["B"]).dropna().to_dict() == pytest.approx(told.to_dict())


def test_what_an_assessor_knew_stays_although_it_is_rare():
    """One assessor who knew, in two clients: without the column nobody could part the judgements.

    A client's own rare answer beside it goes.
    """
    records = ORVANE.records
    healed = records.healed.copy()
    codes = healed["client_code"].drop_duplicates()
    healed.loc[healed["client_code"].isin(codes.iloc[:2]), "blinded"] = False
    healed.loc[healed["client_code"].eq(codes.iloc[0]), "adherence"] = "no"
    changed = replace(records, healed=healed)
    fresh = {code: f"C{200 + place}" for place, code in enumerate(codes)}
    frames, withheld = shared_frames(changed, study_tables(), fresh)

    assert set(frames["healed"]["blinded"].dropna()) == {True, False}
    assert "healed.blinded" not in withheld
    assert "healed.adherence" in withheld
