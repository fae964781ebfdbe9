"""Enrolment stops when it has to, keeps what was saved, and never opens a card twice."""

import csv
import json

import pandas as pd
import pytest
from studies import ANSWERS, clock, code_of, enrolled_study, fill_workbook

from pmulab.errors import UserError
from pmulab.stations.analyse import analyse
from pmulab.stations.check import check
from pmulab.stations.enrol import enrol
from pmulab.study import Study

REVIEW = "Eye physician saw both clients; the insurer agreed (invented)."


def event(number, kind="corneal_injury", **other):
    row = {
        "client_code": code_of(number), "session_no": "1", "side": "R",
        "onset_date": "2026-01-06", "event": kind, "severity": "severe", "serious": "yes",
        "related": "possible", "referred_to": "eye_doctor", "referred_date": "2026-01-06",
        "outcome": "resolved", "series_action": "stopped", "signed_by": "P1",
    }  # fmt: skip
    return row | other


def with_events(folder, *events):
    study = enrolled_study(folder, 4, planned=8)
    fill_workbook(study, {}, events=list(events))
    return study


def add_events(study, *events):
    """Give more events in a table of their own beside the workbook."""
    pd.DataFrame(list(events)).to_csv(study.path("events.csv"), index=False)


def enrolled(study):
    return [one.client_code for one in study.assignments()]


def crash_at(monkeypatch, event_name):
    """Break off at the journal line of an event."""
    whole = Study.record

    def record(self, event, **detail):
        if event == event_name:
            raise KeyboardInterrupt
        return whole(self, event, **detail)

    monkeypatch.setattr(Study, "record", record)


def test_a_stopped_study_enrols_nobody(tmp_path):
    study = with_events(tmp_path / "study")
    analyse(study, stopped="two irritations")
    before = study.path("clients.csv").read_bytes()

    with pytest.raises(UserError, match="two irritations"):
        enrol(study, "C300", ANSWERS, reviewed=REVIEW)
    assert study.path("clients.csv").read_bytes() == before
    assert len(study.assignments()) == 4


def test_an_event_that_asks_for_a_pause_stops_enrolment_until_it_is_reviewed(tmp_path):
    study = with_events(tmp_path / "study", event(1))
    before = study.path("clients.csv").read_bytes()

    with pytest.raises(UserError, match="PAUSE NOW: a serious adverse event") as refusal:
        enrol(study, "C300", ANSWERS, reviewed="  ")
    assert "physician" in refusal.value.remedy
    assert "--reviewed" in refusal.value.remedy
    assert study.path("clients.csv").read_bytes() == before

    assert enrol(study, "C300", ANSWERS, reviewed=REVIEW).value is not None
    kept = [e.detail for e in study.journal() if e.event == "reviewed after an adverse event"]
    assert [one["reviewed"] for one in kept] == [REVIEW]
    assert kept[0]["stop"].startswith("a serious adverse event")
    assert enrol(study, "C301", ANSWERS).value is not None


@pytest.mark.parametrize("kind", ["corneal_injury", "infection"])
def test_a_review_counts_for_nothing_that_came_after_it(tmp_path, kind):
    study = with_events(tmp_path / "study", event(1))
    enrol(study, "C300", ANSWERS, reviewed=REVIEW)
    add_events(study, event(2, kind))

    with pytest.raises(UserError, match="PAUSE NOW"):
        enrol(study, "C301", ANSWERS)


def test_a_review_counts_for_no_second_event_of_the_same_client(tmp_path):
    """However alike the two are; common practice, no source."""
    study = with_events(tmp_path / "study", event(1))
    enrol(study, "C300", ANSWERS, reviewed=REVIEW)
    add_events(study, event(1, session_no="2", onset_date="2026-01-20"))
    assert "PAUSE NOW" in check(study).lines[0]

    with pytest.raises(UserError, match="PAUSE NOW"):
        enrol(study, "C301", ANSWERS)
    assert enrol(study, "C301", ANSWERS, reviewed=f"{REVIEW} Again.").value is not None
    assert enrol(study, "C302", ANSWERS).value is not None


