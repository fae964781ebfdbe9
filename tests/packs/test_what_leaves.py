"""What leaves the studio, and what never does."""

import json
import re
from dataclasses import replace

import packs_builder as build
import pandas as pd
import pytest

from pmulab.analysis.pooling import pool
from pmulab.errors import UserError
from pmulab.findings import ArmSummary
from pmulab.packs.contents import fresh_codes
from pmulab.packs.deidentify import KEPT_BACK, deidentified
from pmulab.packs.many import read_packs
from pmulab.packs.preview import preview_lines
from pmulab.packs.reading import read_pack
from pmulab.packs.writing import pack_bytes, pack_files
from pmulab.plan import Change
from pmulab.tables import study_tables

ORVANE = build.group()["Orvane"]


def everything(contents):
    """All that a pack says, but for the fingerprints, which hold any three digits."""
    text = "\n".join(data.decode() for data in pack_files(contents).values())
    return re.sub(r"[0-9a-f]{64}", "", text)


def without_consent(*codes):
    """The records of the first studio, in which some clients did not agree to share."""
    clients = ORVANE.records.clients.copy()
    clients.loc[clients["client_code"].isin(codes), "consent_share_numbers"] = False
    return replace(ORVANE.records, clients=clients)


def test_no_code_date_lot_photo_or_note_of_the_studio_leaves():
    contents = build.told()
    text = everything(contents)
    codes = set(ORVANE.records.clients["client_code"])

    assert "lot-07" not in text
    assert "healed-C" not in text
    assert "needle changed half-way" not in text
    assert not re.search(r"2026-0[2-8]-\d\d", text)  # the sessions and visits lie in these months
    for name, frame in contents.frames.items():
        assert not codes & set(frame["client_code"]), name


def test_fields_that_the_schema_keeps_back_have_no_column():
    contents = build.told()
    for name, table in study_tables().items():
        kept_back = {
            f.name for f in table.fields if f.share == "drop" or f.kind in ("text", "date")
        }
        assert name == "events" or not kept_back & set(contents.frames[name].columns)
    assert "events" not in contents.frames


def test_health_consent_and_eligibility_answers_stay():
    """Data minimisation: what is not needed to analyse again does not leave."""
    kept = set(build.told().frames["clients"].columns)

    assert not kept & {"pregnant_or_nursing", "anticoagulant", "eligible_reason", "consent_record"}


def test_dates_leave_as_days():
    frames = build.told().frames

    assert frames["sessions"]["session_day"].min() == 0
    assert set(frames["healed"]["healed_day"].dropna()) == {42}


def test_every_client_has_a_fresh_code_each_time():
    first, second = (dict(zip("abc", build.told().frames["clients"]["client_code"], strict=False))
                     for _ in range(2))  # fmt: skip
    drawn = fresh_codes(["C101", "C102"])

    assert first != second
    assert len(set(drawn.values())) == 2
    assert not set(drawn.values()) & {"C101", "C102"}


def test_rows_stand_in_the_order_of_the_fresh_codes_so_that_the_order_of_enrolment_is_gone():
    frames = build.told().frames

    for frame in frames.values():
        assert list(frame["client_code"]) == sorted(frame["client_code"])


def test_a_client_who_did_not_agree_is_left_out_of_rows_and_of_averages():
    """Averages over all beside the rows of some would give the rest away by subtraction."""
    contents = build.told(records=without_consent("C417", "C263", "C675"))
    differences = contents.frames["differences"]

    assert contents.left_out == 3
    assert contents.clients == 9
    assert differences["client_code"].nunique() == 9
    assert contents.findings.primary.difference.n == 9
    minutes = differences[differences["outcome"] == "work_min"]["difference"]
    primary = contents.findings.primary
    assert primary.a.mean - primary.b.mean == pytest.approx(minutes.mean())
    told = "\n".join(preview_lines(contents))
    assert "Left out: 3 of those worked on, who did not agree" in told


