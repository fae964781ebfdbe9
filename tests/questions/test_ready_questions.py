"""Every ready question is complete, plain, honest about its design, and careful."""

import re
import tomllib
from importlib.resources import files
from typing import Any

import pytest

from pmulab.eligibility import obstacles
from pmulab.errors import UserError
from pmulab.plan import Plan, read_plan
from pmulab.plan.stated import unlike_steps
from pmulab.questions import draft, names, question
from pmulab.tables import study_tables

NAMES = names()
COLUMNS = {name: set(table.names) for name, table in study_tables().items()}
WANTED = {
    "wipe-material", "fewer-wipes", "soothing-step", "pigment-family", "section-by-section",
    "needle-configuration", "machine-speed", "stretch-support", "aftercare", "numbing-time",
    "pass-direction", "hand-position", "line-marking", "rest-between-passes", "lash-line-drying",
}  # fmt: skip
WHOLE_CLIENT = {"aftercare", "line-marking", "pigment-family"}

# Words that claim more than a small comparison can, and 'patients': they are clients.
NEVER = (
    "proves", "proven", "scientifically shown", "guaranteed", "safe", "no side effects",
    "significant", "significantly", "trend towards", "almost significant", "no effect",
    "highly effective", "superior", "clinically tested", "best", "breakthrough", "risk-free",
    "patient", "patients", "n=1 shows",
)  # fmt: skip
ALL_HEALTHY = {
    "study_exclusion": "no",
    "pregnant_or_nursing": "no",
    "active_eye_disease": "no",
    "eye_surgery_6m": "no",
    "isotretinoin_12m": "no",
    "anticoagulant": "no",
    "lash_serum_4w": "no",
    "age_band": "30-39",
    "allergy_flag": "no",
    "other_health_reason": "no",
    "old_pigment": "no",
    "lid_capillaries": "none",
    "eyelid_symmetry_ok": "yes",
    "consent_record": "yes",
}


def raw(name: str) -> str:
    return files("pmulab.questions").joinpath(f"{name}.toml").read_text(encoding="utf-8")


def plan_of(name: str) -> Plan:
    return read_plan(draft(name, "my-study"))


def texts(value: Any) -> list[str]:
    """Every string in nested plain data."""
    if isinstance(value, dict):
        return [text for one in value.values() for text in texts(one)]
    if isinstance(value, list):
        return [text for one in value for text in texts(one)]
    return [value] if isinstance(value, str) else []


def told(name: str) -> list[str]:
    """Every string of a question that the artist may read."""
    ready = question(name)
    return [ready.summary, ready.why_design, ready.carry_across, *texts(dict(ready.data))]


