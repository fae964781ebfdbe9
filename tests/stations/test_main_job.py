"""From a question to findings, by the stations, and what each refuses."""

import json
from dataclasses import replace

import openpyxl
import pytest
from studies import (
    ANSWERS,
    clock,
    code_of,
    enrolled_study,
    fill_workbook,
    paired_study,
    plan_text,
)

from pmulab.errors import UserError
from pmulab.findings import Findings, Running, read_findings
from pmulab.stations.analyse import analyse
from pmulab.stations.check import check
from pmulab.stations.demo import demo
from pmulab.stations.enrol import enrol
from pmulab.stations.handout import handout
from pmulab.stations.lock import lock
from pmulab.stations.new import new
from pmulab.stations.size import size
from pmulab.study import Study, begin
from pmulab.wording import details

A = [5.0, 6.0, 7.0, 8.0, 5.5, 6.5, 7.5, 8.5]
B = [8.0, 9.5, 10.0, 10.5, 8.0, 10.0, 10.0, 12.0]


@pytest.fixture(scope="module")
def demo_study(tmp_path_factory):
    folder = tmp_path_factory.mktemp("demo") / "study"
    return demo(folder).value


@pytest.fixture(scope="module")
def demo_findings(demo_study):
    return read_findings(demo_study.path("findings.json").read_text())


def by_name(findings, name):
    return next(one for one in findings.effects if one.outcome.name == name)


# Expected figures of the invented demonstration, worked out beforehand with scipy 1.17.1 and
# statsmodels 0.15.0 from the numbers in pmulab/demo/cases.csv.
T_FORMS = {
    "work_min": (-3.21, -4.38, -2.04),
    "swelling_end": (0.00, -0.61, 0.61),
    "pain_work": (-0.58, -1.22, 0.05),
    "segments_kept": (0.09, -0.38, 0.56),
}


@pytest.mark.parametrize("name", T_FORMS)
def test_the_demo_gives_its_expected_t_figures(demo_findings, name):
    form = by_name(demo_findings, name).other_forms["t"]
    figures = (form.value, form.interval.low, form.interval.high)

    assert tuple(round(figure, 2) for figure in figures) == T_FORMS[name]


def test_the_demo_gives_its_expected_adjusted_figures(demo_findings):
    adjusted = by_name(demo_findings, "work_min").adjusted
    interval = adjusted.difference.interval

    assert round(adjusted.difference.value, 2) == -3.21
    assert (round(interval.low, 2), round(interval.high, 2)) == (-4.23, -2.19)
    assert (round(adjusted.order.value, 2), round(adjusted.side.value, 2)) == (-0.88, -0.71)
    pain = by_name(demo_findings, "pain_work").adjusted.difference.interval
    assert (round(pain.low, 2), round(pain.high, 2)) == (-1.15, -0.02)


def test_the_demo_gives_its_expected_description(demo_findings):
    minutes = demo_findings.primary

    assert (minutes.a.mean, round(minutes.b.mean, 2)) == (14.25, 17.46)
    assert round(minutes.sd_of_differences, 2) == 1.84
    assert round(minutes.correlation, 2) == 0.50
    assert round(minutes.typical.value, 3) == -3.125
    assert (minutes.counts.a_better, minutes.counts.equal, minutes.counts.b_better) == (11, 1, 0)
    assert round(minutes.other_tests["sign_flip"].p, 5) == 0.00098
    assert minutes.test.smallest_p == 2 / 64  # three blocks of four, given the working order


def test_the_second_eyelid_of_the_demo_took_longer(demo_findings):
    """An order coefficient of -0.88 is a second eyelid 0.88 min slower, not twice that."""
    said = " ".join(details(demo_findings.primary, demo_findings.plan))

    assert "the second eyelid came out about 0.9 min higher" in said


def test_the_missing_healed_visit_of_the_demo_is_bounded(demo_findings):
    forms = by_name(demo_findings, "segments_kept").other_forms
    low, high = forms["t_missing_low"], forms["t_missing_high"]

    assert (round(low.value, 2), round(high.value, 2)) == (-0.25, 0.42)
    assert (round(low.interval.low, 2), round(low.interval.high, 2)) == (-1.11, 0.61)
    assert (round(high.interval.low, 2), round(high.interval.high, 2)) == (-0.42, 1.25)


