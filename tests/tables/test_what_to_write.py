"""What a problem tells to write: the words of the form, and no value put into her mouth."""

import pytest

from pmulab.plan import read_plan
from pmulab.questions import draft
from pmulab.tables.answers import read_answers
from pmulab.tables.judging import judge

TABLES = read_plan(draft("wipe-material", "a-study")).tables()


def fields():
    for table in TABLES.values():
        for field in table.fields:
            yield pytest.param(field, id=f"{table.name}-{field.name}")


def told(field, text):
    return " ".join(
        f"{fault.what} {fault.remedy}" for fault in judge(field, text, is_key=False).faults
    )


@pytest.mark.parametrize("field", list(fields()))
@pytest.mark.parametrize("text", ["", "???", "999999"])
def test_nothing_is_said_twice_and_no_number_is_suggested(field, text):
    said = told(field, text)

    assert all(one.count("such as") <= 1 for one in said)
    if field.kind in ("int", "float"):
        assert not any("such as" in one for one in said)


def test_a_guess_is_named_as_its_list_offers_it():
    assert TABLES["healed"]["guess_arm"].allowed == "one of damp wipe, dry wipe, no_idea"


@pytest.mark.parametrize(
    "consent", ["consent_record", "consent_share_numbers", "consent_share_photos"]
)
def test_a_consent_date_follows_one_rule_said_once(consent):
    """What the hint says is what the check accepts: empty after a no, a day after a yes."""
    clients, date = TABLES["clients"], f"{consent}_date"
    assert clients[date].hint == "Leave empty if she said no."
    assert told(clients[date], "").count("Leave empty") == 1
    for field in clients.fields:
        assert "NA_" not in field.hint + field.allowed

    def blocked(answer, day=""):
        _, problems = read_answers(clients, {consent: answer, date: day})
        return date in {one.column for one in problems}

    assert not blocked("no")
    assert blocked("yes")
    assert not blocked("yes", "2026-03-01")