def test_the_questions_of_the_trade_are_there() -> None:
    assert set(NAMES) >= WANTED
    assert list(NAMES) == sorted(NAMES)
    assert all(re.fullmatch(r"[a-z]+(-[a-z]+)*", name) for name in NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_says_what_it_is_and_why(name: str) -> None:
    ready = question(name)
    assert "\n" not in ready.summary
    assert 20 <= len(ready.summary) <= 100
    assert len(ready.why_design) >= 40
    assert len(ready.carry_across) >= 40


@pytest.mark.parametrize("name", NAMES)
def test_draft_is_a_plan(name: str) -> None:
    plan = plan_of(name)
    assert plan.study.library == name
    assert plan.study.design == ("parallel" if name in WHOLE_CLIENT else "within-person")
    assert plan.study.lid == "upper"
    assert not plan.study.invented
    assert plan.study.question.endswith("?")


@pytest.mark.parametrize("name", NAMES)
def test_outcomes_are_columns_of_the_tables_or_declared_whole(name: str) -> None:
    plan, tables = plan_of(name), plan_of(name).tables()
    stated = tomllib.loads(raw(name))
    entries = [stated["primary"], *stated["secondary"]]
    assert 1 <= len(plan.secondary) <= 4
    for outcome, entry in zip(plan.outcomes, entries, strict=True):
        assert tables[outcome.table][outcome.name].needed == "always"
        if outcome.name in COLUMNS[outcome.table]:
            assert not entry.keys() & {"title", "low", "high", "step", "anchors"}, (
                "the schema says this already"
            )
        else:
            assert entry.keys() >= {"table", "title", "unit", "kind", "better", "low", "high"}


@pytest.mark.parametrize("name", NAMES)
def test_range_step_and_anchors_are_those_of_the_column(name: str) -> None:
    for outcome in plan_of(name).outcomes:
        if outcome.name not in COLUMNS[outcome.table]:
            continue
        column = study_tables()[outcome.table][outcome.name]
        if outcome.yes_no:
            assert column.kind == "flag"
            assert (outcome.low, outcome.high, outcome.step) == (0, 1, 0)
        else:
            assert (outcome.low, outcome.high) == (column.minimum, column.maximum)
            assert outcome.anchors == column.anchors
            assert outcome.unit == (column.unit or outcome.unit)


@pytest.mark.parametrize("name", NAMES)
def test_smallest_worthwhile_difference_has_a_reason_and_is_not_hers_yet(name: str) -> None:
    for outcome in plan_of(name).outcomes:
        assert len(outcome.worthwhile_reason) >= 40
        assert not outcome.worthwhile_own
        if outcome.step:
            assert outcome.worthwhile >= outcome.step / 2
    assert "?" in plan_of(name).primary.worthwhile_reason, "asks her to choose her own"


@pytest.mark.parametrize("name", NAMES)
def test_pain_uses_the_published_least_change(name: str) -> None:
    # Am J Emerg Med 2005;23:828: 1.39 points of 10 (95 % interval 1.27 to 1.51).
    for outcome in plan_of(name).outcomes:
        if outcome.name.startswith("pain"):
            assert 1.27 <= outcome.worthwhile <= 1.51


@pytest.mark.parametrize("name", NAMES)
def test_arms_differ_and_can_be_repeated(name: str) -> None:
    one, other = plan_of(name).arms.A, plan_of(name).arms.B
    assert one.label.casefold() != other.label.casefold()
    assert one.steps != other.steps
    for arm in (one, other):
        numbers = re.findall(r"^(\d)\. ", arm.steps, flags=re.MULTILINE)
        assert numbers == [str(k) for k in range(1, len(numbers) + 1)]
        assert len(numbers) >= 3


@pytest.mark.parametrize("name", NAMES)
def test_cautions_come_with_it(name: str) -> None:
    plan = plan_of(name)
    assert len(plan.promises.cautions) >= 3
    assert all(20 <= len(caution) <= 300 for caution in plan.promises.cautions)


@pytest.mark.parametrize("name", NAMES)
def test_number_of_clients_suits_the_design(name: str) -> None:
    plan = plan_of(name)
    assert plan.clients.planned % 4 == 0, "batches of four cards keep sides and order even"
    assert plan.clients.planned >= (12 if plan.within_person else 24)


@pytest.mark.parametrize("name", NAMES)
def test_words_that_are_never_used(name: str) -> None:
    text = "\n".join([*told(name), draft(name, "x")]).casefold()
    found = [word for word in NEVER if re.search(rf"(?<![\w-]){re.escape(word)}(?![\w-])", text)]
    assert not found


@pytest.mark.parametrize("name", NAMES)
def test_no_word_looks_like_a_brand(name: str) -> None:
    allowed = {"I", "A", "B"}
    for text in told(name):
        # A source in brackets, with its year, may carry names.
        plain = re.sub(r"\([^()]*\b(?:19|20)\d\d\b[^()]*\)", "", text)
        capitals = re.findall(r"(?<=[a-z0-9,;] )[A-Z][A-Za-z]*", plain)
        assert set(capitals) <= allowed, text
        assert not re.search(r"[®™©]|[a-z][A-Z]", plain), text


@pytest.mark.parametrize("name", [*NAMES, "_usual"])
def test_facts_of_the_trade_are_marked(name: str) -> None:
    comments = " ".join(line for line in raw(name).splitlines() if line.startswith("#"))
    assert "common practice, no source" in comments


@pytest.mark.parametrize("name", NAMES)
def test_a_fit_client_is_let_in_and_capillaries_keep_out_carbon(name: str) -> None:
    plan = plan_of(name)
    families = {plan.study.pigment, plan.arms.A.pigment, plan.arms.B.pigment}
    assert obstacles(ALL_HEALTHY, plan) == ()
    refused = obstacles(ALL_HEALTHY | {"lid_capillaries": "faint"}, plan)
    if families & {"carbon", "mixed"}:
        assert len(refused) == 1
        assert "capillaries" in refused[0].words
        assert any("capillaries" in one for one in plan.clients.exclude)
        assert any("capillaries" in one for one in plan.promises.cautions)
    else:
        assert plan.study.pigment == "iron_oxide"
        assert refused == ()


def test_what_spoils_a_comparison_is_said() -> None:
    assert "nose" in question("soothing-step").carry_across
    assert any(
        "other side" in one for one in question("soothing-step").data["promises"]["cautions"]
    )
    numbing = question("numbing-time")
    assert "tangled" in numbing.why_design
    assert "working order" in numbing.carry_across
    for name in WHOLE_CLIENT:
        assert "both eyelids" in question(name).carry_across.casefold()


def test_speeds_lie_in_the_published_range() -> None:
    # Rudkin and Crompton, Med J Aust 2011: 50 to 150 strokes a second for lid tattooing.
    arms = plan_of("machine-speed").arms
    speeds = [int(re.findall(r"(\d+) strokes a second", arm.steps)[0]) for arm in (arms.A, arms.B)]
    assert all(50 <= speed <= 150 for speed in speeds)
    assert speeds[0] < speeds[1]


def test_usual_outcomes_are_columns_and_leave_ranges_to_the_schema() -> None:
    usual = tomllib.loads(raw("_usual"))["outcomes"]
    for name, entry in usual.items():
        column = study_tables()[entry["table"]][name]
        assert not entry.keys() & {"title", "low", "high", "step", "anchors"}
        assert bool(entry.get("unit")) != bool(column.unit), name


@pytest.mark.parametrize(
    ("asked", "nearest"),
    [
        ("needles", "needle-configuration"),
        ("Wipe material", "wipe-material"),
        ("wipe_materal", "wipe-material"),
        ("speed", "machine-speed"),
    ],
)
def test_unknown_question_names_the_nearest_and_all(asked: str, nearest: str) -> None:
    with pytest.raises(UserError) as caught:
        question(asked)
    assert nearest in caught.value.what
    assert all(name in caught.value.remedy for name in NAMES)


@pytest.mark.parametrize("asked", ["", "_usual", "../plan", "wipe-material.toml", "zzzz"])
def test_only_ready_questions_are_opened(asked: str) -> None:
    with pytest.raises(UserError, match="no ready question"):
        question(asked)


def test_each_reading_is_fresh() -> None:
    first = dict(question("aftercare").data)
    first["study"]["title"] = "changed"
    assert question("aftercare").data["study"]["title"] != "changed"


@pytest.mark.parametrize("name", NAMES)
def test_what_the_records_have_to_show_is_what_the_steps_say(name):
    assert list(unlike_steps(plan_of(name))) == []