def test_the_verdicts_of_the_demo_that_flip_are_unclear(demo_findings):
    cases = {one.outcome.name: one.verdict.case for one in demo_findings.effects}

    assert cases["swelling_end"] == "G3"
    assert cases["pain_work"] == "G8"
    assert cases["segments_kept"] == "G8"
    assert demo_findings.primary.verdict.favours == "A"


def test_the_demo_is_marked_as_invented_and_tells_its_untidiness(demo_study, demo_findings):
    assert demo_findings.plan.study.invented
    assert demo_findings.flow.lost_reasons == ("1 not seen again",)
    assert (demo_findings.flow.not_eligible, demo_findings.flow.no_consent) == (1, 1)
    assert demo_findings.safety.with_event == 1
    report = check(demo_study, demo_study.path("records-as-first-typed.xlsx")).value
    blocking = [one for one in report.problems if one.severity == "blocks analysis"]
    assert [(one.sheet, one.column, one.value) for one in blocking] == [
        ("sessions", "work_min", "170")
    ]


def test_the_demo_handout_holds_no_client_code(demo_study):
    page = demo_study.path("handout.html").read_text()

    assert "Invented" in page or "INVENTED" in page
    for card in demo_study.assignments():
        assert card.client_code not in page


def test_findings_survive_their_file(demo_findings):
    assert read_findings(demo_findings.to_json()) == demo_findings


def test_an_analysis_can_be_repeated_to_the_letter(tmp_path):
    study = paired_study(tmp_path / "study", A, B)
    first, second = analyse(study).value, analyse(study).value

    assert first == second


def test_a_new_study_goes_to_its_lock(tmp_path):
    study = new(tmp_path / "study", "wipe-material").value
    with pytest.raises(UserError, match="allowed_by"):
        lock(study)
    assert size(study).lines

    with pytest.raises(UserError, match="no-such-question"):
        new(tmp_path / "other", "no-such-question")


def test_the_arms_stay_hidden_while_the_study_runs(tmp_path):
    study = enrolled_study(tmp_path / "study", 4, planned=8)
    fill_workbook(study, {(code_of(1), "A"): 1.0, (code_of(1), "B"): 90.0})

    answer = analyse(study)

    assert isinstance(answer.value, Running)
    assert not study.path("findings.json").exists()
    told = json.dumps(answer.to_dict()) + str(answer)
    assert "90" not in told.replace("1990", "")
    for label in ("way one", "way two"):
        assert label not in told


def test_the_running_view_counts_events_without_their_arm(tmp_path):
    study = enrolled_study(tmp_path / "study", 4, planned=8)
    event = {
        "client_code": code_of(1), "session_no": "1", "side": "L", "onset_date": "2026-01-06",
        "event": "eye_irritation", "severity": "mild", "serious": "no", "related": "possible",
        "referred_to": "none", "outcome": "resolved", "series_action": "none", "signed_by": "P1",
    }  # fmt: skip
    fill_workbook(study, {}, events=[event])

    safety = analyse(study).value.safety

    assert [(one.event, one.arm) for one in safety.events] == [("eye_irritation", "hidden")]


def test_a_planned_look_is_taken_once_and_an_unplanned_one_stays_visible(tmp_path):
    text = plan_text(planned=12) + "[analysis]\nlooks = [8]\n"
    study = begin(tmp_path / "study", text, clock())
    lock(study)
    for number in range(1, 9):
        enrol(study, code_of(number), ANSWERS)
    study = Study(study.folder, clock(120))
    values = {(code_of(n), arm): v[n - 1] for n in range(1, 9) for arm, v in (("A", A), ("B", B))}
    fill_workbook(study, values)

    found = analyse(study, look=True).value
    assert isinstance(found, Findings)
    assert found.primary.difference.interval.level == 1 - 2 / 2**8  # the surest of eight pairs
    assert found.primary.verdict.case == "G6"  # below the level that a look needs
    with pytest.raises(UserError, match="no look"):
        analyse(study, look=True)
    again = analyse(study, unplanned="the group asked").value
    assert any("the group asked" in look for look in again.provenance.looks)
    assert len(again.provenance.looks) == 2


