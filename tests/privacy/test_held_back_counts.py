"""No count that leaves the studio tells the answer of a client who did not agree to share.

Held against the rule itself: with the averages left as they are, whatever those clients answered
changes nothing that is handed on, so that nothing can be taken away from it.
"""

import json
import re
from dataclasses import replace

import findings_builder as build
import packs_builder
import pytest
from reading_svg import words

from pmulab.estimate.results import Estimate, Test
from pmulab.figures import pairs
from pmulab.findings import Agreement, Counts, Missing, Scoring
from pmulab.findings.comparison import better_counts
from pmulab.findings.held_back import may_be_shown, shareable, shown
from pmulab.sharing import checklists, handout_html
from pmulab.sharing.slides import deck
from pmulab.wording import details
from pmulab.wording.meaning import does_not_mean

ORVANE = packs_builder.group()["Orvane"]


def text_of(page):
    return " ".join(re.sub(r"<[^>]*>", " ", page).split())


def held(effect, *numbers):
    """The outcome with these clients' values held back."""
    clients = (replace(one, shared=one.client not in numbers) for one in effect.clients)
    return replace(effect, clients=tuple(clients))


def turned(effect):
    """The same averages, but whoever did not agree had answered the other way round."""
    clients = tuple(one if one.shared else replace(one, a=one.b, b=one.a) for one in effect.clients)
    seen = [(one.a, one.b) for one in clients if one.a is not None and one.b is not None]
    counts = better_counts([a for a, _ in seen], [b for _, b in seen], effect.outcome)
    more = Estimate(counts.a_better / counts.n, counts.n, "chance", note="no interval")
    tests = {"signed_rank": Test(0.5, "signed ranks", counts.n - counts.equal)}
    return replace(effect, clients=clients, counts=counts, chance_a_higher=more, other_tests=tests)


def study(*numbers):
    """The demonstration with a yes/no outcome, in which these clients did not agree."""
    found = build.demo()
    primary, *others = (held(one, *numbers) for one in (*found.effects, build.yes_no_effect()))
    plan = replace(found.plan, secondary=(*found.plan.secondary, build.TOUCH_UP))
    return replace(found, plan=plan, primary=primary, secondary=tuple(others))


def other_answers(found):
    """The study in which those who did not agree answered otherwise in every outcome they can."""
    effects = [turned(one) if any(map(turns, one.clients)) else one for one in found.effects]
    return replace(found, primary=effects[0], secondary=tuple(effects[1:]))


def turns(client):
    return not client.shared and None not in (client.a, client.b) and client.a != client.b


def slides_of(found):
    return [(slide.title, slide.rows, slide.notes, slide.picture and slide.picture.svg)
            for slide in deck(found).slides]  # fmt: skip


@pytest.mark.parametrize("numbers", [(4,), (3, 4), (2, 3, 4)], ids=["one", "two", "three"])
def test_what_is_handed_on_does_not_depend_on_their_answers(numbers):
    found = study(*numbers)
    other = other_answers(found)

    assert found.primary.counts != other.primary.counts
    assert handout_html(found) == handout_html(other)
    assert slides_of(found) == slides_of(other)
    assert checklists(shareable(found)) == checklists(shareable(other))
    assert shareable(found).to_json() == shareable(other).to_json()


def test_the_check_would_notice_a_count_of_everybody():
    """With everybody's yes the counts are told, and other answers would show."""
    found = study()

    assert "did better with damp nonwoven wipe: 11; with dry" in text_of(handout_html(found))
    assert handout_html(found) != handout_html(
        replace(found, primary=replace(found.primary, counts=Counts(10, 1, 1)))
    )


@pytest.mark.parametrize("numbers", [(4,), (3, 4)], ids=["one", "two"])
def test_where_one_or_two_did_not_agree_no_count_stands_anywhere(numbers):
    effect, plan = shown(held(build.demo_primary(), *numbers)), build.demo_plan()
    told = " ".join(details(effect, plan))
    picture = pairs(effect, plan)

    assert effect.counts is None
    assert "How many did better with which way stays in the studio" in told
    assert "stays in the studio" in picture.alt
    assert not re.search(r"better with [^.]*: \d", f"{told} {picture.alt}")
    assert "did better with" not in does_not_mean(effect, plan)
    assert effect.difference == build.demo_primary().difference


def test_where_three_did_not_agree_only_the_others_are_counted():
    """Nine of the twelve: counted by hand from the rows of the demonstration, 9, 0 and 0."""
    effect, plan = shown(held(build.demo_primary(), 1, 4, 6)), build.demo_plan()

    assert effect.counts == Counts(9, 0, 0)
    assert (
        "Of the 9 clients who agreed to share their numbers, those who did better with damp "
        "nonwoven wipe: 9; with dry nonwoven wipe: 0; the same: 0."
    ) in list(details(effect, plan))
    assert "Of the 9 clients who agreed to share their numbers, 9 did better" in does_not_mean(
        effect, plan
    )


