"""Clients who never came, who refuse, and who come beyond the planned number."""

import pytest
from studies import ANSWERS, clock, code_of, enrolled_study, fill_workbook, plan_text

from pmulab.errors import UserError
from pmulab.findings import Running
from pmulab.stations.absent import absent
from pmulab.stations.analyse import analyse
from pmulab.stations.enrol import enrol
from pmulab.stations.handout import handout
from pmulab.stations.lock import lock
from pmulab.stations.reasons import maker_lines
from pmulab.study import Study, begin


@pytest.fixture
def study(tmp_path):
    return enrolled_study(tmp_path / "study", 7)


def values(numbers):
    pairs = {}
    for number in numbers:
        pairs[code_of(number), "A"], pairs[code_of(number), "B"] = 5.0 + number % 3, 9.0
    return pairs


def drop_rows(study, code):
    """Take a client's rows out of the workbook, as if nobody had typed them."""
    from openpyxl import load_workbook

    book = load_workbook(study.path("records.xlsx"))
    for sheet in (book["sessions"], book["events"]):
        for row in range(sheet.max_row, 1, -1):
            if sheet.cell(row, 1).value == code:
                sheet.delete_rows(row)
    book.save(study.path("records.xlsx"))


def test_a_client_who_never_came_ends_the_waiting_and_stays_counted(study):
    fill_workbook(study, values(range(1, 8)))
    drop_rows(study, code_of(7))
    running = analyse(study)
    assert isinstance(running.value, Running)
    assert f"still open for {code_of(7)}" in str(running)

    absent(study, code_of(7), "moved away")
    found = analyse(study).value

    assert found.flow.allocated == 7
    assert (found.flow.treated, found.primary.difference.n) == (6, 6)
    assert found.primary.missing.n == 1
    assert found.primary.missing.reasons == ("1 never came",)
    assert "1 never came" in found.flow.lost_reasons


def test_who_was_worked_on_or_never_enrolled_is_not_absent(study):
    fill_workbook(study, values(range(1, 8)))

    with pytest.raises(UserError, match="worked on"):
        absent(study, code_of(1), "mistake")
    with pytest.raises(UserError, match="not enrolled"):
        absent(study, "C999", "mistake")
    with pytest.raises(UserError, match="No reason"):
        absent(study, code_of(1), " ")


def test_nobody_is_added_beyond_the_plan_without_a_reason(study):
    with pytest.raises(UserError, match="none of them") as caught:
        enrol(study, "C900", ANSWERS, replacement="more is better")
    assert "pmulab absent" in caught.value.remedy
    absent(study, code_of(7), "moved away")
    with pytest.raises(UserError, match="All 7 planned"):
        enrol(study, "C900", ANSWERS)

    answer = enrol(study, "C900", ANSWERS, replacement="for C107, who moved away")

    assert answer.value is not None
    assert "replacement enrolled" in [entry.event for entry in study.journal()]
    with pytest.raises(UserError, match="each has her replacement"):
        enrol(study, "C901", ANSWERS, replacement="for C107 again")


def test_after_the_final_analysis_nobody_is_added_and_replacements_are_printed(study):
    fill_workbook(study, values(range(1, 8)))
    drop_rows(study, code_of(7))
    drop_rows(study, code_of(6))
    absent(study, code_of(7), "moved away")
    absent(study, code_of(6), "ill for long")
    enrol(study, "C900", ANSWERS, replacement="for C107, who moved away")
    absent(study, "C900", "did not come either")

    found = analyse(study).value

    assert "for C107, who moved away" in found.provenance.replacements[0]
    assert "for C107, who moved away" in handout(study).value.read_text(encoding="utf-8")
    with pytest.raises(UserError, match="was analysed on"):
        enrol(study, "C901", ANSWERS, replacement="for C106, who was ill")


@pytest.mark.parametrize("told", ["Anna Schmidt phoned", "call 0170 1234567"])
def test_no_reason_in_the_journal_tells_who_a_person_is(study, told):
    before = study.journal()
    absent_one = code_of(7)
    for say in (
        lambda: absent(study, absent_one, told),
        lambda: enrol(study, "C900", ANSWERS, reviewed=told),
        lambda: analyse(study, stopped=told),
        lambda: analyse(study, unplanned=told),
    ):
        with pytest.raises(UserError, match="who a person is") as caught:
            say()
        assert "role" in caught.value.remedy
    assert study.journal() == before
    absent(study, absent_one, "moved away")
    with pytest.raises(UserError, match="who a person is"):
        enrol(study, "C900", ANSWERS, replacement=told)


