"""Plans are read whole, and every fault is told with its line."""

import pytest
from studies import plan_text

from pmulab.errors import UserError
from pmulab.plan import changes, line_of, plan_from_dict, read_plan
from pmulab.plan.labels import entry_label
from pmulab.plan.stated import stated, unlike_steps


def fault(text):
    with pytest.raises(UserError) as caught:
        read_plan(text)
    return caught.value.what


@pytest.mark.parametrize(
    ("was", "now", "told"),
    [
        ("worthwhile = 0.5", "worthwile = 0.5", "did you mean 'worthwhile'?"),
        ("worthwhile = 0.5", "worthwhile = 2,5", "decimal comma"),
        ("worthwhile = 0.5", "worthwhile = -1.0", "greater than 0"),
        ("worthwhile = 0.5", "worthwhile = nan", "number"),
        ('better = "lower"', 'better = "smaller"', "'lower' or 'higher'"),
        ("planned = 10", 'planned = "10"', "integer"),
        ("planned = 10", "planned = 1", "greater than or equal to 2"),
        ('label = "way two"', 'label = "Way One"', "different names"),
        ("low = -1000.0", "low = 2000.0", "must lie below high"),
        ('table = "sessions"', 'table = "clients"', "'sessions' or 'healed'"),
        ("format = 1", "format = 2", "newer pmulab"),
    ],
)
def test_a_fault_is_told_with_its_line(was, now, told):
    text = plan_text()
    line = text[: text.index(was)].count("\n") + 1

    found = fault(text.replace(was, now))

    assert told in found
    assert f"line {line}" in found


def test_a_column_of_the_other_table_is_told():
    assert "recorded in another table" in fault(plan_text(name="migration"))


def test_all_faults_are_told_at_once():
    found = fault(plan_text().replace('"lower"', '"down"').replace("planned = 10", "planned = 0"))

    assert found.count("\n") == 1


def test_a_missing_entry_is_told_with_the_line_of_its_table():
    text = plan_text().replace('unit = "units"\n', "")

    found = fault(text)

    assert f"line {text[: text.index('[primary]')].count(chr(10)) + 1}: 'unit' is missing" in found


def test_the_fingerprint_ignores_comments_and_layout():
    text = plan_text()

    assert read_plan(text).fingerprint == read_plan("# a note\n\n" + text).fingerprint
    assert read_plan(text).fingerprint != read_plan(plan_text(worthwhile=0.6)).fingerprint


def test_changes_name_the_entry_and_both_values():
    found = changes(read_plan(plan_text()), read_plan(plan_text(worthwhile=0.4)))

    assert [str(one) for one in found] == [
        "Smallest worthwhile difference, main measure (primary.worthwhile): locked as '0.5', "
        "now '0.4'"
    ]


def test_a_plan_survives_plain_data():
    plan = read_plan(plan_text())

    assert plan_from_dict(plan.to_dict()) == plan


def test_an_own_outcome_becomes_a_required_column():
    table = read_plan(plan_text(name="wear", low=0.0, high=30.0)).tables()["sessions"]

    assert table["wear"].needed == "always"
    assert (table["wear"].minimum, table["wear"].maximum) == (0.0, 30.0)


def test_a_known_outcome_becomes_required_too():
    table = read_plan(
        plan_text(name="wipes", kind="count", low=0.0, high=500.0, worthwhile=5)
    ).tables()["sessions"]

    assert table["wipes"].needed == "always"


@pytest.mark.parametrize("text", ["", "x", "[", "a = 'b", "\ufeff", "a = [[[[", "= 1", "\x00"])
def test_text_that_is_no_plan_is_refused_with_a_word(text):
    assert fault(text)


def test_line_of_finds_entries_of_repeated_tables():
    text = "[[secondary]]\nunit = 'a'\n[[secondary]]\nname = 'b'\nunit = 'c'\n"

    assert line_of(text, ("secondary", 1, "unit")) == 5
    assert line_of(text, ("secondary", 1, "kind")) == 3


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({"name": "style"}, "no measure"),
        ({"name": "client_code"}, "no measure"),
        ({"name": "work_min", "kind": "yes-no", "low": 0.0, "high": 1.0}, "number or a grade"),
        ({"name": "touchup_needed", "table": "healed"}, "yes-no"),
        ({"name": "pain_work", "low": -1.0, "high": 10.0}, "never below 0"),
        ({"name": "pain_work", "low": 0.0, "high": 11.0}, "never above 10"),
    ],
)
def test_an_outcome_has_to_fit_the_column_it_names(given, told):
    assert told in fault(plan_text(**given))


def test_the_range_of_the_plan_holds_in_a_column_of_every_study():
    table = read_plan(plan_text(name="work_min", low=1.0, high=30.0)).tables()["sessions"]

    assert table["work_min"].maximum == 30.0


