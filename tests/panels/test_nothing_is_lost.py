"""What was typed or saved outlives other forms, other notebooks and a kernel that starts anew."""

import subprocess
import sys
from datetime import date

import pytest

import pmulab
from pmulab import panels
from pmulab.panels.showing import CANCELLED
from pmulab.stations.chosen import CHOSEN
from pmulab.study import Study

WHY = "primary.worthwhile_reason"


@pytest.fixture
def two(draft):
    """The same part of one plan, open in two notebooks."""
    return panels.Ways(panels.ChooseStudy(draft)), panels.Ways(panels.ChooseStudy(draft))


def _fill(form, answers, code):
    for name, answer in answers.items():
        given = date.fromisoformat(answer) if name.endswith("_date") else answer
        form.inputs[name].value = given
    form.inputs["client_code"].value = code


def test_typing_outlives_what_another_form_saves(draft):
    chosen = panels.ChooseStudy(draft)
    ways, promises = panels.Ways(chosen), panels.Promises(chosen)
    promises.inputs["promises.sharing"].value = "Numbers only."
    ways.inputs["arms.A.label"].value = "damp cotton wipe"
    ways.press()

    assert promises.inputs["promises.sharing"].value == "Numbers only."
    assert Study(draft).plan().promises.sharing == ""
    promises.press()
    assert Study(draft).plan().promises.sharing == "Numbers only."
    assert Study(draft).plan().arms.A.label == "damp cotton wipe"


def test_typing_heard_after_the_form_was_made_anew_is_kept(draft):
    """The page hands it on while Python is busy with another form; it comes to the old input."""
    chosen = panels.ChooseStudy(draft)
    ways, promises = panels.Ways(chosen), panels.Promises(chosen)
    typed_into = promises.inputs["promises.sharing"]
    for _ in range(2):
        ways.inputs["arms.A.label"].value += " damp"
        ways.press()
    typed_into.value = "Numbers only."

    assert promises.inputs["promises.sharing"] is not typed_into
    assert promises.inputs["promises.sharing"].value == "Numbers only."


def test_typing_for_the_client_before_never_comes_to_the_next(locked, answers):
    form = panels.Enrol(locked)
    _fill(form, answers, "C101")
    typed_into = form.inputs["reviewed"]
    form.press()
    typed_into.value = "too late"
    assert form.inputs["reviewed"].value == ""


def test_it_is_said_what_is_not_saved_yet_until_it_is(draft):
    promises = panels.Promises(draft)
    assert promises._unsaved.value == ""
    promises.inputs["promises.sharing"].value = "Numbers only."
    assert "Not saved yet: What leaves the studio. Press" in promises._unsaved.value

    promises.press()
    assert promises._unsaved.value == ""


def test_a_half_filled_form_is_told_by_its_client_and_not_by_her_answers(locked, answers):
    form = panels.Enrol(locked)
    assert form._unsaved.value == form.unsaved() == ""
    form.inputs["contacts"].value = "yes"
    assert "Not saved yet: 1 answer of a client without a code. Press" in form._unsaved.value
    form.inputs["contacts"].value, form.inputs["client_code"].value = "", "C101"
    assert "Not saved yet: C101. Press" in form._unsaved.value
    _fill(form, answers, " c101 ")
    assert f"C101 with {len(answers)} answers" in form._unsaved.value
    assert not {"yes", "30-39"} & set(form._unsaved.value.replace(".", " ").split())

    form.press()
    assert form._unsaved.value == form.unsaved() == ""


def test_answers_outlive_another_study_and_what_other_forms_save(locked, answers):
    pmulab.enrol(locked, "C100", answers)
    pmulab.new("pigments", "pigment-family")
    chosen = panels.ChooseStudy(locked)
    form, away = panels.Enrol(chosen), panels.Absent(chosen)
    _fill(form, answers, "C101")
    away.inputs["code"].value, away.inputs["why"].value = "C100", "moved away"
    away.press()
    assert form.inputs["client_code"].value == "C101"
    assert "Not saved yet: C101" in form._unsaved.value

    chosen.choose_study("pigments")
    assert "C101" not in str([given.value for given in form.inputs.values()])
    begun = form._fields.children[0].value
    assert f"Half filled and not saved: C101 with {len(answers)} answers, in wipes." in begun

    chosen.choose_study(locked)
    assert "Half filled" not in str([getattr(one, "value", "") for one in form._fields.children])
    assert form.inputs["age_band"].value == answers["age_band"]
    assert form.press().value.client_code == "C101"


def test_only_what_is_typed_for_the_plan_keeps_it_from_being_locked(draft):
    """Before the plan is locked nobody can be asked; afterwards there is nothing to lock."""
    chosen = panels.ChooseStudy(draft)
    enrol, promises, last = panels.Enrol(chosen), panels.Promises(chosen), panels.Lock(chosen)
    assert enrol.inputs == {}
    assert chosen.all_unsaved() == []
    promises.inputs["promises.sharing"].value = "Numbers only."
    last._button.click()
    assert chosen.all_unsaved() == [promises.unsaved()]
    assert "not in the plan yet. Not saved yet: What leaves the studio." in last.said.value