def test_a_review_that_nothing_asks_for_is_not_kept_in_stock(tmp_path):
    study = enrolled_study(tmp_path / "study", 4, planned=8)
    with pytest.raises(UserError, match="asks for a review"):
        enrol(study, "C300", ANSWERS, reviewed=REVIEW)
    fill_workbook(study, {}, events=[event(1, "eye_irritation", severity="mild", serious="no")])
    with pytest.raises(UserError, match="asks for a review"):
        enrol(study, "C300", ANSWERS, reviewed=REVIEW)

    assert enrol(study, "C300", ANSWERS).value is not None


def test_records_that_cannot_be_read_open_no_card(tmp_path):
    study = enrolled_study(tmp_path / "study", 2, planned=8)
    study.path("records.xlsx").write_bytes(b"no workbook at all")
    with pytest.raises(UserError, match="adverse events cannot be read"):
        enrol(study, "C300", ANSWERS)

    study.path("records.xlsx").unlink()
    assert enrol(study, "C300", ANSWERS).value is not None


def test_the_check_says_the_pause_first(tmp_path):
    study = with_events(tmp_path / "study", event(1))
    answer = check(study)

    assert answer.lines[0].startswith("PAUSE NOW: ")
    assert answer.found_problems
    enrol(study, "C300", ANSWERS, reviewed=REVIEW)
    later = check(study)
    assert later.lines[0].startswith("Reviewed on 2026-05-05 after corneal injury of C101")
    assert REVIEW in later.lines[0]
    assert "new harm pauses again" in later.lines[0]
    assert "Stop the series" not in str(later)
    assert later.found_problems


@pytest.mark.parametrize("reason", ["yes", "no"])
def test_answers_saved_before_a_crash_are_not_exchanged(tmp_path, monkeypatch, reason):
    study = enrolled_study(tmp_path / "study", 1, planned=8)
    other = {"yes": "no", "no": "yes"}[reason]
    crash_at(monkeypatch, "client enrolled" if reason == "no" else "client not enrolled")
    with pytest.raises(KeyboardInterrupt):
        enrol(study, "C900", ANSWERS | {"pregnant_or_nursing": reason})
    monkeypatch.undo()

    with pytest.raises(
        UserError, match=r"other answers: Pregnant or breast-feeding, Can take part"
    ):
        enrol(study, "C900", ANSWERS | {"pregnant_or_nursing": other})
    assert enrolled(study) == [code_of(1)]
    answer = enrol(study, "C900", ANSWERS | {"pregnant_or_nursing": reason})
    assert (answer.value is not None) == (reason == "no")
    assert study.tampering() == ()


def test_nobody_gets_the_card_of_a_client_whose_journal_line_is_gone(tmp_path):
    study = enrolled_study(tmp_path / "study", 3, planned=8)
    third = study.assignments()[2].slot
    journal = study.path("journal.jsonl")
    journal.write_bytes(b"".join(journal.read_bytes().splitlines(keepends=True)[:-1]))

    gone, waiting = study.tampering()
    assert "its last lines, up to line 5, are gone" in gone
    assert "holds no card for this client" in waiting
    with pytest.raises(UserError, match=f"{code_of(3)} takes part"):
        enrol(study, "C300", ANSWERS)
    assert enrol(study, code_of(3), ANSWERS).value.slot == third


def spreadsheet(text, change):
    """The list of clients as another program would save it."""
    rows = list(csv.reader(text.splitlines()))
    changes = {
        "semicolons": lambda: "\n".join(";".join(row) for row in rows) + "\n",
        "no line end": lambda: text.rstrip("\n"),
        "other order": lambda: "\n".join(",".join(row[::-1]) for row in rows) + "\n",
        "marked, with other line ends": lambda: "\ufeff" + text.replace("\n", "\r\n"),
        "a column more": lambda: "\n".join(",".join([*row, "mine"]) for row in rows) + "\n",
        "empty": lambda: "",
    }
    return changes[change]().encode()


