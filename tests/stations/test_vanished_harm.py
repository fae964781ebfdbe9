"""Harm that was recorded once cannot vanish from the records without a trace.

How a deceit was tried: rows deleted from the workbook, the client called absent, a milder word
written over the graver one. That serious adverse events are reported whatever becomes of the
comparison is common practice, no source.
"""

import json

import pytest
from openpyxl import load_workbook
from stations.test_absent import drop_rows, values
from stations.test_enrol import REVIEW, event
from studies import ANSWERS, code_of, enrolled_study, fill_workbook

from pmulab.errors import UserError
from pmulab.stations.absent import absent
from pmulab.stations.amend import amend
from pmulab.stations.analyse import analyse
from pmulab.stations.check import check
from pmulab.stations.enrol import enrol
from pmulab.stations.pack import pack
from pmulab.stations.preview import preview
from pmulab.stations.slides import slides

LAST = code_of(7)


@pytest.fixture
def study(tmp_path):
    """Seven clients; the seventh was hurt, and a check has seen it."""
    made = enrolled_study(tmp_path / "study", 7)
    fill_workbook(made, values(range(1, 8)), events=[event(7)])
    sign_out(made)
    check(made)
    return made


def sign_out(study):
    """Take out the 'none seen' of the client who was hurt."""
    change(study, lambda row: row["event"] == "none_seen" and row["client_code"] == LAST, None)


def change(study, which, new):
    """Write over cells of the rows of 'events' that are meant, or delete the rows."""
    book = load_workbook(study.path("records.xlsx"))
    sheet = book["events"]
    names = [str(cell.value).removesuffix(" *") for cell in sheet[1]]
    for number in range(sheet.max_row, 1, -1):
        cells = dict(zip(names, sheet[number], strict=True))
        if which({name: cell.value for name, cell in cells.items()}):
            if new is None:
                sheet.delete_rows(number)
            for name, value in (new or {}).items():
                cells[name].value = value
    book.save(study.path("records.xlsx"))


def readings(study):
    return [one.detail for one in study.journal() if one.event == "records read"]


def test_each_reading_is_written_down_once_and_small(study):
    check(study)
    analyse(study, stopped="harm")

    (only,) = readings(study)
    assert only["harm"] == {LAST: [["corneal_injury", "severe", True]]}
    assert LAST in only["worked"]
    assert len(json.dumps(only)) < 300


def test_whom_an_earlier_reading_saw_worked_is_not_absent(study):
    drop_rows(study, LAST)
    with pytest.raises(UserError, match="On 2026-05-05 the sessions said") as refused:
        absent(study, LAST, "moved")
    assert "amend" in refused.value.remedy

    amend(study, "these rows belonged to nobody in this study")
    assert absent(study, LAST, "moved").value.event == "client never came"


def test_vanished_harm_is_an_alarm_on_every_output(study):
    drop_rows(study, LAST)
    told = check(study)
    assert told.found_problems
    assert f"no longer in the records: corneal injury (severe, serious) of {LAST}" in str(told)

    found = analyse(study, stopped="for other reasons")
    slides(study)
    outputs = [str(found), preview(study).value, study.path("slides.html").read_text()]
    for page in outputs:
        assert "no longer in the records: corneal injury (severe, serious)" in page
        assert LAST not in page
    for page in (*outputs, str(pack(study, preview=True))):
        assert "1 earlier recorded event no longer in the records" in page
        assert "No adverse event was seen" not in page
    assert found.value.safety.upper_limit is None
    assert "harm that was recorded earlier is missing from the records" in (
        found.value.primary.verdict.reasons
    )


def test_vanished_harm_opens_no_card(tmp_path):
    made = enrolled_study(tmp_path / "study", 7, planned=9)
    fill_workbook(made, values(range(1, 8)), events=[event(7)])
    with pytest.raises(UserError, match="PAUSE NOW: a serious"):
        enrol(made, "C300", ANSWERS)
    drop_rows(made, LAST)
    with pytest.raises(UserError, match="PAUSE NOW: An earlier recorded event"):
        enrol(made, "C300", ANSWERS, reviewed=REVIEW)

    amend(made, "the row stood under a wrong code")
    assert enrol(made, "C300", ANSWERS).value is not None


