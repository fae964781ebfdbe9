"""Wherever she looks first, harm that waits for a review is said first.

That nobody else is worked on before a serious event was reviewed is common practice, no source.
"""

import re
from datetime import timedelta

import pytest
from openpyxl import load_workbook
from stations.test_absent import values
from stations.test_enrol import REVIEW, event
from stations.test_vanished_harm import LAST, change, sign_out
from studies import ANSWERS, code_of, enrolled_study, fill_workbook

from pmulab.entries import AMENDED, Entry
from pmulab.errors import UserError
from pmulab.findings import read_findings
from pmulab.panels import Analyse, ChooseStudy, Enrol
from pmulab.panels import Records as RecordsForm
from pmulab.sharing.slides import deck
from pmulab.stations.absent import absent
from pmulab.stations.amend import amend
from pmulab.stations.analyse import analyse
from pmulab.stations.check import check, records_of
from pmulab.stations.earlier_harm import earlier_harm, harm_told
from pmulab.stations.enrol import enrol
from pmulab.stations.handout import handout
from pmulab.stations.memory import READ, waiting
from pmulab.stations.pack import pack
from pmulab.stations.reviews import REVIEWED, still_open
from pmulab.stations.standing import standing
from pmulab.wording import HEADINGS
from pmulab.wording.comparisons import HARM_FIRST


@pytest.fixture
def study(tmp_path):
    """Seven of eight clients; the seventh was hurt, and a check has seen it."""
    made = enrolled_study(tmp_path / "study", 7, planned=8)
    fill_workbook(made, values(range(1, 8)), events=[event(7)])
    sign_out(made)
    check(made)
    return made


def test_the_next_step_is_to_pause_until_it_was_reviewed(study):
    assert standing(study).value.next_step.startswith("PAUSE NOW: corneal injury (severe, serious)")
    enrol(study, code_of(8), ANSWERS, reviewed=REVIEW)
    assert "PAUSE NOW" not in standing(study).value.next_step


def test_a_stopped_study_asks_to_see_everybody_again(study):
    analyse(study, stopped="an eye was hurt")
    told = standing(study).value.next_step
    assert told.startswith("This study was stopped on ")
    assert "Everybody who was worked on still gets her healed visit" in told
    slides = deck(read_findings(study.path("findings.json").read_text())).slides
    (seen,) = (one for one in slides if one.title == HEADINGS["seen"])
    assert HARM_FIRST in str(seen.rows[0])


def test_nothing_of_a_stopped_study_asks_to_pause_it(study):
    """Findings, check, handout, slides, pack and forms: it was stopped, and all are seen again."""
    shown = analyse(study, stopped="an eye was hurt")
    handed_on = (
        handout(study).value.read_text(),
        str(slides_of(study)),
        str(pack(study, preview=True)),
    )
    told = (
        str(shown),
        str(check(study)),
        *handed_on,
        Enrol(study.folder)._fields.children[0].value,
    )

    for words in told:
        assert "PAUSE NOW" not in words
        assert "This study was stopped" in words
        assert "still gets her healed visit" in words
    for words in told[:-1]:
        assert "What the records say: a serious adverse event was recorded" in words


def test_a_study_stopped_for_another_reason_says_so_too(tmp_path):
    made = enrolled_study(tmp_path / "study", 7, planned=8)
    fill_workbook(made, values(range(1, 8)))
    told = str(analyse(made, stopped="no further clients"))

    assert "still gets her healed visit" in told
    assert "What the records say" not in told


def slides_of(study):
    found = read_findings(study.path("findings.json").read_text())
    return [(slide.rows, slide.notes) for slide in deck(found).slides]


def test_the_forms_say_it_first_and_as_an_alarm(study):
    assert "PAUSE NOW: corneal injury" in Enrol(study.folder)._fields.children[0].value
    form = Analyse(study.folder)
    form.press()
    first = form.said.value.index("PAUSE NOW")
    assert first < form.said.value.index("the arms stay hidden")
    assert "pmulab-problem" in form.said.value