def test_the_exclusions_of_a_plan_are_asked_at_enrolment():
    text = plan_text().replace("planned = 10", 'planned = 10\nexclude = ["Reacts to saline."]')
    field = read_plan(text).tables()["clients"]["study_exclusion"]

    assert "Reacts to saline." in field.hint


def test_an_arm_is_asked_for_by_the_name_that_the_plan_gives_it():
    arm = read_plan(plan_text()).tables()["sessions"]["arm_actual"]

    assert arm.allowed == "one of way one, way two"


def test_a_plan_that_says_nothing_of_the_records_keeps_its_fingerprint():
    """Plans that were locked before the entry existed are still known by theirs."""
    told = read_plan(plan_text()).to_dict()
    assert "recorded" not in told["arms"]["A"]
    with_it = read_plan(plan_text().replace("[arms.B]", "[arms.A.recorded]\npasses = 2\n[arms.B]"))
    assert plan_from_dict(with_it.to_dict()) == with_it
    assert changes(read_plan(plan_text()), with_it)[0].entry == "arms.A.recorded.passes"


@pytest.mark.parametrize(
    ("entry", "told"),
    [
        ("passes = 99", "whole number from"),
        ("passes = [3, 2]", "lowest number stands first"),
        ('wipe_material = "silk"', "dry_gauze"),
        ('client_code = "C101"', "is no choice or number"),
        ("width = 2", "is no choice or number"),
    ],
)
def test_what_the_sessions_table_can_never_show_of_a_way_is_a_fault(entry, told):
    text = plan_text().replace("[arms.B]", f"[arms.A.recorded]\n{entry}\n[arms.B]")
    found = fault(text)
    assert told in found
    assert f"line {text[: text.index(entry)].count(chr(10)) + 1}:" in found


def test_an_edited_entry_is_named_as_the_form_names_it():
    edited = read_plan(plan_text(worthwhile=0.7))
    (change,) = changes(read_plan(plan_text()), edited)
    assert str(change).startswith("Smallest worthwhile difference, main measure (primary.")
    assert entry_label("secondary.4.worthwhile").startswith(
        "Smallest worthwhile difference, further measure 4"
    )
    assert entry_label("study.title") == "Title of the study (study.title)"
    assert entry_label("study.code") == "study.code"
    assert entry_label("arms.A.recorded.passes") == "Way A, Passes (arms.A.recorded.passes)"


@pytest.mark.parametrize(
    ("text", "column", "numbers"),
    [  # how people write amounts: common practice, no source
        ("First stroke at 25 minutes, give or take 2; note the minutes", "numbing_min", [25]),
        ("25 \u00b1 2 min", "numbing_min", [25]),
        ("25 minutes (give or take 2 minutes)", "numbing_min", [25]),
        ("a 20-minute numbing", "numbing_min", [20]),
        ("20min", "numbing_min", [20]),
        ("20 to 30 minutes", "numbing_min", [20, 30]),
        ("10, 15 or 20 mins", "numbing_min", [10, 15, 20]),
        ("23\u201327 Minuten", "numbing_min", [23, 27]),
        ("twenty-five minutes", "numbing_min", [25]),
        ("Note the minutes.\n2. Minutes count", "numbing_min", []),
        ("20 minutes for each eyelid, 3 minutes a section", "numbing_min", [20]),
        ("needle of 0,18 mm", "needle_diam_mm", [0.18]),
        ("0.18 millimetres", "needle_diam_mm", [0.18]),
        ("0.18 mm\u00b2", "needle_diam_mm", []),
        ("80 strokes a second before the first", "machine_speed", [80]),
        ("95 Hz", "machine_speed", [95]),
        ("Two full passes, a third if calm", "passes", [2]),
        ("look after each pass", "passes", []),
        ("one wipe a section, 12 wipes at most", "wipes", [12]),
        ("25 minutes", "passes", []),
    ],
)
def test_numbers_are_found_in_the_unit_of_a_column_only(text, column, numbers):
    assert list(stated(text, column).values()) == numbers


@pytest.mark.parametrize(
    ("steps", "unlike"),
    [
        ("First stroke at 25 minutes.", False),
        ("First stroke at 27 minutes.", False),
        ("First stroke at 20 minutes.", True),
        ("First stroke at 25 minutes. Then wait 10 minutes for the photo.", False),
        ("Wait 10 minutes for the photo.", True),
        ("Numbing as the maker says; 2 passes.", False),
    ],
)
def test_a_way_is_unlike_its_limits_when_no_number_it_states_lies_within(steps, unlike):
    way = f'steps = "{steps}"\n[arms.A.recorded]\nnumbing_min = [23, 27]\n[arms.B]'
    found = list(unlike_steps(read_plan(plan_text().replace("[arms.B]", way))))

    assert bool(found) == unlike
