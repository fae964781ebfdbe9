"""The forms of notebook 01."""

import re

import pytest

import pmulab
from pmulab import panels
from pmulab.errors import UserError
from pmulab.stations.lock import PROMISES
from pmulab.stations.revise import revise
from pmulab.study import Study


def again(line):
    """Run a shown line as a notebook would."""
    return eval(line, {name: getattr(pmulab, name) for name in dir(pmulab)})


def test_a_study_is_begun_and_the_forms_below_follow(here):
    chosen = panels.ChooseStudy("wipes")
    ways = panels.Ways(chosen)
    begin = panels.Begin(chosen)
    begin.inputs["question_name"].value = "soothing-step"
    begin.inputs["folder"].value = " soothing "
    begin.press()

    assert chosen.study == "soothing"
    assert ways.study == "soothing"
    assert "arms.A.label" in ways.inputs
    assert "the forms below" in begin.said.value.lower()


@pytest.mark.parametrize(
    ("name", "value"), [("question_name", "numbing-time"), ("folder", "my-study")]
)
def test_what_was_wrong_is_said_no_more_once_something_else_stands_there(here, name, value):
    begin = panels.Begin(panels.ChooseStudy("anything"))
    begin.inputs["question_name"].value = "soothing-step"
    begin.inputs["folder"].value = "my study"
    begin._button.click()
    assert "pmulab-problem" in begin.said.value
    begin.inputs[name].value = value
    assert begin.said.value == ""

    begin.inputs["folder"].value = "my-study"
    begin.press()
    begin.inputs["question_name"].value = "aftercare"
    assert "A new study" in begin.said.value


def test_the_working_folder_itself_never_becomes_a_study(here):
    begin = panels.Begin("anything")
    begin.inputs["question_name"].value = "soothing-step"
    begin._button.click()

    assert "a name for the new folder" in begin.said.value
    assert list(here.iterdir()) == []


def test_only_what_differs_is_changed_and_the_line_does_the_same(draft, here):
    ways = panels.Ways(draft)
    assert ways.call().kwargs["changes"] == {}
    ways.inputs["arms.B.label"].value = "dry cotton wipe"
    line = str(ways.call())
    ways.press()

    assert line == "revise(study='wipes', changes={'arms.B.label': 'dry cotton wipe'})"
    assert Study(draft).plan().arms.B.label == "dry cotton wipe"
    assert again(line).value == Study(draft).plan()


def test_another_main_measure_changes_places_with_the_first(draft):
    ways = panels.Ways(draft)
    ways.inputs["primary"].value = "pain_work"
    ways.press()

    plan = Study(draft).plan()
    assert plan.primary.name == "pain_work"
    assert "work_min" in [one.name for one in plan.secondary]


def test_the_picture_follows_the_numbers_and_nothing_is_saved(draft):
    matters = panels.Matters(draft)
    before = matters.picture.value
    matters.inputs["spread"].value = "2,0"
    matters.inputs["worthwhile"].value = "1.5"

    assert "<svg" in matters.picture.value
    assert matters.picture.value != before
    told = "To see a true difference of 1.5 min four times in five: about "
    assert told in matters.picture.value
    assert told in str(again(str(matters.size_call())))
    assert str(matters.size_call()) == "size(study='wipes', sd=2.0, worthwhile=1.5)"
    assert again(str(matters.size_call())).value == matters.size_call()().value
    assert Study(draft).plan().primary.worthwhile == 2.0


def test_a_number_that_is_none_is_told(draft):
    matters = panels.Matters(draft)
    assert "as soon as you leave its line" in matters.lead
    assert not matters.inputs["worthwhile"].continuous_update
    matters.inputs["worthwhile"].value = "about two"

    assert "is no number" in matters.said.value


def test_numbers_are_saved_as_her_own(draft):
    matters = panels.Matters(draft)
    matters.inputs["worthwhile"].value = "1.5"
    matters.inputs["planned"].value = "16"
    matters.inputs["own"].value = True
    matters.press()

    plan = Study(draft).plan()
    assert (plan.primary.worthwhile, plan.primary.worthwhile_own) == (1.5, True)
    assert plan.clients.planned == 16