@pytest.mark.parametrize(
    "change",
    ["semicolons", "no line end", "other order", "marked, with other line ends", "a column more"],
)
def test_a_row_fits_the_list_as_another_program_saved_it(tmp_path, change):
    study = enrolled_study(tmp_path / "study", 2, planned=8)
    path = study.path("clients.csv")
    path.write_bytes(spreadsheet(path.read_text(), change))
    before = path.read_bytes()
    enrol(study, "C300", ANSWERS)

    assert path.read_bytes().startswith(before)
    frame = pd.read_csv(path, sep=None, engine="python", dtype=str, encoding="utf-8-sig")
    assert list(frame["client_code"]) == [code_of(1), code_of(2), "C300"]
    last = frame.iloc[-1]
    assert {name: last[name] for name in ANSWERS} == ANSWERS
    assert last["eligible"] == "yes"
    assert study.tampering() == ()


@pytest.mark.parametrize(
    "spoil",
    [
        lambda text: "\n".join(line.partition(",")[2] for line in text.splitlines()).encode(),
        lambda text: text.replace("contacts", "lenses", 1).encode(),
        lambda text: (text + '"C200,\n').encode(),
        lambda text: text.encode("utf-16"),
    ],
)
def test_a_list_that_lost_its_form_opens_no_card(tmp_path, spoil):
    study = enrolled_study(tmp_path / "study", 2, planned=8)
    path = study.path("clients.csv")
    path.write_bytes(spoil(path.read_text()))
    before, known = path.read_bytes(), study.journal()

    with pytest.raises(UserError, match=r"clients\.csv"):
        enrol(study, "C300", ANSWERS)
    assert path.read_bytes() == before
    assert study.journal() == known


def test_clients_missing_from_the_list_are_told(tmp_path):
    study = enrolled_study(tmp_path / "study", 2, planned=8)
    study.path("clients.csv").write_text("")

    assert len(study.tampering()) == 2
    assert not [one for one in study.tampering() if code_of(1) in one]


def test_cards_of_another_draw_open_nothing(tmp_path):
    study = enrolled_study(tmp_path / "study", 2, planned=8)
    other = enrolled_study(tmp_path / "other", 0, planned=8)
    study.path("allocation.csv").write_bytes(other.path("allocation.csv").read_bytes())

    with pytest.raises(UserError, match="other cards"):
        enrol(study, "C300", ANSWERS)
    assert "C300" not in study.path("clients.csv").read_text()


def test_a_journalled_card_that_does_not_exist_is_told(tmp_path):
    study = enrolled_study(tmp_path / "study", 1, planned=8)
    journal = study.path("journal.jsonl")
    *lines, last = journal.read_text().splitlines()
    entry = json.loads(last)
    entry["detail"]["slot"] = 99
    journal.write_text("\n".join([*lines, json.dumps(entry)]) + "\n")

    with pytest.raises(UserError, match="no such card"):
        enrol(Study(study.folder, clock()), "C300", ANSWERS)


@pytest.mark.parametrize("answer", ["", "???", "2999-01-01"])
def test_what_is_refused_is_named_as_the_form_names_it(tmp_path, answer):
    """An artist knows the titles of her questions; names of columns stand in no form."""
    study = enrolled_study(tmp_path / "study", 0, planned=8)
    table = study.plan().tables()["clients"]
    columns = {name for name in table.names if "_" in name}
    known = ("client_code", "eligible", "eligible_reason")
    asked = [field for field in table.fields if field.name not in known]
    agreed = {"consent_share_photos": "yes", "consent_share_photos_date": "2026-01-01"}
    for field in (one for one in asked if answer or one.needed == "always"):
        with pytest.raises(UserError) as refused:
            enrol(study, "C300", ANSWERS | agreed | {field.name: answer})
        assert f"'{field.title}'" in str(refused.value)
        assert not [name for name in columns if name in str(refused.value)]


def test_a_consent_that_nobody_knows_is_named_as_the_form_names_it(tmp_path):
    study = enrolled_study(tmp_path / "study", 0, planned=8)
    with pytest.raises(UserError, match="'Consent to record': whether she agrees"):
        enrol(study, "C300", ANSWERS | {"consent_record": "NA_not_done"})


def test_a_refused_answer_is_shown_as_it_was_typed(tmp_path):
    study = enrolled_study(tmp_path / "study", 0, planned=8)
    with pytest.raises(UserError, match="120,5 in 'Skin tone angle' cannot be"):
        enrol(study, "C300", ANSWERS | {"skin_ita_deg": "120,5"})