@pytest.mark.parametrize("codes", [("C417",), ("C417", "C263")])
def test_one_client_or_two_cannot_be_worked_out_from_handout_and_pack(codes):
    """Neither rows nor other averages than the handout's leave: nothing can be subtracted."""
    contents = build.told(records=without_consent(*codes))

    assert contents.rows_withheld
    assert all(frame.empty for frame in contents.frames.values())
    for told, whole in zip(contents.findings.effects, ORVANE.findings.effects, strict=True):
        assert (told.clients, told.a, told.b) == ((), whole.a, whole.b)
        assert told.difference == whole.difference
    told = "\n".join(preview_lines(contents))
    assert f"No client's own row leaves: {len(codes)} of 12 clients worked on did not agree" in told


def test_a_pack_without_rows_is_read_and_pooled_by_its_averages(tmp_path):
    path = tmp_path / "pack.zip"
    path.write_bytes(pack_bytes(build.told(records=without_consent("C417"))))
    (read,), _ = read_packs([path])
    others = build.all_reported()[1:]
    found = pool([read, *others], made="2027-03-01", software="test")
    known = pool(build.all_reported(), made="2027-03-01", software="test")

    assert (read.rows, read.rows_withheld) == ((), True)
    assert found.together.value == pytest.approx(known.together.value)
    assert found.one_stage.value is None
    assert "gave averages only" in found.one_stage.note
    assert any("stay in the studio" in note for note in found.studies[0].notes)


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"a": ArmSummary(12, 400.0, 2.0)}, "cannot be"),
        ({"b": ArmSummary(12, 15.0, 900.0)}, "cannot be"),
        ({"sd_of_differences": 90.0}, "spread of differences"),
    ],
)
def test_averages_without_rows_that_cannot_be_are_refused(tmp_path, change, why):
    told = build.told(records=without_consent("C417"))
    primary = replace(told.findings.primary, **change)
    forged = replace(told, findings=replace(told.findings, primary=primary))
    path = tmp_path / "pack.zip"
    path.write_bytes(pack_bytes(forged))

    with pytest.raises(UserError, match=why):
        read_pack(path)


def test_silence_is_no_yes():
    clients = ORVANE.records.clients
    gone = clients[clients["client_code"] != "C417"].copy()
    gone.loc[gone["client_code"] == "C263", "consent_share_numbers"] = pd.NA
    contents = build.told(records=replace(ORVANE.records, clients=gone))

    assert contents.rows_withheld
    assert (contents.clients, contents.left_out) == (12, 2)


def test_a_client_without_a_result_stays_counted_as_missing():
    """C829 was not seen healed; leaving out another client must not hide that."""
    silent = without_consent("C417", "C263", "C675")
    kept = build.told(records=silent).findings.secondary[2]

    assert (kept.difference.n, kept.missing.n) == (8, 1)


def test_harm_is_counted_over_everybody_so_that_it_cannot_be_hidden():
    contents = build.told(records=without_consent("C675"))  # the client with an irritation

    assert contents.findings.safety == ORVANE.findings.safety
    assert "C675" not in everything(contents)
    first = next(i for i, line in enumerate(preview_lines(contents)) if "adverse event:" in line)
    rows = next(i for i, line in enumerate(preview_lines(contents)) if "differences.csv" in line)
    assert first < rows


def test_nobody_agreed():
    with pytest.raises(UserError, match="No client of this study agreed"):
        build.told(records=without_consent(*ORVANE.records.clients["client_code"]))


def test_an_answer_given_by_fewer_than_five_takes_its_whole_column_back():
    contents = build.told()
    clients = contents.frames["clients"]

    assert "age_band" in contents.withheld
    assert "sessions.deviation" in contents.withheld
    assert clients["age_band"].isna().all()
    assert set(clients["skin_type"]) == {"II"}
    for column in clients.columns.drop("client_code"):
        counts = clients[column].value_counts()
        assert counts.empty or counts.min() >= 5
    for name in ("sessions", "healed"):
        rows, table = contents.frames[name], contents.tables[name]
        for field in table.fields:
            if field.kind in ("choice", "flag") and not field.arm and field.name not in table.keys:
                answers = rows.dropna(subset=[field.name]).groupby(field.name)
                counts = answers["client_code"].nunique()
                assert counts.empty or counts.min() >= 5, f"{name}.{field.name}"