def test_a_stopped_study_is_described_and_not_compared(tmp_path):
    study = enrolled_study(tmp_path / "study", 8, planned=12)
    values = {(code_of(n), arm): v[n - 1] for n in range(1, 9) for arm, v in (("A", A), ("B", B))}
    fill_workbook(study, values)

    found = analyse(study, stopped="two eye irritations in one arm").value

    assert found.primary.verdict.case == "G7"
    assert found.provenance.stopped == "two eye irritations in one arm"


def test_a_plan_edited_after_locking_is_told_in_every_output(tmp_path):
    study = paired_study(tmp_path / "study", A, B)
    study.path("plan.toml").write_text(plan_text(planned=8, worthwhile=0.1))

    answer = analyse(study)
    page = handout(study).value.read_text()

    assert answer.value.primary.outcome.worthwhile == 0.5
    assert "locked as" in str(answer)
    assert "edited after locking" in page
    assert "edited after locking" in str(check(study))


def test_a_plan_edited_while_the_study_runs_is_told_there_too(tmp_path):
    study = enrolled_study(tmp_path / "study", 2, planned=8)
    study.path("plan.toml").write_text(plan_text(planned=9))
    fill_workbook(study, {})

    assert "edited after locking" in str(analyse(study))
    assert "edited after locking" in str(enrol(study, "C300", ANSWERS))


def test_records_with_a_blocking_problem_are_not_analysed(tmp_path):
    study = paired_study(tmp_path / "study", [*A[:-1], 5000.0], B)

    with pytest.raises(UserError, match="block"):
        analyse(study)


def test_missing_values_are_counted_and_bounded(tmp_path):
    study = paired_study(tmp_path / "study", [*A[:-1], None], B)

    found = analyse(study).value.primary

    assert found.missing.n == 1
    assert found.missing.low.value < found.difference.value < found.missing.high.value
    assert found.difference.n == 7


def test_yes_no_outcomes_are_compared_in_percentage_points(tmp_path):
    study = paired_study(
        tmp_path / "study", [1, 0, 0, 0, 0, 0, 0, 1], [1, 1, 1, 1, 1, 1, 0, 0], name="gap",
        kind="yes-no", unit="percentage points", low=0.0, high=1.0, worthwhile=20.0,
    )  # fmt: skip

    found = analyse(study).value.primary

    assert found.difference.value == pytest.approx(-50.0)
    assert (found.counts.a_better, found.counts.equal, found.counts.b_better) == (5, 2, 1)
    assert found.other_tests["mcnemar"].p == pytest.approx(0.21875)  # binomial 1 of 6, exact


def test_parallel_groups_are_compared_by_client(tmp_path):
    study = enrolled_study(tmp_path / "study", 12, design="parallel")
    values = {}
    for number, card in enumerate(study.assignments()):
        values[card.client_code, card.slot.arm] = 5.0 + number % 4 - 3.0 * (card.slot.arm == "A")
    fill_workbook(study, values)
    report = check(study).value
    assert not report.blocks, report.to_text()

    found = analyse(study).value

    assert found.primary.difference.n == 12
    assert found.flow.analysed == 12
    assert found.primary.adjusted is None
    assert found.primary.test.p >= found.primary.test.smallest_p


def test_healed_outcomes_judged_too_early_do_not_count(tmp_path):
    study = enrolled_study(
        tmp_path / "study", 8, name="segments_kept", table="healed", kind="count", low=0.0,
        high=10.0, step=1.0, worthwhile=1,
    )  # fmt: skip
    values = {(code_of(n), arm): v for n in range(1, 9) for arm, v in (("A", 8), ("B", 7))}
    fill_workbook(study, values, healed={"healed_date": "2026-01-20"})

    found = analyse(study, unplanned="test").value

    assert found.flow.analysed == 0
    assert found.primary.verdict.case == "G6"
    assert found.flow.lost_reasons == ("8 judged before day 28",)


def test_rows_judged_too_early_do_not_end_the_study(tmp_path):
    study = enrolled_study(
        tmp_path / "study", 2, name="segments_kept", table="healed", kind="count", low=0.0,
        high=10.0, step=1.0, worthwhile=1,
    )  # fmt: skip
    values = {(code_of(n), arm): 8 for n in (1, 2) for arm in ("A", "B")}
    fill_workbook(study, values, healed={"healed_date": "2026-01-20"})

    assert isinstance(analyse(study).value, Running)


