"""The forms of notebooks 02, 05 and 06."""

from datetime import date

import pytest

import pmulab
from pmulab import panels
from pmulab.findings import Findings, Running
from pmulab.study import RECORDS, Study


def again(line):
    """Run a shown line as a notebook would."""
    return eval(line, {name: getattr(pmulab, name) for name in dir(pmulab)})


def upload(form, name, content):
    """Do what the browser does when a file is chosen."""
    told = {"name": name, "size": len(content)}
    form.upload._handle_custom_msg(told, [memoryview(content)])


def fill(form, code, answers):
    form.inputs["client_code"].value = code
    for name, answer in answers.items():
        value = date.fromisoformat(answer) if name.endswith("_date") else answer
        form.inputs[name].value = value


def test_every_question_of_the_clients_table_is_asked_but_what_is_worked_out(locked):
    asked = set(panels.Enrol(locked).inputs)
    fields = set(Study(locked).plan().tables()["clients"].names)

    assert asked - fields == {"reviewed"}
    assert fields - asked == {"eligible", "eligible_reason", "consent_withdrawn"}


def test_a_card_is_opened_in_large_letters(locked, answers):
    form = panels.Enrol(locked)
    fill(form, "C101", answers)
    line = str(form.call())
    assignment = form.press().value

    first = "LEFT" if assignment.slot.first == "L" else "RIGHT"
    label = Study(locked).plan().arms.label(assignment.slot.arm_of(assignment.slot.first))
    assert f"First: {first} eyelid, <strong>{label}</strong>" in form.details.value
    assert line.startswith("enrol(study='wipes', client_code='C101', answers={")
    assert form.inputs["client_code"].value == ""


def test_the_card_shows_the_agreed_steps_beside_each_eyelid(locked, answers):
    form = panels.Enrol(locked)
    fill(form, "C101", answers)
    slot = form.press().value.slot
    plan = Study(locked).plan()
    shown = form.details.value

    first, then = (dict(plan.arms.both)[key] for key in slot.ways)
    places = [
        shown.index(words)
        for arm in (first, then)
        for words in (f"<strong>{arm.label}</strong>", arm.steps.splitlines()[0])
    ]
    assert places == sorted(places)
    assert first.steps.splitlines()[0] not in form.said.value
    assert "How it is done" not in form.said.value


def test_the_shown_line_enrols_just_the_same(locked, answers):
    form = panels.Enrol(locked)
    fill(form, "C101", answers)

    assert again(str(form.call())).value.client_code == "C101"
    assert Study(locked).assignments()[0].client_code == "C101"


def test_the_line_that_repeats_answers_is_folded_away(locked, answers):
    """Who sits down next must not read them; common practice, no source."""
    form = panels.Enrol(locked)
    fill(form, "C101", answers)
    form.press()
    shut, opened = form.line.value.split("</summary>")

    assert shut.startswith("<details><summary>")
    assert "it repeats her answers" in shut
    assert "contacts" not in shut + form.said.value + form.details.value
    assert "&#x27;contacts&#x27;: &#x27;no&#x27;" in opened

    away = panels.Absent(locked)
    away.inputs["code"].value, away.inputs["why"].value = "C101", "moved away"
    away.press()
    assert away.line.value.startswith("<details><summary>")
    assert "moved away" not in away.line.value.split("</summary>")[0]


def test_a_client_who_must_wait_is_told_why_and_no_card_is_opened(locked, answers):
    form = panels.Enrol(locked)
    fill(form, "C102", answers | {"active_eye_disease": "unsure"})
    form.press()

    assert "C102 does not take part; no card was opened." in form.said.value
    assert "pmulab-look" in form.said.value
    assert "pmulab-card" not in form.details.value
    assert Study(locked).assignments() == ()


def test_why_a_client_was_kept_out_is_not_shown_to_the_next(locked, answers):
    """Common practice, no source: what one client said of her health is not for another's eyes."""
    form = panels.Enrol(locked)
    fill(form, "C102", answers | {"pregnant_or_nursing": "yes"})
    form.press()
    assert "breast-feeding: defer" in form.said.value
    form.inputs["client_code"].value = "C103"

    assert "breast-feeding" not in form.said.value
    assert "C102 does not take part; no card was opened." in form.said.value
    assert "pmulab-look" in form.said.value


def test_missing_answers_are_told_and_what_was_entered_stays(locked, answers):
    form = panels.Enrol(locked)
    answers.pop("age_band")
    fill(form, "C103", answers)
    form._button.click()

    assert "&#x27;Age band&#x27; is empty." in form.said.value
    assert "age_band" not in form.said.value
    assert form.inputs["client_code"].value == "C103"
    assert Study(locked).assignments() == ()