def test_a_client_with_an_event_was_not_absent(tmp_path):
    made = enrolled_study(tmp_path / "study", 7, planned=8)
    fill_workbook(made, values(range(1, 8)), events=[event(7)])
    book = load_workbook(made.path("records.xlsx"))
    sheet = book["sessions"]
    for row in range(sheet.max_row, 1, -1):
        if sheet.cell(row, 1).value == code_of(7):
            sheet.delete_rows(row)
    book.save(made.path("records.xlsx"))

    with pytest.raises(UserError, match=f"An adverse event of {code_of(7)} is recorded"):
        absent(made, code_of(7), "moved away")


INJURY = ["corneal_injury", "severe", True]
"""A kind that stops at once (common practice, no source)."""


def journal(*steps):
    """Lines of a journal: harm of clients by their codes as read, reviewed or amended."""
    return [Entry(at, "2026-01-06", event, {"harm": harm}, "") for at, (event, harm) in
            enumerate(steps, start=1)]  # fmt: skip


def hurt(*steps):
    return [one.client_code for one in waiting(journal(*steps))]


def test_a_second_identical_event_waits_though_the_first_was_reviewed():
    """Nobody has reviewed the second, however alike the two are."""
    one, two = {"C101": [INJURY]}, {"C101": [INJURY, INJURY]}
    assert hurt((READ, one)) == ["C101"]
    assert hurt((READ, one), (REVIEWED, {})) == []
    assert hurt((READ, one), (REVIEWED, {}), (READ, two)) == ["C101"]
    assert hurt((READ, two)) == ["C101", "C101"]
    assert hurt((READ, two), (REVIEWED, {})) == []


def test_harm_of_two_clients_is_never_taken_for_one():
    first, second = (READ, {"C101": [INJURY]}), (READ, {"C102": [INJURY]})
    assert hurt(first, (REVIEWED, {}), second) == ["C102"]


def test_what_waits_is_what_stops_at_once():
    mild, graver = ["eye_irritation", "mild", False], ["eye_irritation", "severe", True]
    assert hurt((READ, {"C101": [mild]})) == []
    assert hurt((READ, {"C101": [mild]}), (REVIEWED, {}), (READ, {"C101": [graver]})) == ["C101"]


def test_what_was_corrected_waits_no_more_and_read_again_waits_again():
    read, gone = (READ, {"C101": [INJURY]}), (AMENDED, {"C101": []})
    assert hurt(read, gone) == []
    assert hurt(read, gone, read) == ["C101"]


def test_an_empty_journal_waits_for_nothing():
    assert waiting([]) == ()


def page(study):
    """The overview, the choice and the forms of notebook 02 that follow it, and the check."""
    chosen = ChooseStudy(study.folder)
    return chosen, Enrol(chosen), RecordsForm(chosen)


def next_step(chosen):
    return str(chosen.shows(standing).now()["text/plain"])


