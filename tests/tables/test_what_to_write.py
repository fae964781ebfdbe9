"""What a problem tells to write: the words of the form, and no value put into her mouth."""

import pytest

from pmulab.plan import read_plan
from pmulab.questions import draft
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
