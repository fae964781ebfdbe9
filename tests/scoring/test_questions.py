"""What is asked comes from the healed table and from the plan, and from nowhere else."""

from studies import plan_text

from pmulab.plan import read_plan
from pmulab.scoring import questions
from pmulab.tables import study_tables

OWN = """
[[secondary]]
name = "{name}"
table = "healed"
title = "Own measure"
unit = "grades"
kind = "{kind}"
better = "higher"
worthwhile = 1.0
low = 0.0
high = {high}
step = 1.0
judged = "{judged}"
anchors = ["0 none", "2 all"]
"""


def plan(extra=""):
    return read_plan(plan_text() + extra, "plan.toml")


def test_the_questions_of_every_round():
    asked = questions(plan())

    assert [one.name for one in asked] == [
        "segments_kept", "retention_grade", "evenness_grade", "migration", "colour_shift",
        "touchup_needed",
    ]  # fmt: skip
    assert len(asked[0].values) == 11


def test_colours_have_no_order_and_more_or_less_migration_has():
    """Weighted kappa needs categories in order (J. Cohen, 1968, Psychol Bull 70:213-220)."""
    ordered = {one.name: one.ordered for one in questions(plan())}

    assert ordered["migration"]
    assert not ordered["colour_shift"]
    assert not ordered["touchup_needed"]


def test_anchors_are_those_of_the_table():
    table = study_tables()["healed"]
    for one in questions(plan())[1:3]:
        assert [f"{grade} {words}" for grade, words in one.options] == list(table[one.name].anchors)


def test_the_plan_adds_its_own_blind_grade():
    own = questions(plan(OWN.format(name="gloss", kind="ordinal", high=2.0, judged="blind")))[-1]

    assert (own.name, own.kind) == ("gloss", "grade")
    assert own.options == (("0", "none"), ("1", ""), ("2", "all"))


def test_what_photos_cannot_tell_is_not_asked():
    for changed in ({"judged": "open"}, {"name": "satisfaction"}, {"kind": "continuous"}):
        given = {"name": "gloss", "kind": "ordinal", "high": 2.0, "judged": "blind"} | changed
        assert len(questions(plan(OWN.format(**given)))) == 6