def test_nobody_is_asked_before_the_plan_is_locked(draft):
    form = panels.Enrol(draft)

    assert form.inputs == {}
    assert form._button.layout.display == "none"


def test_the_records_are_checked_and_the_line_does_the_same(shown_demo):
    form = panels.Records(shown_demo)
    report = form.press().value

    assert report.summary in form.details.value
    assert "Nothing here blocks the analysis." in form.said.value
    assert again("check(study='demo-study')").value == report


def test_where_the_workbook_lies_is_said_as_a_file_manager_shows_it(locked, here):
    told = panels.Records(locked)._fields.children[0].value
    assert "records.xlsx in the folder wipes, which lies where these notebooks lie." in told
    assert "file manager" in told
    assert "on the left" not in told

    whole = panels.Records(here / locked)._fields.children[0].value
    assert f"records.xlsx in the folder {(here / locked).as_posix()}." in whole


def test_an_uploaded_file_is_kept_beside_and_checked(locked):
    form = panels.Records(locked)
    before = Study(locked).path(RECORDS).read_bytes()
    for number in (1, 2):
        content = f"client_code,note\nC999,row {number}\n".encode()
        upload(form, "../records.xlsx.csv", content)
        kept = Study(locked).path(f"uploaded-{number}.csv")
        assert kept.read_bytes() == content
        assert f"wipes/uploaded-{number}.csv" in form.line.value

    assert Study(locked).path(RECORDS).read_bytes() == before


def test_a_file_of_another_kind_is_refused(locked):
    form = panels.Records(locked)
    for name in ("photo.jpg", "sheet.ods", "no ending"):
        upload(form, name, b"x")
        assert "cannot be checked" in form.said.value
    assert not list(Study(locked).folder.glob("uploaded-*"))


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ({"name": "all.xlsx", "size": 31_000_000}, "all.xlsx has 31 MB; at most 9 MB"),
        ({"name": "gone.xlsx", "size": 10, "unreadable": True}, "could not be read"),
    ],
)
def test_a_file_that_does_not_get_through_is_told(locked, told, said):
    form = panels.Records(locked)
    form.upload._handle_custom_msg(told, [])

    assert said in form.said.value
    assert not list(Study(locked).folder.glob("uploaded-*"))


def test_a_named_file_is_the_one_that_is_checked(locked):
    form = panels.Records(locked)
    form.inputs["file"].value = "elsewhere/typed.xlsx"
    assert str(form.call()) == "check(study='wipes', file='elsewhere/typed.xlsx')"

    form.inputs["file"].value = ""
    assert str(form.call()) == "check(study='wipes')"
    form.inputs["which"].value = "other"
    form._button.click()
    assert "No file is named" in form.said.value


def test_consent_is_asked_first_and_a_refusal_is_all_that_is_kept(locked):
    """Nothing about a person without her consent; common practice, no source."""
    form = panels.Enrol(locked)
    assert list(form.inputs)[:2] == ["client_code", "consent_record"]
    fill(form, "C104", {"anticoagulant": "yes", "consent_record": "no"})
    form.press()

    assert "C104 does not take part" in form.said.value
    assert "30-39" not in Study(locked).path("clients.csv").read_text()
    assert "anticoagulant" not in form.line.value


def test_who_does_not_say_is_a_choice_of_its_own(locked, answers):
    form = panels.Enrol(locked)
    fill(form, "C105", answers | {"contacts": "NA_refused"})
    assert form.press().value is not None

    fill(form, "C106", answers | {"anticoagulant": "NA_refused"})
    assert form.press().value is None


def test_the_second_half_of_a_double_click_leaves_the_card_in_place(locked, answers):
    form = panels.Enrol(locked)
    fill(form, "C107", answers)
    form._button.click()
    form._button.click()

    assert "pmulab-card" in form.details.value
    assert [one.client_code for one in Study(locked).assignments()] == ["C107"]


def test_beyond_the_plan_a_form_asks_for_whom(shown_demo, locked):
    assert "replacement" in panels.Enrol(shown_demo).inputs
    assert "replacement" not in panels.Enrol(locked).inputs


def test_what_applies_after_an_event_is_given_to_the_station(locked, answers):
    form = panels.Enrol(locked)
    fill(form, "C108", answers | {"reviewed": "Her doctor; go on (invented)."})

    assert form.call().kwargs["reviewed"] == "Her doctor; go on (invented)."
    assert "reviewed" not in form.call().kwargs["answers"]