@pytest.mark.parametrize(
    ("a", "b"),
    [
        ([5.0] * 8, [5.0] * 8),
        ([5.0] * 8, [7.0] * 8),
        ([5.0, 6.0], [7.0, 8.0]),
        ([None] * 8, [None] * 8),
        ([*A[:-4], None, None, None, None], B),
    ],
)
def test_degenerate_data_give_a_clear_statement(tmp_path, a, b):
    study = paired_study(tmp_path / "study", a, b)

    answer = analyse(study)

    assert "nan" not in str(answer).casefold()
    assert answer.value.primary.verdict.case in {"G1", "G3", "G6"}
    assert handout(study).value.exists()


def test_a_serious_event_asks_for_a_pause(tmp_path):
    study = enrolled_study(tmp_path / "study", 4, planned=8)
    event = {
        "client_code": code_of(1), "session_no": "1", "side": "L", "onset_date": "2026-01-06",
        "event": "corneal_injury", "severity": "severe", "serious": "yes", "related": "probable",
        "referred_to": "eye_doctor", "referred_date": "2026-01-06", "outcome": "ongoing",
        "series_action": "stopped", "signed_by": "P1",
    }  # fmt: skip
    fill_workbook(study, {}, events=[event])

    answer = analyse(study)

    assert "PAUSE NOW" in str(answer)
    assert "same day" in answer.value.safety.stop


def test_a_handout_is_refused_after_records_or_findings_changed(tmp_path):
    study = paired_study(tmp_path / "study", A, B)
    analyse(study)
    findings = study.path("findings.json")
    kept = findings.read_text()
    findings.write_text(kept.replace("-3.0", "-30.0"))
    with pytest.raises(UserError, match=r"findings\.json was changed"):
        handout(study)

    findings.write_text(kept)
    assert handout(study).value.exists()
    study.path("events.csv").write_text("client_code,session_no,event,signed_by\nC101,2,x,P1\n")
    with pytest.raises(UserError, match="records were changed"):
        handout(study)


def test_an_analysis_after_changed_records_says_so(tmp_path):
    study = paired_study(tmp_path / "study", A, B)
    analyse(study)
    rows = study.path("clients.csv").read_text()
    study.path("clients.csv").write_text(rows.replace("30-39", "40-49", 1))

    found = analyse(study).value

    assert any("changed after the analysis" in look for look in found.provenance.looks)


def test_a_stop_is_written_down_even_when_the_records_are_not_ready(tmp_path):
    study = paired_study(tmp_path / "study", [*A[:-1], 5000.0], B)
    with pytest.raises(UserError, match="recorded as stopped"):
        analyse(study, stopped="corneal injury")

    *_, last, read = (entry.event for entry in study.journal())
    assert (last, read) == ("study stopped", "records read")


def test_withdrawn_clients_are_left_out_of_everything_but_their_count(tmp_path):
    study = paired_study(tmp_path / "study", A, B)
    rows = study.path("clients.csv").read_text().splitlines()
    header, first = rows[0].split(","), rows[1].split(",")
    first[header.index("consent_withdrawn")] = "2026-03-01"
    study.path("clients.csv").write_text("\n".join([rows[0], ",".join(first), *rows[2:]]) + "\n")

    found = analyse(study).value

    assert found.flow.withdrawn == 1
    assert (found.flow.treated, found.primary.difference.n) == (7, 7)


@pytest.mark.parametrize(
    ("silent", "told"),
    [
        (3, "5 of them shown"),
        (1, "a few clients did not agree to be shown, so nobody is"),
    ],
)
def test_values_of_clients_who_do_not_share_are_not_drawn(tmp_path, silent, told):
    study = paired_study(tmp_path / "study", A, B)
    rows = study.path("clients.csv").read_text().splitlines()
    header = rows[0].split(",")
    for number in range(1, silent + 1):
        row = rows[number].split(",")
        row[header.index("consent_share_numbers")] = "no"
        row[header.index("consent_share_numbers_date")] = ""
        rows[number] = ",".join(row)
    study.path("clients.csv").write_text("\n".join(rows) + "\n")

    found = analyse(study).value

    assert [one.shared for one in found.primary.clients] == [False] * silent + [True] * (8 - silent)
    assert found.primary.difference.n == 8
    assert told in handout(study).value.read_text()


