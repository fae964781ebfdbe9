from dataclasses import replace
from importlib.resources import files

import findings_builder as build

from pmulab.plan import Analysis, Change
from pmulab.practice import watch
from pmulab.sharing import checklists, items
from pmulab.sharing.further_items import series_items
from pmulab.tables import read_practice

NEWER = ["2025-4", "2025-8", "2025-15"]
"""Data sharing, involvement and harms in CONSORT 2025, Table 1 (PLoS Med 22(4):e1004587)."""


def by_number(findings):
    return {item.number: item for item in items(findings)}


def test_within_person_items_have_the_numbers_of_the_statement():
    """CONSORT 2010 numbers 1a to 25, as the extension (Pandis et al. 2017) keeps them."""
    numbers = [item.number for item in items(build.demo())]
    known = "1a 1b 2a 2b 3a 3b 4a 4b 5 6a 6b 7a 7b 8a 8b 9 10 11a 11b 12a 12b 13a 13b 14a 14b 15"

    assert numbers == [*known.split(), "16", "17a", "17b", *map(str, range(18, 26)), *NEWER]


def test_between_clients_eyelids_are_no_unit():
    """The subset for two groups has no item on one eyelid reaching the other."""
    found = items(build.parallel())

    assert len(found) < len(items(build.demo()))
    assert not any("one eyelid reaching" in item.words for item in found)
    assert "eyelids)" not in by_number(build.parallel())["13a"].text


def test_every_item_is_filled_or_left_to_the_person():
    """No item claims the kit filled it and stays empty."""
    for findings in (build.demo(), build.crowded(), build.parallel(), build.empty()):
        for item in items(findings):
            assert bool(item.text) == (item.who != "you")


def test_what_only_the_person_knows_is_left_to_her():
    """Why, to whom it applies, money."""
    found = by_number(build.demo())

    assert all(found[number].who == "you" for number in ("2a", "3a", "11b", "15", "21", "23", "25"))


def test_changes_are_never_none_where_the_page_tells_of_some():
    """CONSORT 2010, item 3b: what stands under 'Read first' is a change."""
    found = build.demo()
    looks = ("The records were changed after the analysis of 2026-03-02.",)
    told = replace(found, provenance=replace(found.provenance, looks=looks))

    assert by_number(found)["3b"].text.startswith("None")
    assert "'Read first'" in by_number(told)["3b"].text
    assert "None" not in by_number(told)["3b"].text


def test_harm_is_told_as_it_was_looked_for():
    """CONSORT 2025, item 15: signed on the day; when healed clients are only seen."""
    found = build.demo()
    seen = replace(found.safety, treated=8, clients_signed=8, clients_healed=7)
    text = by_number(replace(found, safety=seen))["2025-15"].text

    assert "8 of 8 clients" in text
    assert "7 of 8 seen, nothing is signed then" in text
    assert "each visit" not in text


def test_numbers_come_from_the_data():
    """Flow, result, correlation (0.50 in the demonstration) and harm."""
    found = by_number(build.demo())

    assert found["13a"].text == "12 drawn, 12 worked on, 12 analysed (24 eyelids)"
    assert found["13b"].text == "moved away: 1"
    assert "A 14.25, B 17.46 (min)" in found["17a"].text
    assert "correlation of the two eyelids 0.50" in found["17a"].text
    assert found["16"].text.endswith("12 clients in the main comparison; 11 to 12 in the others")
    assert found["19"].text.startswith("0 of 12 clients")


def test_yes_no_measures_give_both_shares():
    """Three of eight under A, five of eight under B."""
    findings = replace(build.demo(), secondary=(build.yes_no_effect(),))

    assert by_number(findings)["17b"].text == "touch-up needed: yes with A 38 %, with B 62 %"


def test_changes_of_the_measures_are_told_apart():
    """A changed worthwhile difference is a changed measure; a changed title is not."""
    edits = (Change("study.title", "a", "b"), Change("primary.worthwhile", "2", "1"))
    findings = replace(build.demo(), provenance=replace(build.PROVENANCE, changes=edits))
    found = by_number(findings)

    assert "study.title" in found["3b"].text
    assert found["6b"].text.startswith("primary.worthwhile;")


def test_planned_look_and_stop_are_reported():
    """An early look is told with its number of clients."""
    plan = replace(build.demo_plan(), analysis=Analysis(looks=(8,)))
    stopped = replace(build.PROVENANCE, stopped="two irritations")
    found = by_number(replace(build.demo(), plan=plan, provenance=stopped))

    assert "at 8 clients" in found["7b"].text
    assert "two irritations" in found["14b"].text


def test_without_a_sealed_list_the_lot_is_left_to_the_person():
    """The kit does not vouch for a lot that it did not draw."""
    found = by_number(build.empty())

    assert all(found[number].who == "you" for number in ("8a", "8b", "9", "10"))


def test_missing_steps_are_left_to_the_person():
    """A way of working that nobody described cannot be repeated."""
    plan = build.demo_plan()
    bare = replace(plan, arms=replace(plan.arms, A=replace(plan.arms.A, steps=" ")))

    assert by_number(replace(build.demo(), plan=bare))["5"].who == "you"


def test_no_item_of_a_whole_plan_is_cut():
    """What stands elsewhere on the page is pointed to, so that nothing ends in an ellipsis."""
    for item in items(build.demo()):
        assert len(item.text) <= 160


def test_a_pack_tells_how_both_ways_were_done_in_twelve_items():
    """TIDieR has 12 items (Hoffmann et al. 2014); the ways, the check, and how far kept to."""
    found = {one.number: one for one in checklists(build.demo())}
    numbers = [number for number in found if number.startswith("TIDieR")]

    assert numbers == [f"TIDieR {number}" for number in range(1, 13)]
    assert "A: damp nonwoven wipe" in found["TIDieR 1"].text
    assert found["TIDieR 12"].text == "0 of 12 clients not worked as drawn"
    assert [found[f"TIDieR {n}"].who for n in (2, 3, 9)] == ["you"] * 3


def test_a_series_of_clients_has_the_items_of_single_cases():
    """SCRIBE 2016 has 26 items (Tate et al. 2016); nothing was drawn by lot, and it says so."""
    rows = read_practice(str(files("pmulab.demo") / "practice.csv"))[0].rows
    found = series_items(watch(rows))

    assert [one.number for one in found] == [str(number) for number in range(1, 27)]
    assert found[7].text == "Nothing"
    assert "client 13" in found[5].text
    assert "Touch-up needed" in found[13].text
    assert all(bool(one.text) == (one.who != "you") for one in found)


def test_every_further_item_is_filled_or_left_to_the_person():
    for findings in (build.demo(), build.crowded(), build.parallel(), build.empty()):
        for one in checklists(findings):
            assert bool(one.text) == (one.who != "you")