def test_yes_and_no_are_counted_of_nobody_or_of_those_who_agreed():
    """Eight pairs: with one held back shares only, with three the five others."""
    plan = build.demo_plan()
    one, three = (
        pairs(shown(held(build.yes_no_effect(), *who)), plan) for who in ((2,), (1, 2, 3))
    )

    assert "yes only with A" not in words(one.svg)
    assert {"38 %", "62 %"} <= set(words(one.svg))
    assert "nobody is" in one.alt
    assert "clients with both values: 8, 5 of them shown" in words(three.svg)
    assert words(three.svg)[:8:2] == ["1", "0", "2", "2"]


def test_clients_who_are_all_alike_are_told_by_their_average():
    """Three held back whose sum is nothing: each of them has nothing."""
    yes_no = build.yes_no_effect()
    alike, mixed = held(yes_no, 3, 4, 5), held(yes_no, 1, 3, 6)

    assert {one.a for one in alike.clients if not one.shared} == {0.0}
    assert not may_be_shown(alike.clients)
    assert may_be_shown(mixed.clients)


def test_why_a_client_has_no_result_stays_where_she_did_not_agree():
    """She is the only one without a row, so the reason would be hers."""
    found = build.demo()
    lost = found.secondary[2].clients[7].client
    own, kept = study(lost), study(1, 4, 6)

    page = text_of(handout_html(own))
    assert "moved away" not in page
    assert "why stays in the studio" in page
    assert "Clients without a usable result: 1" in " ".join(
        line for line in details(shareable(own).secondary[2], own.plan)
    )
    assert shareable(kept).secondary[2].missing.reasons == ("moved away: 1",)
    assert shareable(kept).flow == found.flow


def test_a_reason_that_nobody_gave_stays_empty():
    effect = replace(held(build.demo_secondary()[2], 8), missing=Missing(1))

    assert shown(effect).missing.reasons == ()


def test_who_kept_more_side_by_side_is_not_counted():
    exact = Estimate(0.9, 20, "share", note="no interval")
    one = Agreement(
        "segments_kept", "Segments kept", "within", exact, None, exact, None, None, "good"
    )
    scoring = Scoring(1, 12, 24, 5, ("R1",), (), (one,), kept_more=Counts(11, 1, 0))
    whole, own = (replace(study(*who), scoring=scoring) for who in ((), (4,)))

    assert shareable(whole).scoring.kept_more == Counts(11, 1, 0)
    assert shareable(own).scoring.kept_more is None
    assert shareable(own).scoring.agreements == scoring.agreements


def pack_of(*numbers):
    """The pack of a study in which these clients, in the order of enrolment, did not agree."""
    codes = [one.client_code for one in ORVANE.assignments]
    hidden = [codes[number - 1] for number in numbers]
    clients = ORVANE.records.clients.copy()
    clients.loc[clients["client_code"].isin(hidden), "consent_share_numbers"] = False
    effects = [held(one, *numbers) for one in ORVANE.findings.effects]
    findings = replace(ORVANE.findings, primary=effects[0], secondary=tuple(effects[1:]))
    return packs_builder.told(records=replace(ORVANE.records, clients=clients), findings=findings)


@pytest.mark.parametrize("numbers", [(4,), (3, 4)], ids=["one", "two"])
def test_a_pack_without_rows_counts_nobody(numbers):
    contents = pack_of(*numbers)
    told = json.loads(contents.findings.to_json())

    assert contents.rows_withheld
    known = {one.outcome.name: one.clients for one in ORVANE.findings.effects}
    for effect in (told["primary"], *told["secondary"]):
        clients = known[effect["outcome"]["name"]]
        if any(c.client in numbers and None not in (c.a, c.b) for c in clients):
            assert effect["counts"] is effect["chance_a_higher"] is None
            assert effect["other_tests"] == {}
    assert not re.search(r"better with [^.]*: \d", json.dumps(contents.items))


def test_a_client_whose_row_is_gone_did_not_agree():
    """Silence is no yes, for the handout as for the pack."""
    from pmulab.analysis import cases

    clients = ORVANE.records.clients
    gone = ORVANE.assignments[3].client_code
    records = replace(ORVANE.records, clients=clients[clients["client_code"] != gone])
    found = cases(ORVANE.plan, ORVANE.assignments, records, ORVANE.plan.primary)

    assert [one.values.shared for one in found] == [n != 3 for n in range(len(found))]
