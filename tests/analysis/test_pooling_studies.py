"""Studies put together: what may be pooled, what is shown for how many, who is silent."""

import re
from dataclasses import replace

import findings_builder
import packs_builder as build
import pytest

from pmulab.analysis.contributions import contribution
from pmulab.analysis.pooling import pool
from pmulab.errors import UserError
from pmulab.figures import forest
from pmulab.findings import Counts, Event
from pmulab.findings.pooled import Registered
from pmulab.wording import (
    check_lines,
    elsewhere_lines,
    footnote_lines,
    pooled_certainty,
    pooled_finding,
    registered_words,
    spread_lines,
)
from pmulab.wording.comparisons import HARM_FIRST


def together(packs, register=(), **given):
    return pool(packs, register, made="2027-03-01", software="test", **given)


def changed(pack, **paths):
    """The pack with parts of its findings replaced; a name with dots goes deeper."""
    for path, value in paths.items():
        pack = _set(pack, path.split("__"), value)
    return pack


def _set(thing, names, value):
    first, *rest = names
    return replace(thing, **{first: _set(getattr(thing, first), rest, value) if rest else value})


def outcome_of(pack, **given):
    """The pack with another primary outcome in plan and effect."""
    outcome = replace(pack.findings.plan.primary, **given)
    return changed(
        pack, findings__plan__primary=outcome, findings__primary__outcome=outcome
    )  # fmt: skip


def entry(pack, **given):
    study = pack.findings.plan.study
    known = Registered(
        study.code, pack.study, study.question, "Working minutes", "min", 2.0, 12, "2026-01-26",
        "2026-07-04",
    )  # fmt: skip
    return replace(known, **given)


@pytest.fixture
def five():
    return build.all_reported()


@pytest.fixture
def silent(five):
    return entry(five[0], code="quillet", study="f" * 64, state="never reported", days_overdue=240)


def ends(interval):
    return (round(interval.low, 2), round(interval.high, 2))


def test_the_invented_group_gives_the_figures_worked_out_beforehand(five):
    """By statsmodels and scipy, from differences rounded to two decimals; rows are half minutes."""
    found = together(five)
    values = {s.label.split()[2]: (round(s.value, 2), round(s.error, 2)) for s in found.studies}

    assert values == {
        "Orvane": (-3.21, 0.53), "Lantry": (-1.6, 0.7), "Mistell": (-2.9, 0.85),
        "Nivard": (-0.4, 0.6), "Opaline": (-2.2, 1.1),
    }  # fmt: skip
    other = found.other_spread
    assert round(other.tau2, 3) == 0.868
    assert other.q == pytest.approx(13.77, abs=0.02)
    assert round(other.value, 2) == -2.03
    assert ends(other.classical) == (-3.08, -0.99)
    assert ends(other.interval) == (-3.51, -0.56)
    assert ends(other.prediction) == (-5.45, 1.38)
    assert found.case == "G2"
    assert found.favours == "A"
    assert "It could even be the other way round." in " ".join(spread_lines(found))


def test_every_pooled_line_says_how_many_registered_studies_are_in(five, silent):
    register = [*(entry(pack, state="finished") for pack in five), silent]
    found = together(five, register)

    assert registered_words(found) == "5 of 6 registered studies are in; 1 never reported."
    assert found.silent == 1
    assert found.if_silent.k == 6
    assert found.if_silent.value > found.together.value
    assert any("silent study had seen no difference" in line for line in check_lines(found))
    assert "1 study that never reported" in pooled_certainty(found)


@pytest.mark.parametrize("case", ["G1", "G2", "G3", "G4", "G5"])
def test_harm_comes_before_what_the_studies_say_together(five, case):
    found = replace(together(five), case=case)
    harmed = replace(found, safety=replace(found.safety, stop="Studio one: a serious event."))

    assert HARM_FIRST not in pooled_finding(found)
    assert pooled_finding(harmed).startswith(HARM_FIRST)
    assert "cost or comfort" not in pooled_finding(harmed)
    assert not re.search("favour|did better|ahead", pooled_finding(harmed))
    assert "better with A" in forest(found).svg
    assert "better with" not in forest(harmed).svg
    assert ("cost or comfort" in pooled_finding(found)) == (case == "G3")


def test_one_study_is_not_pooled(five):
    found = together(five[:1])

    assert found.together is None
    assert found.common is None
    assert "this is one study, so nothing is pooled" in pooled_finding(found)
    assert "cannot be told" in " ".join(spread_lines(found))
    assert "If both" not in " ".join(footnote_lines(found))


