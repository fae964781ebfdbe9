"""Values measured from photos are laid beside typed ones; nothing typed is ever overwritten."""

import pytest
from studies import HEALED, enrolled_study, fill_workbook

from pmulab.stations.check import check, records_of

HEAD = "photo_code,photo_quality,kept_pct,width_mm,spread_mm,contrast_de00,itaskin\n"


def study(folder, **healed):
    made = enrolled_study(folder / "s", 2, table="healed", name="own_value")
    values = {(f"C10{n}", arm): 1.0 for n in (1, 2) for arm in "AB"}
    fill_workbook(made, values, healed={"photo_code": "P1"} | healed)
    (made.path("photos")).mkdir()
    return made


def measured(made, *rows):
    made.path("photos/measured.csv").write_text(HEAD + "\n".join(rows) + "\n", encoding="utf-8")
    return records_of(made)


def problems(report, *codes):
    return [p for p in report.problems if p.code in codes]


def test_blanks_are_filled_and_typed_values_stay(tmp_path):
    made = study(tmp_path, width_mm="1.1", photo_quality="ok")
    records, report = measured(made, "P1,ok,87.5,1.12,0.30,38.2,44.0")

    rows = records.healed
    assert set(rows["kept_pct"]) == {87.5}
    assert set(rows["width_mm"]) == {1.1}  # typed, and the measured one rounds to it
    assert set(rows["spread_mm"]) == {0.3}
    assert problems(report, "photo_disagrees", "photo_not_named", "missing_column") == []


def test_a_clash_is_a_problem_and_the_typed_value_is_kept_in_its_file(tmp_path):
    made = study(tmp_path, width_mm="1.5")
    before = made.path("records.xlsx").read_bytes()
    _, report = measured(made, "P1,ok,87.5,1.12,0.30,38.2,44.0")

    found = problems(report, "photo_disagrees")
    assert {p.column for p in found} == {"width_mm"}
    assert all(p.file == "records.xlsx" and p.row and "1.12" in p.what for p in found)
    assert found[0].severity == "blocks analysis"
    assert made.path("records.xlsx").read_bytes() == before


def test_a_reason_that_was_typed_gives_way_to_a_value_and_a_refusal_keeps_its_reason(tmp_path):
    made = study(tmp_path, spread_mm="NA_not_done", photo_quality="NA_not_done")
    records, _ = measured(made, "P1,blurred" + ",NA_not_done" * 5)

    assert set(records.healed["photo_quality"]) == {"blurred"}
    assert records.healed["spread_mm"].isna().all()
    told = records.missing[records.missing["column"] == "kept_pct"]
    assert set(told["reason"]) == {"NA_not_done"}


def test_a_photo_that_no_row_names_is_pointed_out(tmp_path):
    _, report = measured(study(tmp_path), "P2,ok,87.5,1.12,0.30,38.2,44.0")

    [found] = problems(report, "photo_not_named")
    assert (found.file, found.row, found.value) == ("measured.csv", 2, "P2")


@pytest.mark.parametrize(
    ("row", "what"),
    [("P1,ok,870,1.12,0.3,38,44", "kept_pct"), ("P1,ok,87,wide,0.3,38,44", "width_mm"),
     ("P1,lovely,87,1,0.3,38,44", "photo_quality")],
)  # fmt: skip
def test_the_file_is_checked_like_any_other(tmp_path, row, what):
    made = study(tmp_path, photo_quality="")
    _, report = measured(made, row)

    assert any(p.column == what for p in report.problems)


@pytest.mark.parametrize("content", [b"", b"\x00\x01", b"PK\x03\x04", b"a;b\n1;2\n"])
def test_a_broken_file_is_told_and_the_records_stay_readable(tmp_path, content):
    made = study(tmp_path)
    made.path("photos/measured.csv").write_bytes(content)

    report = check(made).value
    assert any(p.file == "measured.csv" for p in report.problems)


def test_without_photos_nothing_changes(tmp_path):
    made = study(tmp_path)
    records, _ = records_of(made)

    assert records.healed["kept_pct"].isna().all()
    assert set(HEALED) <= set(records.healed.columns)
