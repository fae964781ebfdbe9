"""Who is kept out. The rules are common practice, no source, unless said otherwise."""

import pytest
from studies import ANSWERS, plan_text

from pmulab.eligibility import obstacles
from pmulab.plan import read_plan

PLAN = read_plan(plan_text())
CARBON = read_plan(plan_text().replace('lid = "upper"', 'lid = "upper"\npigment = "carbon"'))
PARALLEL = read_plan(plan_text(design="parallel"))


def codes(answers, plan=PLAN):
    return [one.code for one in obstacles(ANSWERS | answers, plan)]


def test_a_client_without_obstacles_takes_part():
    assert codes({}) == []


@pytest.mark.parametrize("answer", ["yes", "unsure"])
@pytest.mark.parametrize(
    "field",
    [
        "pregnant_or_nursing", "active_eye_disease", "eye_surgery_6m", "isotretinoin_12m",
        "anticoagulant", "lash_serum_4w", "allergy_flag", "other_health_reason",
    ],
)  # fmt: skip
def test_a_health_reason_or_a_doubt_keeps_out(field, answer):
    assert len(codes({field: answer})) == 1


@pytest.mark.parametrize(
    "answer", ["NA_refused", "NA_not_done", "NA_not_applicable", "NA_lost", ""]
)
@pytest.mark.parametrize(
    "field",
    [
        "pregnant_or_nursing", "active_eye_disease", "eye_surgery_6m", "isotretinoin_12m",
        "anticoagulant", "lash_serum_4w", "allergy_flag", "other_health_reason", "old_pigment",
    ],
)  # fmt: skip
def test_only_a_no_lets_in(field, answer):
    """A health question that she would not answer is no reason to work on her."""
    assert len(codes({field: answer})) == 1


@pytest.mark.parametrize("band", ["NA_refused", "NA_not_done", ""])
def test_a_client_whose_age_is_not_known_is_kept_out(band):
    """Common practice, no source: who is below the local age limit is not treated."""
    found = obstacles(ANSWERS | {"age_band": band}, PLAN)
    assert [one.code for one in found] == ["age"]
    assert "below the local age limit is not treated" in found[0].words


def test_a_question_that_was_not_answered_keeps_out():
    assert len(obstacles({}, PLAN)) >= 10


@pytest.mark.parametrize("seen", ["faint", "marked"])
def test_visible_capillaries_keep_out_of_a_study_with_carbon_pigment(seen):
    """Common practice, no source: iron-oxide or decline, never by lot."""
    assert codes({"lid_capillaries": seen}, CARBON) == ["capillaries"]
    assert codes({"lid_capillaries": seen}) == []


def test_unequal_eyelids_keep_out_of_left_right_only():
    assert codes({"eyelid_symmetry_ok": "no"}) == ["eyelids_differ"]
    assert codes({"eyelid_symmetry_ok": "no"}, PARALLEL) == []


def test_no_consent_keeps_out():
    assert codes({"consent_record": "no"}) == ["declined"]


def test_contact_lenses_alone_do_not_keep_out():
    """They come out before and stay out for days (practitioners' sheets)."""
    assert codes({"contacts": "yes"}) == []


def test_no_obstacle_tells_to_stop_a_prescribed_drug():
    told = obstacles(ANSWERS | {"anticoagulant": "yes"}, PLAN)[0].words

    assert "Never tell a client to stop a prescribed drug" in told


@pytest.mark.parametrize(
    ("answer", "said"),
    [("unsure", "unsure"), ("NA_refused", "she does not say"), ("NA_not_done", "not answered")],
)
def test_what_nobody_knows_is_never_said_of_her(answer, said):
    """What is not known counts as a reason to wait; it is not a finding about her."""
    everything = {name: answer for name in ANSWERS if not name.startswith(("consent", "age"))}
    for one in obstacles(ANSWERS | everything, CARBON):
        assert f": {said}. What is not known counts as a reason not to take part" in one.words
        assert "whoever may decide it has to clear it first" in one.words
    (told,) = obstacles(ANSWERS | {"pregnant_or_nursing": answer}, PLAN)
    assert told.words.startswith(f"Pregnant or breast-feeding: {said}.")
    assert "defer" not in told.words


def test_what_always_holds_is_said_of_a_doubt_too():
    (told,) = obstacles(ANSWERS | {"anticoagulant": "unsure"}, PLAN)
    assert "Never tell a client to stop a prescribed drug" in told.words


def test_a_lash_serum_is_no_medicine():
    """It is a cosmetic; what a physician prescribes is asked for apart (common practice)."""
    assert codes({"lash_serum_4w": "yes"}) == ["lash_serum"]
    assert codes({"anticoagulant": "yes"}) == codes({"isotretinoin_12m": "yes"}) == ["medicine"]


def test_every_reason_can_be_written_into_the_clients_table():
    reasons = {one.code for one in obstacles({}, CARBON)}
    assert reasons <= set(CARBON.tables()["clients"]["eligible_reason"].choices)