def test_a_phone_number_of_the_maker_is_warned_of_and_a_studio_name_is_not():
    assert list(maker_lines("Studio Anna")) == []
    assert "phone number" in str(list(maker_lines("Studio Anna, 0170 1234567")))


def test_of_a_client_who_refuses_nothing_but_that_is_kept(study):
    answer = enrol(study, "C900", ANSWERS | {"consent_record": "No", "age_band": "60-69"})

    assert answer.value is None
    row = study.path("clients.csv").read_text().splitlines()[-1]
    assert row.startswith("C900,NA_refused")
    assert "60-69" not in row
    assert "declined" in row


@pytest.mark.parametrize("answer", ["no", "NA_refused"])
def test_one_refusal_is_counted_once_and_keeps_no_health_answer(study, answer):
    enrol(study, "C900", ANSWERS | {"consent_record": answer})
    assert "30-39" not in study.path("clients.csv").read_text().splitlines()[-1]
    fill_workbook(study, values(range(1, 8)))

    found = analyse(study).value.flow

    assert (found.asked, found.no_consent, found.not_eligible) == (8, 1, 0)
    assert found.not_eligible_reasons == ()


@pytest.mark.parametrize("name", ["consent_record", "consent_share_numbers", "consent_record_date"])
def test_no_reason_code_is_offered_in_place_of_a_consent(study, name):
    with pytest.raises(UserError) as caught:
        enrol(study, "C900", ANSWERS | {name: ""})
    assert "Ask her" in caught.value.what
    assert "NA_not_done" not in str(caught.value)


def test_a_card_comes_with_what_to_mind_for_this_client(tmp_path):
    lenses = ANSWERS | {"contacts": "yes", "eyelid_symmetry_ok": "no"}
    study = enrolled_study(tmp_path / "between", 1, planned=4, design="parallel")

    told = str(enrol(study, "C900", lenses))

    assert "eye doctor or lens supplier" in told
    assert "Her eyelids differ" in told
    assert "Her eyelids differ" not in str(enrol(study, "C901", ANSWERS))
    unknown = str(enrol(study, "C902", ANSWERS | {"eyelid_symmetry_ok": "NA_not_done"}))
    assert "Her eyelids differ" not in unknown
    assert "look at both lids" in unknown


def test_a_refusal_needs_no_health_answers(study):
    assert enrol(study, "C900", {"consent_record": "no"}).value is None


def test_an_open_card_can_be_read_again(study):
    slot = study.assignments()[0].slot
    with pytest.raises(UserError) as caught:
        enrol(study, code_of(1), ANSWERS)

    first = {"L": "LEFT", "R": "RIGHT"}[slot.first]
    assert f"First the client's own {first} eyelid" in caught.value.what


def test_an_empty_health_question_is_never_answered_for_her(study):
    with pytest.raises(UserError) as caught:
        enrol(study, "C900", ANSWERS | {"pregnant_or_nursing": ""})

    assert "Ask her." in caught.value.what
    assert "such as no" not in caught.value.what
    assert "NA_" not in caught.value.what


def test_rows_that_show_another_way_are_counted_on_the_handout(tmp_path):
    """The records say iron oxide of everybody; way B was to be a mixed pigment."""
    text = plan_text(planned=7).replace('lid = "upper"', 'lid = "upper"\npigment = "varied"')
    text = text.replace('label = "way one"', 'label = "way one"\npigment = "iron_oxide"')
    text = text.replace('label = "way two"', 'label = "way two"\npigment = "mixed"')
    study = begin(tmp_path / "varied", text, clock())
    lock(study)
    for number in range(1, 8):
        enrol(study, code_of(number), ANSWERS)
    study = Study(study.folder, clock(120))
    fill_workbook(study, values(range(1, 8)))

    found = analyse(study).value

    assert found.flow.unlike_way == 7
    assert "records show something else than the" in handout(study).value.read_text("utf-8")