def test_the_forms_look_again_once_a_check_has_read_new_harm(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    made = enrolled_study(tmp_path / "study", 7, planned=8)
    fill_workbook(made, values(range(1, 8)))
    chosen, asking, checking = page(made)
    looked = []
    chosen.follow(lambda: looked.append(next_step(chosen)))
    checking.press()
    assert looked == []

    change(made, lambda row: row["client_code"] == code_of(7), event(7))
    checking.press()
    assert len(looked) == 1
    assert "PAUSE NOW: corneal injury" in looked[0]
    assert "PAUSE NOW: corneal injury" in asking._fields.children[0].value
    assert "PAUSE NOW" in checking.said.value
    checking.press()
    assert len(looked) == 1


SOFTER = {"event": "eye_irritation", "severity": "mild", "serious": "no"}
PUT_BACK = "Put the row back. If the row itself was wrong, say why"


@pytest.mark.parametrize("new", [None, SOFTER])
def test_harm_that_vanished_has_to_be_put_back_wherever_she_looks(study, monkeypatch, new):
    monkeypatch.chdir(study.folder.parent)
    kept = study.path("records.xlsx").read_bytes()
    change(study, lambda row: row["event"] == "corneal_injury", new)
    chosen, asking, checking = page(study)
    checking.press()

    told = (
        str(check(study)),
        checking.said.value,
        standing(study).value.next_step,
        asking._fields.children[0].value,
        next_step(chosen),
    )
    for words in told:
        assert "PAUSE NOW: An earlier recorded event" in words
        assert PUT_BACK in words
    assert "here blocks" not in checking.said.value
    assert "next client (" not in standing(study).value.next_step

    study.path("records.xlsx").write_bytes(kept)
    check(study)
    if new is not None:  # what stood in its place was read too
        assert "eye irritation (mild)" in standing(study).value.next_step
        amend(study, "written over the row of the injury by mistake")
    assert standing(study).value.next_step.startswith("PAUSE NOW: corneal injury")


def test_harm_that_was_corrected_with_a_reason_holds_nobody_up(study):
    change(study, lambda row: row["event"] == "corneal_injury", SOFTER)
    check(study)
    amend(study, "the eye doctor found no injury at all")
    assert "PAUSE NOW" not in standing(study).value.next_step


def test_a_row_of_harm_is_completed_and_never_written_away(study):
    change(study, lambda row: row["event"] == "corneal_injury", {"severity": None})
    checking = RecordsForm(study.folder)
    assert checking.press().value.blocks
    assert "Put these places right" not in checking.said.value
    assert "Never take a recorded event out" in checking.said.value


def test_what_was_reviewed_and_is_not_over_stays_in_sight_without_another_check(study):
    change(study, lambda row: row["event"] == "corneal_injury", {"outcome": "ongoing"})
    enrol(study, code_of(8), ANSWERS, reviewed=REVIEW)
    told = standing(study).value.next_step
    assert "PAUSE NOW" not in told
    assert f"corneal injury of {LAST} (still ongoing, began 2026-01-06)" in told
    assert "physician's word decides" in told

    change(study, lambda row: row["event"] == "corneal_injury", {"outcome": "resolved"})
    assert check(study).data["harm_news"]
    assert LAST not in standing(study).value.next_step


def test_a_review_is_handed_on_in_days_and_never_with_a_date(tmp_path):
    """As the photos and the healed visits are; a client may be known by the day of her visit."""
    made = enrolled_study(tmp_path / "study", 4, planned=9)
    fill_workbook(made, values(range(1, 5)), events=[event(1, outcome="ongoing")])
    began = session_day(made, code_of(1)) + timedelta(days=3)
    onset = {"onset_date": began.isoformat()}
    change(made, lambda row: row["event"] == "corneal_injury", onset)
    enrol(made, "C300", ANSWERS, reviewed=REVIEW)
    assert f"began {began.isoformat()}" in str(check(made))

    earlier = earlier_harm(made, records_of(made)[0])
    for told in (earlier.reviewed, *harm_told(made, records_of(made)[0])):
        assert "corneal injury (still ongoing, began 3 days after the work)" in told
        assert REVIEW in told
        assert not re.search(r"\d{4}-\d\d", told)


def session_day(study, code):
    sessions = records_of(study)[0].sessions
    return sessions.loc[sessions["client_code"] == code, "session_date"].max().date()


def test_whoever_reviews_is_told_that_the_words_are_printed(study):
    with pytest.raises(UserError) as refused:
        enrol(study, code_of(8), ANSWERS, reviewed="me, ok")
    for told in (refused.value.remedy, str(texts(Enrol(study.folder)._fields))):
        assert "printed on the handout: no names, no dates" in told


def texts(box):
    return [getattr(box, "value", ""), *map(texts, getattr(box, "children", ()))]


def test_vanished_harm_is_handed_on_without_a_date(study):
    change(study, lambda row: row["event"] == "corneal_injury", None)
    (told,) = harm_told(study, records_of(study)[0])
    assert "read on" not in told
    assert LAST not in told


@pytest.mark.parametrize("outcomes", [("ongoing", "resolved"), ("resolved", "ongoing")])
def test_of_two_alike_the_one_that_is_not_over_is_told(outcomes):
    rows = [["C101", "eye_irritation", "", one] for one in outcomes]
    entry = Entry(1, "2026-01-06", REVIEWED, {"events": rows}, "")
    assert "eye irritation of C101 (still ongoing)" in still_open([entry])


def test_a_spoiled_line_of_the_journal_breaks_no_list_of_studies():
    assert still_open([Entry(1, "2026-01-06", REVIEWED, {"events": [None, ["C101"]]}, "")]) == ""