def test_an_honest_correction_explains_it_and_stands_on_the_handout(study):
    nothing = dict.fromkeys(event(7).keys() - {"client_code", "session_no", "signed_by"})
    blank = nothing | {"event": "none_seen"}
    change(study, lambda row: row["event"] == "corneal_injury", blank)
    amend(study, "typed into the wrong study")

    assert "no longer in the records" not in str(check(study))
    analyse(study)
    page = preview(study).value
    assert "typed into the wrong study. It took out recorded harm: corneal injury" in page
    assert "1 earlier recorded event taken out or made milder by a correction" in page
    assert "No adverse event was seen" not in page


def test_harm_that_reads_milder_is_told(tmp_path):
    made = enrolled_study(tmp_path / "study", 7)
    mild = {"severity": "mild", "serious": "no"}
    fill_workbook(made, {}, events=[event(7, "eye_irritation")])
    check(made)
    change(made, lambda row: row["event"] == "eye_irritation", mild)

    assert "reads milder now: eye irritation (severe, serious)" in str(check(made))


def test_what_is_filled_in_later_alarms_nobody(tmp_path):
    made = enrolled_study(tmp_path / "study", 7)
    fill_workbook(made, {}, events=[event(7, "eye_irritaton", severity="", serious="")])
    check(made)
    change(
        made,
        lambda row: row["event"] == "eye_irritaton",
        {"event": "eye_irritation", "severity": "mild", "serious": "no"},
    )

    assert "earlier recorded event" not in str(check(made))
    assert "earlier recorded event" not in str(check(made))


def test_a_journal_of_an_earlier_release_remembers_nothing_and_is_read(tmp_path):
    made = enrolled_study(tmp_path / "study", 3)
    assert readings(made) == []
    fill_workbook(made, {})
    assert "earlier recorded" not in str(check(made))


def test_an_earlier_injury_and_its_review_stand_above_every_later_card(tmp_path):
    made = enrolled_study(tmp_path / "study", 4, planned=9)
    fill_workbook(made, {}, events=[event(1, outcome="ongoing")])
    enrol(made, "C300", ANSWERS, reviewed=REVIEW)
    later = enrol(made, "C301", ANSWERS).lines

    reminder = next(n for n, line in enumerate(later) if line.startswith("Reviewed on 2026-05-05"))
    card = next(n for n, line in enumerate(later) if line.startswith("Her card:"))
    assert reminder < card
    assert "corneal injury of C101 (still ongoing, began 2026-01-06)" in later[reminder]
    assert REVIEW in later[reminder]
    assert any("physician's word decides" in line for line in later[:card])

    change(made, lambda row: row["event"] == "corneal_injury", {"outcome": "resolved"})
    assert "corneal injury of C101 (resolved" in str(enrol(made, "C302", ANSWERS))
    change(made, lambda row: row["client_code"] == "C101" and row["event"] == "none_seen", None)
    (told,) = analyse(made, stopped="enough").value.provenance.harm
    assert REVIEW in told
    assert "Cards opened since then: 3" in told
    page = preview(made).value
    assert REVIEW in page
    assert "C101" not in page


@pytest.mark.parametrize("words", ["me, ok", "ok ok ok ok", "reviewed everything"])
def test_a_review_says_who_and_what(tmp_path, words):
    made = enrolled_study(tmp_path / "study", 4, planned=9)
    fill_workbook(made, {}, events=[event(1)])
    with pytest.raises(UserError, match="does not say who") as refused:
        enrol(made, "C300", ANSWERS, reviewed=words)
    assert "Eye doctor saw" in refused.value.remedy
    assert len(made.assignments()) == 4


def test_harm_comes_before_any_reading_of_any_outcome(study):
    found = analyse(study)
    text = str(found)

    assert "Main outcome. Harm comes first: whether a way is used at all" in text
    for words in ("A new study of about", "cost or comfort", "plan a new study", "second studio"):
        assert words not in text
        assert words not in preview(study).value