def test_two_studies_get_no_common_number_but_the_labelled_one(five):
    """Common effect by hand: weights 1/0.531^2 and 1/0.702^2."""
    found = together(five[:2])
    weights = [1 / s.error**2 for s in found.studies]
    value = sum(w * s.value for w, s in zip(weights, found.studies, strict=True)) / sum(weights)

    assert found.together is None
    assert found.common.value == pytest.approx(value)
    told = pooled_finding(found)
    assert "two studies, so no common number is given" in told
    assert "would be" not in told
    small = " ".join(footnote_lines(found))
    assert "If both measure the same thing: " in small
    assert "Student's t interval" in small
    assert found.case is None
    assert found.if_silent is None


def test_three_studies_get_an_average_and_no_range_for_the_next(five):
    found = together(five[:3])

    assert round(found.other_spread.value, 2) == -2.62
    assert ends(found.other_spread.interval) == pytest.approx((-4.78, -0.46), abs=0.011)
    assert not found.show_prediction
    told = " ".join(spread_lines(found))
    assert "cannot be told from 3 studies" in told
    assert "no range can be given from three studies" in told
    assert all(one.interval is None for one in found.without)


def test_four_studies_get_a_range_with_a_warning(five):
    told = " ".join(spread_lines(together(five[:4])))

    assert "cannot be told from 4 studies" in told
    assert "With four studies this range is hardly more than a warning." in told


def test_harm_is_added_up_over_all_studies_and_said_before_effects(five):
    extra = Event("infection", "severe", "A", True, 2)
    hurt = changed(
        five[1], findings__safety__events=(extra,), findings__safety__with_event=2,
        findings__safety__stop="an infection",
    )  # fmt: skip
    found = together([five[0], hurt, *five[2:]])

    assert found.safety.treated == 52
    assert found.safety.with_event == 3
    assert found.safety.events[0] == extra
    assert "an infection" in found.safety.stop


def another_question(pack, **safety):
    """The pack as of a study that compares two other ways by another measure."""
    arms = pack.findings.plan.arms
    arms = replace(arms, A=replace(arms.A, label="ointment"), B=replace(arms.B, label="dry"))
    pack = outcome_of(pack, name="swelling", title="Swelling")
    pack = changed(
        pack, study="f" * 64, findings__plan__arms=arms, findings__plan__study__library="aftercare",
        findings__plan__study__question="Ointment or dry?",
    )  # fmt: skip
    safety = {f"findings__safety__{name}": value for name, value in safety.items()}
    return changed(pack, label="Stranger", rows=(), **safety)


def test_harm_of_another_question_is_told_apart_under_its_own_ways(five):
    irritation = Event("eye_irritation", "mild", "A", False, 2)
    found = together(
        [*five, another_question(five[0], events=(irritation,), with_event=2, stop="look at it")]
    )
    alone = together(five)

    assert [one.label for one in found.set_aside] == ["Stranger"]
    assert found.safety == alone.safety
    (line,) = elsewhere_lines(found)
    assert line.startswith("Not counted here: Stranger (Ointment or dry? Its ways: ointment; dry).")
    assert "PAUSE NOW: look at it" in line
    assert "Eye irritation (mild, ointment): 2 clients." in line
    assert list(elsewhere_lines(alone)) == []


def test_the_register_is_counted_by_question(five):
    other = another_question(five[0])
    late = {"state": "never reported", "days_overdue": 9}
    elsewhere = entry(other, study="e" * 64, code="unread", primary="Swelling", **late)
    doubtful = entry(five[0], study="d" * 64, code="worded", question="Is wiping damp faster?")
    register = [
        *(entry(pack, state="finished") for pack in five),
        entry(other, state="finished", primary="Swelling"),
        elsewhere, doubtful,
    ]  # fmt: skip
    found = together([*five, other], register)

    assert registered_words(found) == (
        "5 of 5 registered studies of this question are in. "
        "3 registered studies asked something else."
    )
    assert found.silent == 0
    assert found.if_silent is None
    assert any("worded was announced with the same main measure" in one for one in found.flags)
    assert not any("unread" in one for one in found.flags)


def test_no_events_anywhere_still_have_an_upper_limit(five):
    """No event in 40 clients: 1 - 0.05^(1/40) = 7.2 % (exact one-sided limit)."""
    calm = [p for p in five if not p.findings.safety.events]
    found = together(calm)

    assert found.safety.treated == 40
    assert found.safety.upper_limit == pytest.approx(1 - 0.05 ** (1 / 40))


def test_a_study_that_comes_twice_counts_once_the_latest(five):
    older = replace(five[0], made="2026-01-01", label="older")
    found = together([older, *five])

    assert len(found.studies) == 5
    assert [(one.label, "same study" in one.why) for one in found.set_aside] == [("older", True)]


