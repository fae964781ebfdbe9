"""The drafted plan.toml: notes where they are needed, nothing decided for her, nothing lost."""

import itertools
import re
import tomllib

import pytest
import tomlkit
from hypothesis import given, settings
from hypothesis import strategies as st

from pmulab.errors import UserError
from pmulab.plan import changes, line_of, read_plan
from pmulab.questions import draft, names

NAMES = names()
HERS = ("allowed_by", "later_use", "after_care", "sharing")
OUTCOME_OWN_NOTE = {"worthwhile", "worthwhile_own", "judged"}


def blocks(text: str) -> dict[str, list[str]]:
    """Lines below each header, multi-line values folded to their first line."""
    folded = re.sub(r'"""\n.*?"""', '"..."', text, flags=re.DOTALL)
    found: dict[str, list[str]] = {"": []}
    here, number = "", 0
    for line in folded.splitlines():
        if line.startswith("["):
            here = line.strip("[]")
            if here == "secondary":
                number += 1
                here = f"secondary {number}"
            found[here] = []
        else:
            found[here].append(line)
    return found


def entries_without_note(lines: list[str]) -> set[str]:
    return {
        line.split(" = ")[0]
        for before, line in itertools.pairwise(["", *lines])
        if re.match(r"[a-z_]+ = ", line) and not before.startswith("# ")
    }


@pytest.mark.parametrize("name", NAMES)
def test_every_entry_that_she_may_change_has_a_note(name: str) -> None:
    for header, lines in blocks(draft(name, "my-study")).items():
        bare = entries_without_note(lines)
        if header.startswith("secondary"):
            assert not bare & OUTCOME_OWN_NOTE
        else:
            assert not bare, header


@pytest.mark.parametrize("name", NAMES)
def test_every_section_has_a_heading_note(name: str) -> None:
    lines = draft(name, "my-study").splitlines()
    headers = [i for i, line in enumerate(lines) if line.startswith("[")]
    bare = [lines[i] for i in headers if not lines[i - 1].startswith("# ")]
    assert set(bare) <= {"[[secondary]]"}
    first = lines.index("[[secondary]]")
    assert lines[first - 1].startswith("# ")
    assert {lines[i] for i in headers if not lines[i].endswith(".recorded]")} == {
        "[study]", "[arms.A]", "[arms.B]", "[primary]", "[[secondary]]",
        "[clients]", "[healed]", "[analysis]", "[promises]",
    }  # fmt: skip


@pytest.mark.parametrize("name", NAMES)
def test_her_own_promises_wait_for_her(name: str) -> None:
    text = draft(name, "my-study")
    promises = tomllib.loads(text)["promises"]
    assert all(promises[key] == "" for key in HERS)
    assert promises["looking_early"]
    assert promises["unblinding"]
    assert len(re.findall("locking refuses while it is empty", text)) == len(HERS)
    for key in HERS:
        note = text[: text.index(f'\n{key} = ""')].rsplit('"', 1)[-1]
        assert "YOURS TO WRITE" in note


@pytest.mark.parametrize("name", NAMES)
def test_no_smallest_worthwhile_difference_is_called_hers(name: str) -> None:
    text = draft(name, "my-study")
    outcomes = len(re.findall(r"^worthwhile = ", text, flags=re.MULTILINE))
    note = "# Set to true once you have decided this is your own number.\nworthwhile_own = false\n"
    assert text.count(note) == outcomes
    assert "worthwhile_own = true" not in text


@pytest.mark.parametrize("name", NAMES)
def test_text_is_plain_toml_that_survives_an_editor(name: str) -> None:
    # TOML 1.0.0 as two independent readers see it: tomllib and tomlkit.
    text = draft(name, "my-study")
    assert tomlkit.parse(text).unwrap() == tomllib.loads(text)
    assert tomlkit.dumps(tomlkit.parse(text)) == text
    assert read_plan(text.replace("\n", "\r\n")) == read_plan(text)
    assert text.endswith("]\n")
    assert "\n\n\n" not in text
    assert all(len(line) <= 98 for line in text.splitlines() if line.startswith("#"))


@pytest.mark.parametrize("name", NAMES)
def test_the_limit_in_the_note_is_the_one_that_holds(name: str) -> None:
    text = draft(name, "my-study")
    opened = read_plan(text.replace("# missing_limit", "missing_limit"))
    assert opened.primary.missing_limit == read_plan(text).primary.limit


def test_faults_are_found_on_their_line() -> None:
    text = draft("wipe-material", "my-study")
    number = line_of(text, ("secondary", 1, "worthwhile"))
    assert text.splitlines()[number - 1] == "worthwhile = 1.5"
    with pytest.raises(UserError, match=f"line {number}"):
        read_plan(text.replace("worthwhile = 1.5", "worthwhile = -1"))


@pytest.mark.parametrize(("one", "other"), list(itertools.pairwise(NAMES)))
def test_two_questions_differ_only_where_they_should(one: str, other: str) -> None:
    found = changes(read_plan(draft(one, "my-study")), read_plan(draft(other, "my-study")))
    may = (
        r"study\.(title|question|design|library|pigment)|arms\..*|primary\..*|secondary.*"
        r"|clients\..*|promises\.(cautions|unblinding)"
    )
    assert {"study.library", "study.title"} <= {change.entry for change in found}
    assert [change.entry for change in found if not re.fullmatch(may, change.entry)] == []


def test_two_studies_of_one_question_differ_in_their_code_only() -> None:
    one, other = draft("aftercare", "spring"), draft("aftercare", "autumn")
    differing = [
        pair
        for pair in zip(one.splitlines(), other.splitlines(), strict=True)
        if len(set(pair)) > 1
    ]
    assert differing == [('code = "spring"', 'code = "autumn"')]


def test_own_title() -> None:
    assert read_plan(draft("aftercare", "x", "Moist or dry,  my way")).study.title == (
        "Moist or dry, my way"
    )
    assert read_plan(draft("aftercare", "x")).study.title == "Aftercare kept dry or moist"


@settings(max_examples=40, deadline=None)
@given(st.text(st.characters(exclude_categories=("Cc", "Cs", "Zl", "Zp")), max_size=120))
def test_any_title_comes_back(title: str) -> None:
    text = draft("aftercare", "x", title)
    expected = " ".join(title.split()) or "Aftercare kept dry or moist"
    assert read_plan(text).study.title == expected


@pytest.mark.parametrize(
    "code", ["", "My Study", "-x", "wipes_2026", "x" * 41, "../x", "x\n", "con", "lpt1"]
)
def test_code_that_cannot_be_used(code: str) -> None:
    with pytest.raises(UserError, match="short name"):
        draft("aftercare", code)


def test_title_too_long() -> None:
    with pytest.raises(UserError, match="121 characters"):
        draft("aftercare", "x", "t" * 121)