def test_size_answers_for_a_known_spread_a_guess_and_a_pilot(tmp_path):
    study = begin(tmp_path / "study", plan_text(worthwhile=2, planned=12))

    known = size(study, sd=2.0).value[0]
    assert known.by_width == 7  # t(6) * 2 / sqrt(7) = 1.85 <= 2; t(5) * 2 / sqrt(6) = 2.10
    assert len(size(study).value) == 3
    assert size(study, sd=2.0, pilot=4).value[0].sd > 2.0
    with pytest.raises(UserError, match="positive"):
        size(study, sd=0.0)
    with pytest.raises(UserError, match="only one"):
        size(study, sd=1.0, share=20)


def test_outcomes_are_analysed_as_drawn_and_a_wrong_arm_is_counted(tmp_path):
    study = enrolled_study(tmp_path / "study", 8)
    values = {(code_of(n), arm): v[n - 1] for n in range(1, 9) for arm, v in (("A", A), ("B", B))}
    fill_workbook(study, values, session={"arm_actual": "A", "deviation": "wrong_arm"})

    answer = analyse(study, unplanned="test")

    assert answer.value.flow.wrong_arm == 8
    assert answer.value.primary.difference.value == pytest.approx(sum(A) / len(A) - sum(B) / len(B))


def test_replacing_a_frozen_result_leaves_the_old_one(demo_findings):
    changed = replace(demo_findings, secondary=())

    assert demo_findings.secondary
    assert not changed.secondary


def test_between_clients_one_yes_of_two_eyelids_is_a_yes(tmp_path):
    """The client is the unit: half a client neither needs a touch-up nor does not."""
    study = enrolled_study(
        tmp_path / "study", 12, design="parallel", name="gap", kind="yes-no",
        unit="percentage points", low=0.0, high=1.0, worthwhile=20.0,
    )  # fmt: skip
    values = {(one.client_code, one.slot.arm): 0 for one in study.assignments()}
    fill_workbook(study, values)
    book = openpyxl.load_workbook(study.path("records.xlsx"))
    sheet = book["sessions"]
    columns = {str(cell.value).removesuffix(" *"): cell.column for cell in sheet[1]}
    sheet.cell(2, columns["gap"], "yes")
    book.save(study.path("records.xlsx"))

    found = analyse(study).value.primary

    assert {client.a if client.a is not None else client.b for client in found.clients} == {0, 1}
    assert sorted([found.a.mean, found.b.mean]) == pytest.approx([0.0, 100 / 6])
    assert abs(found.difference.value) == pytest.approx(100 / 6)


def test_work_before_the_card_is_told_in_the_check_and_on_the_page(tmp_path):
    """What was done before the lot was drawn cannot have been decided by it."""
    study = paired_study(tmp_path / "study", A, B)
    book = openpyxl.load_workbook(study.path("records.xlsx"))
    sheet = book["sessions"]
    columns = {str(cell.value).removesuffix(" *"): cell.column for cell in sheet[1]}
    for row in range(2, sheet.max_row + 1):
        if sheet.cell(row, columns["client_code"]).value:
            sheet.cell(row, columns["session_date"], "2026-01-02")
    book.save(study.path("records.xlsx"))

    assert "before her card was opened" in str(check(study))
    found = analyse(study).value
    assert found.flow.before_card == 8
    assert "before their card" in " ".join(found.primary.verdict.reasons)
    assert "the lot decided nothing" in handout(study).value.read_text()


@pytest.mark.parametrize(
    ("name", "answer", "told"),
    [
        ("consent_record_date", "2027-03-01", "has not come yet"),
        ("skin_type", "greasy", "'greasy' in 'Skin type' is not one of"),
    ],
)
def test_what_cannot_be_is_refused_before_a_card_is_opened(tmp_path, name, answer, told):
    study = enrolled_study(tmp_path / "study", 1, planned=4)

    with pytest.raises(UserError, match=told):
        enrol(study, "C300", ANSWERS | {name: answer})
    assert len(study.assignments()) == 1


def test_visible_capillaries_bring_their_caution_to_the_card(tmp_path):
    """Common practice, no source: iron-oxide pigment or decline."""
    study = enrolled_study(tmp_path / "study", 1, planned=4)

    assert "Visible capillaries" not in str(enrol(study, "C300", ANSWERS))
    assert "Visible capillaries" in str(
        enrol(study, "C301", ANSWERS | {"lid_capillaries": "faint"})
    )