def test_locking_needs_the_promises_and_the_tick(draft):
    lock = panels.Lock(draft)
    assert lock._button.disabled
    lock.inputs["read"].value = True
    assert not lock._button.disabled
    lock._button.click()

    assert "Who allowed this comparison; " in lock.said.value
    assert "press &#x27;Save the promises&#x27; first" in lock.said.value
    assert "allowed_by" not in lock.said.value
    assert Study(draft).locked() is None


def test_what_is_typed_and_not_saved_is_never_locked_away(draft):
    chosen = panels.ChooseStudy(draft)
    promises, lock = panels.Promises(chosen), panels.Lock(chosen)
    promises.inputs["promises.sharing"].value = "Numbers only."
    lock.inputs["read"].value = True
    lock._button.click()

    assert "What leaves the studio. Press &#x27;Save the promises&#x27;." in lock.said.value
    assert Study(draft).locked() is None
    promises.press()
    assert chosen.all_unsaved() == []


def test_before_locking_cautions_the_healed_days_and_what_few_can_show_are_told(draft):
    revise(draft, {"clients.planned": 8})
    told = "".join(getattr(part, "value", "") for part in panels.Lock(draft)._fields.children[:-1])

    for words in (
        "no medical advice",
        "Stop and refer at once",
        "capillaries",
        "not enrolled",
        "it counts from day 28 to day 70",
        "8 clients are few: only a large difference shows.",
    ):
        assert words in told


def test_a_name_with_a_space_is_refused_with_one_that_serves(here):
    begin = panels.Begin(panels.ChooseStudy("anything"))
    begin.inputs["question_name"].value = "soothing-step"
    begin.inputs["folder"].value = "my  wipes 2026"
    begin._button.click()

    assert "my-wipes-2026" in begin.said.value
    assert list(here.iterdir()) == []


def test_promises_are_saved_and_the_plan_is_locked(draft):
    chosen = panels.ChooseStudy(draft)
    promises, lock, ways = panels.Promises(chosen), panels.Lock(chosen), panels.Ways(chosen)
    for name in PROMISES:
        promises.inputs[f"promises.{name}"].value = "Settled (invented)."
    promises.press()
    assert "Saved in the plan: Who allowed this comparison; " in promises.said.value
    lock.inputs["read"].value = True
    lock.press()

    assert Study(draft).locked() is not None
    assert "The plan is locked" in lock.said.value
    assert ways.inputs["arms.A.label"].disabled
    assert ways._button.layout.display == "none"


def test_a_locked_plan_is_never_changed(locked):
    ways = panels.Ways(locked)
    ways.inputs["arms.A.label"].value = "something else"

    with pytest.raises(UserError, match="stays as it is"):
        ways.press()


def test_choosing_another_study_lasts_for_a_second_run(draft):
    pmulab.new("pigments", "pigment-family")
    chosen = panels.ChooseStudy(draft)
    chosen.inputs["study"].value = "pigments"

    assert chosen.study == "pigments"
    assert "pigments: " in chosen.said.value
    assert panels.ChooseStudy(draft).study == "pigments"


def test_looking_early_is_chosen_in_the_form(draft):
    promises = panels.Promises(draft)
    asked = promises.inputs["analysis."]
    options = dict(asked.options)
    assert asked.value == "never"

    asked.value = options[next(label for label in options if label.startswith("After every"))]
    promises.press()
    assert Study(draft).plan().analysis.after_every_client
    assert "Compare the two ways" in promises.said.value

    asked = panels.Promises(draft).inputs["analysis."]
    assert asked.value == "every"