def test_of_two_of_one_day_the_more_complete_one_counts(five):
    small = changed(five[0], label="small", findings__primary__difference__n=3)

    assert together([small, *five]).set_aside[0].label == "small"


def test_studies_of_one_name_are_told_apart_and_others_keep_theirs(five):
    """By the first signs of their fingerprints; the same study twice is no second name."""
    alike = [replace(pack, label="wipe-material") for pack in five[:2]]
    found = together([*alike, five[2], replace(five[2], made="2020-01-01")])

    assert [one.label for one in found.studies] == [
        f"wipe-material ({five[0].study[:6]})",
        f"wipe-material ({five[1].study[:6]})",
        five[2].label,
    ]
    assert any("Without" in line and five[0].study[:6] in line for line in check_lines(found))


def test_the_range_for_the_next_studio_is_the_drawn_one_the_older_stands_in_the_footnote(five):
    found = together(five)
    told = " ".join(footnote_lines(found))

    assert ends(found.together.prediction) == pytest.approx((-5.9, 1.7), abs=0.05)
    assert found.together.prediction.method.startswith("confidence distribution")
    assert "held it in 93 to 98 of 100 groups" in told
    assert "by the older formula with t(k - 2): -5.4" in told


def test_the_same_clients_under_another_plan_count_once(five):
    copied = replace(five[0], study="e" * 64, label="copied", made="2026-01-01")
    found = together([*five, copied])

    assert len(found.studies) == 5
    assert "12 of its clients have the same values" in found.set_aside[0].why


def test_some_clients_in_two_studies_are_pointed_out(five):
    mixed = replace(five[1], rows=(*five[1].rows[:6], *five[0].rows[:4]))
    found = together([five[0], mixed, *five[2:]])

    assert len(found.studies) == 5
    assert any("have the same values: ask" in flag for flag in found.flags)


def test_rows_that_everybody_holds_tell_nobody_apart(five):
    many = [replace(five[0], study=f"{n:064x}", rows=(1, 2, 3, 4, 5)) for n in range(25)]

    assert len(together(many).studies) == 25


def test_one_plan_with_cards_of_its_own_is_a_study_of_its_own(five):
    plan = five[0].findings.provenance.plan
    same = changed(five[1], findings__provenance__plan=plan)
    found = together([five[0], same, *five[2:]])

    assert len(found.studies) == 5
    assert any("carry the same plan" in flag for flag in found.flags)