def test_who_never_came_is_written_down_and_leaves_the_list(locked, answers):
    pmulab.enrol(locked, "C101", answers)
    pmulab.enrol(locked, "C102", answers)
    form = panels.Absent(locked)
    assert "C101" in form._fields.children[0].value
    form.inputs["code"].value, form.inputs["why"].value = "C101", "moved away"
    line = str(form.call())
    form.press()

    assert line == "absent(study='wipes', client_code='C101', reason='moved away')"
    assert "C101 never came: moved away" in form.said.value
    assert [code for _, code in form.inputs["code"].options] == ["", "C102"]


def test_who_never_came_needs_a_card_and_a_reason(locked, answers):
    assert panels.Absent(locked).inputs == {}
    pmulab.enrol(locked, "C101", answers)
    form = panels.Absent(locked)
    form._button.click()
    assert "No client is chosen" in form.said.value

    form._answered = -1
    form.inputs["code"].value = "C101"
    form._button.click()
    assert "No reason was given" in form.said.value


def test_the_findings_tell_harm_before_effects_and_hide_extra_looks(shown_demo):
    form = panels.Analyse(shown_demo)
    findings = form.press().value

    assert isinstance(findings, Findings)
    assert form.said.value.index("adverse event") < form.said.value.index("Main outcome")
    assert form.details.value.index("<details>") < form.details.value.index("Exploratory:")
    assert form.details.value.count("What this means") == len(findings.effects)
    assert form.details.value.count("What it does not mean") == len(findings.effects)
    assert form.details.value.count("p = ") == 1


def test_while_a_study_runs_the_arms_stay_hidden(locked):
    form = panels.Analyse(locked)
    running = form.press().value

    assert isinstance(running, Running)
    assert "the arms stay hidden" in form.said.value
    plan = Study(locked).plan()
    assert plan.arms.A.label not in form.details.value


@pytest.mark.parametrize(
    ("way", "line"),
    [
        ("", "analyse(study='wipes')"),
        ("look", "analyse(study='wipes', look=True)"),
        ("unplanned", "analyse(study='wipes', unplanned='a client asked')"),
        ("stopped", "analyse(study='wipes', stopped='a client asked')"),
    ],
)
def test_each_way_to_look_is_the_same_call(planned_look, way, line):
    form = panels.Analyse(planned_look)
    form.inputs["way"].value = way
    form.inputs["reason"].value = " a client asked "

    assert str(form.call()) == line


def test_a_look_is_offered_only_where_the_plan_has_one(locked):
    ways = [way for _, way in panels.Analyse(locked).inputs["way"].options]

    assert ways == ["", "unplanned", "stopped"]


def test_a_reason_is_asked_for_only_where_one_is_needed(planned_look):
    form = panels.Analyse(planned_look)
    shown = []
    for _, way in form.inputs["way"].options:
        form.inputs["way"].value = way
        shown.append((way, form._why.layout.display != "none"))

    assert shown == [("", False), ("look", False), ("unplanned", True), ("stopped", True)]
    assert "a look after 8 complete clients" in form._fields.children[1].value


@pytest.mark.parametrize("way", ["unplanned", "stopped"])
def test_a_look_without_a_reason_is_refused(locked, way):
    form = panels.Analyse(locked)
    form.inputs["way"].value = way
    form._button.click()

    assert "reason" in form.said.value
    assert not [
        e for e in Study(locked).journal() if e.event in ("unplanned look", "study stopped")
    ]


def test_the_handout_is_shown_first_without_writing_and_then_saved(shown_demo):
    form = panels.Share(shown_demo)
    form.inputs["made_by"].value = "Group <North>"
    written = Study(shown_demo).path("handout.html")
    before = written.read_bytes()
    form._preview.click()

    assert 'sandbox=""' in form.details.value
    assert "<North>" not in form.details.value
    assert written.read_bytes() == before
    assert "preview(study=&#x27;demo-study&#x27;" in form.line.value
    form.press()
    assert written.read_bytes() != before
    assert "Written: demo-study/handout.html" in form.said.value


def test_slides_are_saved_beside_the_handout(shown_demo):
    form = panels.Share(shown_demo)
    form.inputs["made_by"].value = "Group North"
    form._slides.click()

    assert "Written: demo-study/slides.html" in form.said.value
    assert "Written: demo-study/slides.pptx" in form.said.value
    assert "slides(study=&#x27;demo-study&#x27;, made_by=" in form.line.value


def test_nothing_to_share_is_told(locked):
    form = panels.Share(locked)
    form._button.click()

    assert "Nothing was analysed" in form.said.value