@pytest.mark.parametrize("typed", ["My speed study!.", "Prüfung  der Tücher", "!! ??", "x " * 60])
def test_the_name_that_is_suggested_for_a_folder_can_be_used(typed):
    begin = panels.Begin(panels.ChooseStudy("anything"))
    begin.inputs["question_name"].value = "wipe-material"
    begin.inputs["folder"].value = typed
    with pytest.raises(UserError) as caught:
        begin.press()
    suggested = caught.value.remedy.removeprefix("Write a hyphen in its place, such as ")[:-1]
    assert re.fullmatch(r"[a-z0-9][a-z0-9-]{0,39}", suggested)


LIMITS = "arms.A.recorded.numbing_min"


@pytest.fixture
def numbing(here):
    pmulab.new("numbing", "numbing-time")
    revise("numbing", {f"promises.{name}": "Settled (invented)." for name in PROMISES})
    return "numbing"


def test_what_the_records_have_to_show_is_seen_and_changed_with_the_steps(numbing):
    ways = panels.Ways(numbing)
    least, most = ways.inputs[f"{LIMITS}.least"], ways.inputs[f"{LIMITS}.most"]
    assert (least.description, least.value) == ("Way A, Numbing time (min): least", "23")
    assert most.value == "27"
    assert ways.call().kwargs["changes"] == {}

    least.value, most.value = "18", "22,5"
    steps = ways.inputs["arms.A.steps"]
    steps.value = steps.value.replace("25 minutes", "20 minutes")
    line = str(ways.call())
    ways.press()

    assert "'arms.A.recorded.numbing_min': [18, 22.5]" in line
    assert Study(numbing).plan().arms.A.recorded == {"numbing_min": (18, 22.5)}
    assert "Way A, Numbing time (min): least" in ways.said.value
    assert "honest rows" not in ways.said.value
    assert again(line).value == Study(numbing).plan()


def test_a_choice_is_changed_taken_out_and_put_back(draft):
    column = "arms.B.recorded.wipe_material"
    ways = panels.Ways(draft)
    assert (ways.inputs[column].description, ways.inputs[column].value) == (
        "Way B, Wipe material",
        "dry_nonwoven",
    )
    for chosen in ("dry_gauze", "", "dry_gauze"):
        ways.inputs[column].value = chosen
        ways.press()
        shown = Study(draft).plan().arms.B.recorded
        assert shown == ({"wipe_material": chosen} if chosen else {})
        ways = panels.Ways(draft)


@pytest.mark.parametrize(
    ("least", "most", "told"),
    [("", "27", "its other end is not"), ("30", "27", "more than the most"),
     ("some", "27", "is no number"), ("23", "900", "from 0 to 120 (min)")],
)  # fmt: skip
def test_limits_that_cannot_be_are_told_and_nothing_is_saved(numbing, least, most, told):
    before = Study(numbing).plan()
    ways = panels.Ways(numbing)
    ways.inputs[f"{LIMITS}.least"].value, ways.inputs[f"{LIMITS}.most"].value = least, most
    ways._button.click()

    assert told in ways.said.value
    assert Study(numbing).plan() == before


def test_one_more_column_can_be_checked_and_what_was_typed_stays(numbing):
    ways = panels.Ways(numbing)
    ways.inputs["arms.A.label"].value = "numbing of 25 minutes"
    more = next(one for one in ways._fields.children if one.__class__.__name__ == "Dropdown")
    offered = [name for _, name in more.options]
    assert "passes" in offered
    assert not {"pain_work", "numbing_min", "work_min", "arm_actual", "session_no"} & {*offered}
    more.value = "passes"

    assert ways.inputs["arms.A.label"].value == "numbing of 25 minutes"
    ways.inputs["arms.B.recorded.passes.least"].value = "2"
    ways.inputs["arms.B.recorded.passes.most"].value = "2"
    ways.press()
    plan = Study(numbing).plan()
    assert plan.arms.B.recorded == {"numbing_min": (13, 17), "passes": 2}
    assert plan.arms.A.label == "numbing of 25 minutes"
    assert "passes" not in plan.arms.A.recorded