def test_small_counts_of_reasons_stay_and_large_ones_leave():
    flow = replace(
        ORVANE.findings.flow, not_eligible_reasons=("eye disease: 7",), lost_reasons=("1 lost",)
    )
    found, _ = deidentified(replace(ORVANE.findings, flow=flow))

    assert found.flow.not_eligible_reasons == ("eye disease: 7",)
    assert found.flow.lost_reasons == (KEPT_BACK,)
    assert found.secondary[2].missing.n == 1
    assert found.secondary[2].missing.reasons == (KEPT_BACK,)


def test_reasons_typed_by_hand_and_days_stay():
    told = replace(
        ORVANE.findings.provenance,
        locked="2026-01-26T09:00:00+00:00",
        stopped="Berta was unhappy",
        looks=("Unplanned look on 2026-03-01 after 8 clients: my sister asked.",
               "Something new of a later release on 2026-03-02."),
        changes=(Change("arms.A.steps", "old words", "new words"),),
        tampering=("journal.jsonl: line 7 (client enrolled, 2026-03-01T10:00:00) was changed.",),
    )  # fmt: skip
    found, _ = deidentified(replace(ORVANE.findings, provenance=told))
    text = json.dumps(found.to_dict()["provenance"])

    assert found.provenance.locked == "2026-01"
    assert found.provenance.stopped
    assert len(found.provenance.looks) == 2
    assert "not planned" in found.provenance.looks[0]
    assert "1 places" in found.provenance.tampering[0]
    for secret in ("Berta", "sister", "new words", "2026-03", "line 7"):
        assert secret not in text


def test_a_plan_that_tells_a_person_is_emptied_there_and_says_so():
    plan = replace(ORVANE.plan, study=replace(ORVANE.plan.study, setting="call 0171 2345678"))
    contents = build.told(findings=replace(ORVANE.findings, plan=plan))

    assert contents.plan_withheld == ("study.setting",)
    assert "2345678" not in everything(contents)
    assert "study.setting" in "\n".join(preview_lines(contents))


def test_a_plan_with_something_withheld_is_still_read(tmp_path):
    from pmulab.packs.reading import read_pack

    plan = replace(ORVANE.plan, study=replace(ORVANE.plan.study, setting="call 0171 2345678"))
    told = replace(ORVANE.findings.provenance, plan=plan.fingerprint)
    path = tmp_path / "pack.zip"
    contents = build.told(findings=replace(ORVANE.findings, plan=plan, provenance=told))
    path.write_bytes(pack_bytes(contents))

    assert read_pack(path).findings.plan.study.setting == "withheld"


@pytest.mark.parametrize("name", ["a" * 81, "Studio, phone 0171 2345678", "me@example.org"])
def test_a_name_that_tells_how_to_reach_somebody_is_refused(name):
    from pmulab.packs.contents import Source, contents

    source = Source(ORVANE.assignments, ORVANE.records, ORVANE.findings)
    with pytest.raises(UserError, match="cannot stand on a pack"):
        contents(source, lambda _: [], build.MADE, name)


def test_a_plan_that_was_never_locked_gives_no_pack():
    told = replace(ORVANE.findings.provenance, locked="")
    with pytest.raises(UserError, match="never locked"):
        build.told(findings=replace(ORVANE.findings, provenance=told))


def test_the_archive_tells_no_time_and_no_user():
    import zipfile
    from io import BytesIO

    with zipfile.ZipFile(BytesIO(build.packed())) as archive:
        assert {entry.date_time for entry in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert not any(entry.extra or entry.comment for entry in archive.infolist())


def test_the_preview_names_every_column_that_leaves():
    contents = build.told()
    told = "\n".join(preview_lines(contents))

    for name, frame in contents.frames.items():
        line = next(line for line in told.splitlines() if line.startswith(f"{name}.csv"))
        for column in frame.columns:
            assert (column in line) == frame[column].notna().any(), (name, column)
    assert "INVENTED DATA" in told
    assert "pigment_batch" in told
    assert "Never in a pack: photos" in told


@pytest.mark.parametrize(
    ("agreed", "told"),
    [
        (8, "8 clients agreed to share their numbers; 1 of them has no result. Rows of 7 clients"),
        (7, "7 clients agreed to share their numbers. Rows of 7 clients"),
    ],
)
def test_both_numbers_are_told_where_somebody_who_agreed_has_no_result(agreed, told):
    contents = replace(build.told(), agreed=agreed, clients=7)

    assert told in "\n".join(preview_lines(contents))