APART = {
    "other measure": (lambda p: outcome_of(p, name="wipes"), "other main measure"),
    "other unit": (lambda p: outcome_of(p, unit="s"), "other unit"),
    "other kind": (lambda p: outcome_of(p, kind="ordinal"), "other unit"),
    "other direction": (lambda p: outcome_of(p, better="higher"), "other better direction"),
    "other design": (
        lambda p: changed(p, findings__plan__study__design="parallel"), "other design",
    ),
    "other eyelid": (lambda p: changed(p, findings__plan__study__lid="lower"), "other eyelid"),
    "other question": (
        lambda p: changed(p, findings__plan__study__library="soothing-step"), "other ways compared",
    ),
    "other sign": (
        lambda p: changed(
            p, findings__plan__arms__A__label="dry wipe",
            findings__plan__arms__B__label="damp wipe",
        ),
        "the other way round",
    ),
    "stopped": (lambda p: changed(p, findings__provenance__stopped="harm"), "stopped early"),
    "never locked": (lambda p: changed(p, findings__provenance__locked=""), "never locked"),
    "no spread": (
        lambda p: changed(p, findings__primary__sd_of_differences=None), "all of them alike",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", APART)
def test_what_should_not_be_pooled_is_set_aside_with_its_reason(five, name):
    change, why = APART[name]
    found = together([*five[:3], change(five[3]), five[4]])

    assert len(found.studies) == 4
    assert found.set_aside[0].label == five[3].label
    assert why in found.set_aside[0].why
    of_this_question = name in ("stopped", "never locked", "no spread")
    assert found.safety.treated == (52 if of_this_question else 52 - 10)


def test_other_days_of_judging_keep_healed_outcomes_apart(five):
    healed = [outcome_of(pack, table="healed") for pack in five]
    window = replace(healed[0].findings.plan.healed, latest=90)
    found = together([*healed[:4], changed(healed[4], findings__plan__healed=window)])

    assert "other time of judging: healed, day 28 to 90, not" in found.set_aside[0].why


def test_other_ends_of_a_graded_scale_keep_studies_apart(five):
    graded = [outcome_of(pack, kind="ordinal") for pack in five]
    found = together([*graded[:4], outcome_of(graded[4], high=4.0)])

    assert "other scale" in found.set_aside[0].why


def test_two_questions_asked_equally_often_are_refused(five):
    with pytest.raises(UserError, match="different questions: other unit: s"):
        together([five[0], outcome_of(five[1], unit="s")])


def test_no_pack_at_all():
    with pytest.raises(UserError, match="no pack to pool"):
        together([])


def test_other_names_and_other_worthwhile_differences_are_pointed_out(five):
    named = changed(five[1], findings__plan__arms__A__label="moist wipe")
    found = together([five[0], outcome_of(named, worthwhile=3.0), *five[2:]])

    assert len(found.studies) == 5
    assert found.question.outcome.worthwhile == 3
    assert any("names its ways otherwise" in flag for flag in found.flags)
    assert any("2 to 3 min" in flag for flag in found.flags)


def test_studies_outside_the_register_or_announced_late_are_pointed_out(five):
    register = [entry(five[0], state="finished", clients_then=3)]
    flags = " ".join(together(five, register).flags)

    assert "announced after 3 clients had a card" in flags
    assert flags.count("never announced to the group") == 4


def test_notes_of_a_study_travel_with_it(five):
    looked = changed(five[0], findings__provenance__looks=("a look",), left_out=2)
    notes = together([looked, *five[1:]]).studies[0].notes

    assert "2 clients did not agree to share their numbers" in notes
    assert any("looked at early" in note for note in notes)
    missing = replace(looked.findings.primary.missing, n=1)
    one = changed(looked, findings__primary__missing=missing, left_out=1)
    notes = together([one, *five[1:]]).studies[0].notes
    assert {"1 client without a result", "1 client did not agree to share their numbers"} <= set(
        notes
    )


def test_the_file_of_the_findings_is_plain_json(five):
    told = together(five).to_dict()

    assert told["format"] == 1
    assert told["studies"][0]["weight"] == pytest.approx(0.24, abs=0.05)
    assert sum(study["weight"] for study in told["studies"]) == pytest.approx(1)


def yes_no(five, share_a, share_b, only):
    packs = []
    for pack in five:
        outcome = replace(
            pack.findings.plan.primary, kind="yes-no", unit="share of yes", low=0, high=1,
            worthwhile=20,
        )  # fmt: skip
        effect = pack.findings.primary
        counts = Counts(only[0], 10 - sum(only), only[1])
        effect = replace(
            effect, outcome=outcome, counts=counts, other_forms={}, standardised=None,
            a=replace(effect.a, n=10, mean=share_a, sd=None),
            b=replace(effect.b, n=10, mean=share_b, sd=None),
        )  # fmt: skip
        packs.append(
            changed(pack, findings__plan__primary=outcome, findings__primary=effect)
        )  # fmt: skip
    return packs


def test_yes_no_measures_are_pooled_in_percentage_points(five):
    """Agresti and Min: 10 pairs, 1 and 3 apart, half a client in each of four cells."""
    found = together(yes_no(five, 20.0, 40.0, (3, 1)))
    a, b = 3.5 / 12, 1.5 / 12

    assert found.studies[0].value == -20
    assert found.studies[0].error == pytest.approx(100 * ((a + b - (a - b) ** 2) / 12) ** 0.5)
    assert "percentage points" in pooled_finding(found)
    assert found.one_stage.value is None
    assert found.standardised is None


def test_clients_against_clients_are_pooled_too(five):
    packs = [
        changed(p, findings__plan__study__design="parallel", findings__primary__counts=None)
        for p in five
    ]
    found = together(packs)
    a, b = packs[0].findings.primary.a, packs[0].findings.primary.b

    assert found.studies[0].error == pytest.approx((a.sd**2 / a.n + b.sd**2 / b.n) ** 0.5)
    assert "within one client" in found.one_stage.note


def test_very_many_studies_are_left_out_in_turn_only_where_it_matters(five):
    many = [replace(five[n % 5], study=f"{n:064x}", rows=(n,), label=f"s{n}") for n in range(80)]
    found = together(many)

    assert len(found.without) == 5
    assert found.together.k == 80


def test_a_yes_no_study_whose_counts_stay_in_the_studio_weighs_by_its_interval():
    """Wald's interval of the builder: its width over 3.92 is the error again."""
    whole = build.reported()
    asked = replace(findings_builder.yes_no_effect(), role="primary", counts=None, clients=())
    findings = replace(whole.findings, primary=asked)
    found = contribution(replace(whole, findings=findings, rows=(), rows_withheld=True))
    width = asked.difference.interval.high - asked.difference.interval.low

    assert found.value == pytest.approx(asked.difference.value)
    assert found.error == pytest.approx(width / 3.92, rel=1e-3)