def test_limits_that_another_notebook_changed_are_never_overwritten(numbing):
    first, second = panels.Ways(numbing), panels.Ways(numbing)
    second.inputs[f"{LIMITS}.most"].value = "30"
    second.press()
    first.inputs[f"{LIMITS}.least"].value = "20"
    first._button.click()

    assert "Changed elsewhere" in first.said.value
    assert "Numbing time (min)" in first.said.value
    assert Study(numbing).plan().arms.A.recorded == {"numbing_min": (23, 30)}


def test_steps_against_their_limits_are_told_before_the_tick_and_never_locked(numbing):
    chosen = panels.ChooseStudy(numbing)
    ways, lock = panels.Ways(chosen), panels.Lock(chosen)
    steps = ways.inputs["arms.A.steps"]
    steps.value = steps.value.replace("25 minutes", "20 minutes")
    ways.press()
    assert "pmulab-look" in ways.said.value
    above = "".join(getattr(part, "value", "") for part in lock._fields.children[:-1])
    for told in (ways.said.value, above):
        assert "Way A (longer numbing) says 20 in its steps" in told
        assert "23 to 27" in told
    lock.inputs["read"].value = True
    lock._button.click()
    assert "Numbing time (min)" in lock.said.value
    assert Study(numbing).locked() is None

    ways.inputs[f"{LIMITS}.least"].value, ways.inputs[f"{LIMITS}.most"].value = "18", "22"
    ways.press()
    assert "honest rows" not in "".join(str(one.value) for one in lock._fields.children)
    lock.inputs["read"].value = True
    lock.press()
    assert Study(numbing).locked() is not None


def test_a_locked_plan_shows_what_records_have_to_show_and_offers_no_more(locked):
    ways = panels.Ways(locked)

    assert ways.inputs["arms.A.recorded.wipe_material"].disabled
    assert not [one for one in ways._fields.children if one.__class__.__name__ == "Dropdown"][1:]


def test_title_and_question_are_changed_until_the_plan_is_locked(draft):
    chosen = panels.ChooseStudy(draft)
    ways, lock = panels.Ways(chosen), panels.Lock(chosen)
    asked = "Is the work shorter with a damp wipe?"
    ways.inputs["study.title"].value = "My wipes"
    ways.inputs["study.question"].value = asked
    line = str(ways.call())
    ways.press()

    study = Study(draft).plan().study
    assert (study.title, study.question) == ("My wipes", asked)
    assert again(line).value == Study(draft).plan()
    assert "Title of the study; The question, as you ask it aloud." in ways.said.value
    assert asked in "".join(getattr(part, "value", "") for part in lock._fields.children[:-1])


@pytest.mark.parametrize("typed", ["", "x" * 121])
def test_a_title_that_cannot_be_is_told_and_nothing_is_saved(draft, typed):
    before = Study(draft).plan()
    ways = panels.Ways(draft)
    ways.inputs["study.title"].value = typed
    ways._button.click()

    assert "Nothing was saved." in ways.said.value
    assert "title" in ways.said.value
    assert Study(draft).plan() == before


def test_title_and_question_of_a_locked_plan_are_shown_and_closed(locked):
    ways = panels.Ways(locked)

    assert ways.inputs["study.title"].disabled
    assert ways.inputs["study.question"].disabled


def test_cautions_follow_a_question_that_was_changed(draft):
    promises = panels.Promises(draft)
    before = Study(draft).plan().promises.cautions
    promises.press()
    assert Study(draft).plan().promises.cautions == before

    promises.inputs["promises.cautions"].value = "One pass, never deeper.\n\n  Stop on pain. "
    promises.press()
    assert "Cautions of this question" in promises.said.value
    assert Study(draft).plan().promises.cautions == ("One pass, never deeper.", "Stop on pain.")
    assert "One pass, never deeper." in "".join(
        getattr(part, "value", "") for part in panels.Lock(draft)._fields.children[:-1]
    )


def test_a_second_press_counts_at_once_where_something_was_typed_since(draft):
    ways = panels.Ways(draft)
    for label in ("first", "second"):
        ways.inputs["arms.A.label"].value = label
        ways._button.click()
    assert Study(draft).plan().arms.A.label == "second"