def test_typing_for_one_study_never_shows_up_in_another(draft):
    pmulab.new("pigments", "pigment-family")
    chosen = panels.ChooseStudy(draft)
    promises = panels.Promises(chosen)
    promises.inputs["promises.sharing"].value = "Numbers only."
    chosen.choose_study("pigments")
    assert promises.inputs["promises.sharing"].value == ""

    chosen.choose_study(draft)
    assert promises.inputs["promises.sharing"].value == "Numbers only."


def test_a_number_typed_for_one_measure_is_not_taken_for_another(draft):
    chosen = panels.ChooseStudy(draft)
    ways, matters = panels.Ways(chosen), panels.Matters(chosen)
    matters.inputs["worthwhile"].value = "7"
    ways.inputs["primary"].value = "pain_work"
    ways.press()

    assert matters.inputs["worthwhile"].value != "7"


def test_who_ticked_has_to_read_a_changed_plan_again(draft):
    chosen = panels.ChooseStudy(draft)
    ways, lock = panels.Ways(chosen), panels.Lock(chosen)
    lock.inputs["read"].value = True
    ways.inputs["arms.A.label"].value = "damp cotton wipe"
    ways.press()

    assert not lock.inputs["read"].value
    assert lock._button.disabled


def test_two_notebooks_change_different_entries(two, draft):
    first, second = two
    first.inputs["arms.A.label"].value = "damp cotton wipe"
    first.press()
    second.inputs["arms.B.label"].value = "dry cotton wipe"
    second.press()

    labels = Study(draft).plan().arms
    assert (labels.A.label, labels.B.label) == ("damp cotton wipe", "dry cotton wipe")


def test_two_notebooks_never_undo_each_other(two, draft):
    first, second = two
    first.inputs["arms.A.label"].value = "damp cotton wipe"
    first.press()
    second.inputs["arms.A.label"].value = "wet wipe"
    second._button.click()

    assert "Changed elsewhere" in second.said.value
    assert second.inputs["arms.A.label"].value == "wet wipe"
    assert Study(draft).plan().arms.A.label == "damp cotton wipe"


def test_a_number_is_never_saved_for_a_measure_that_was_exchanged_elsewhere(draft):
    matters, ways = panels.Matters(draft), panels.Ways(draft)
    matters.inputs["worthwhile"].value = "7"
    ways.inputs["primary"].value = "pain_work"
    ways.press()
    matters._button.click()

    assert "Changed elsewhere" in matters.said.value
    assert Study(draft).plan().primary.worthwhile != 7


def test_two_notebooks_enrol_into_one_study(locked, answers):
    forms = panels.Enrol(locked), panels.Enrol(locked)
    for form, code in zip(forms, ("C101", "C102"), strict=True):
        _fill(form, answers, code)
    for form in forms:
        form.press()

    cards = Study(locked).assignments()
    assert [(one.client_code, one.slot.number) for one in cards] == [("C101", 1), ("C102", 2)]
    assert Study(locked).tampering() == ()


def test_what_a_button_saved_is_there_for_a_new_kernel(draft):
    """Another process stands for a kernel that was started anew."""
    pmulab.new("pigments", "pigment-family")
    chosen = panels.ChooseStudy(draft)
    chosen.inputs["study"].value = "pigments"
    ways = panels.Ways(chosen)
    ways.inputs["arms.A.label"].value = "iron oxide, dark"
    ways.press()
    seen = subprocess.run(
        [
            sys.executable, "-c",
            "from pmulab import panels; chosen = panels.ChooseStudy('wipes'); "
            "print(chosen.study, '|', panels.Ways(chosen).inputs['arms.A.label'].value)",
        ],
        capture_output=True, text=True, check=True, timeout=120,
    )  # fmt: skip

    assert seen.stdout.strip() == "pigments | iron oxide, dark"


def test_a_choice_that_is_gone_or_cannot_be_read_is_left_aside(draft, here):
    panels.ChooseStudy(draft).choose_study("moved-away")
    assert panels.ChooseStudy(draft).study == draft

    for text in ("{", "[1]", '{"wipes": 3}'):
        (here / CHOSEN).write_text(text)
        assert panels.ChooseStudy(draft).study == draft


def test_what_is_stopped_by_hand_ends_with_a_word(draft):
    class Endless(panels.Ways):
        def call(self):
            raise KeyboardInterrupt

    form = Endless(draft)
    form._button.click()

    assert CANCELLED[0] in form.said.value
    assert "pmulab-problem" in form.said.value


def test_while_something_takes_long_it_shows_and_can_be_stopped(shown_demo):
    form, seen = panels.Analyse(shown_demo), []
    form.said.observe(lambda change: seen.append(change["new"]), "value")
    form.press()

    assert "<progress" in seen[0]
    assert 'data-commandlinker-command="notebook:interrupt-kernel"' in seen[0]
    assert "<progress" not in form.said.value
