"""Agreement of looks and assessors, against published tables and counts made by hand."""

import numpy as np
import pytest
from studies import plan_text

from pmulab.plan import read_plan
from pmulab.scoring import Judgement, agreements, guesses, kept_more, questions
from pmulab.scoring.answers import Sheet
from pmulab.scoring.questions import Question
from pmulab.scoring.rounds import Key, Pair
from pmulab.wording import scoring_lines

ASKED = {one.name: one for one in questions(read_plan(plan_text(), "plan.toml"))}

# Shrout & Fleiss (1979), Psychological Bulletin 86:420-428, table 2: 6 targets, 4 judges.
SHROUT_FLEISS = [
    [9, 2, 5, 8],
    [6, 1, 3, 2],
    [8, 4, 6, 8],
    [7, 1, 2, 6],
    [10, 5, 6, 9],
    [6, 2, 4, 7],
]
# Cohen (1960), Educational and Psychological Measurement 20:37-46: 200 cases, two judges.
COHEN = [[88, 14, 18], [10, 40, 10], [2, 6, 12]]


def said(client, assessor, look=1, guess="", side="L", **answers):
    code = f"C{client:03d}"
    return Judgement(1, code, side, 1, assessor, False, look, "P1", "2026-02-20", answers, guess)


def of(found, name, kind):
    (one,) = [a for a in agreements(found, [ASKED[name]]) if a.kind == kind]
    return one


def test_several_assessors_give_the_published_intraclass_correlation():
    found = [
        said(target, f"R{judge}", segments_kept=str(value))
        for target, row in enumerate(SHROUT_FLEISS)
        for judge, value in enumerate(row, start=1)
    ]
    one = of(found, "segments_kept", "between")

    assert one.icc.method == "ICC(A,1)"
    assert round(one.icc.value, 2) == 0.29  # table 4, ICC(2,1)
    # Table 3: within-target mean square 6.26; smallest detectable change 1.96 sqrt(2) SEM
    # (de Vet and others 2006, from memory).
    assert one.change.value == pytest.approx(1.959964 * (2 * 6.26) ** 0.5, abs=0.006)
    assert one.reading == "poor"


def test_two_assessors_give_the_kappa_of_a_published_table():
    """Cohen's first diagnosis against the two others: two values carry no weights."""
    asked = Question("d", "D", "", "choice", (("1", ""), ("2", "")))
    table = np.array(COHEN)
    two = np.array([[table[0, 0], table[0, 1:].sum()], [table[1:, 0].sum(), table[1:, 1:].sum()]])
    found, client = [], 0
    for (row, column), count in np.ndenumerate(two):
        for _ in range(count):
            found += [said(client, "R1", d=str(row + 1)), said(client, "R2", d=str(column + 1))]
            client += 1
    (one,) = agreements(found, [asked])

    # By hand from Cohen's table: po = (88 + 68) / 200 = .78, pe = .6 * .5 + .4 * .5 = .5.
    assert one.exact.value == pytest.approx(0.78)
    assert one.kappa.value == pytest.approx((0.78 - 0.5) / (1 - 0.5))
    assert one.kappa.method == "Cohen's kappa"


def test_grades_are_weighted_by_the_square_of_their_distance():
    """Fleiss and Cohen (1973), Educational and Psychological Measurement 33:613-619: with
    quadratic weights kappa is an intraclass correlation; worked out here from its definition."""
    first, second = [0, 1, 2, 3, 4, 2, 3, 1], [0, 2, 2, 3, 3, 2, 4, 1]
    found = [
        said(n, f"R{who}", retention_grade=str(grade))
        for who, grades in ((1, first), (2, second))
        for n, grade in enumerate(grades)
    ]  # fmt: skip
    one = of(found, "retention_grade", "between")

    a, b = np.array(first), np.array(second)
    by_chance = np.mean([(x - y) ** 2 for x in a for y in b])
    assert one.kappa.value == pytest.approx(1 - np.mean((a - b) ** 2) / by_chance)
    assert one.exact.value == 5 / 8
    assert one.near.value == 1.0
    assert one.reading == "good"


def test_two_looks_are_compared_within_each_assessor():
    found = [
        said(client, who, look, segments_kept=str(kept + shift * (look - 1)))
        for who, shift in (("R1", 0), ("R2", 1))
        for client, kept in enumerate((3, 5, 7, 9))
        for look in (1, 2)
    ]
    one = of(found, "segments_kept", "within")

    assert (one.exact.n, one.exact.value) == (8, 0.5)
    assert one.near.value == 1.0
    # Eight pairs, four of which differ by one: s_w = sqrt(sum d^2 / 2m) = sqrt(4 / 16).
    assert one.change.value == pytest.approx(1.959964 * 2**0.5 * 0.5, abs=1e-6)


def test_equal_grades_tell_nothing_about_agreement():
    found = [said(n, who, migration="no") for n in range(9) for who in ("R1", "R2")]
    one = of(found, "migration", "between")

    assert (one.kappa.value, one.reading) == (None, "open")


def test_full_agreement_on_differing_lines_is_good():
    found = [
        said(n, who, segments_kept=str(n)) for n in range(9) for who in ("R1", "R2", "R3")
    ]  # fmt: skip
    one = of(found, "segments_kept", "between")

    assert (one.icc.value, one.kappa.value, one.reading) == (None, 1.0, "good")


def test_few_answers_tell_nothing_yet():
    found = [said(n, w, migration=m) for n in range(4) for w, m in (("R1", "no"), ("R2", "yes"))]

    assert of(found, "migration", "between").reading == "open"


def test_photos_that_somebody_refused_are_left_out():
    found = [said(n, who, migration="no") for n in range(6) for who in ("R1", "R2")]
    found[0] = said(0, "R1", photo_quality="blurred")

    assert of(found, "migration", "between").exact.n == 5


def guessing(pattern, assessor="R1"):
    """One client a letter: right on both eyelids, wrong on both, or one of each."""
    arms, found = {}, []
    for n, letter in enumerate(pattern):
        told = {"r": ("A", "B"), "w": ("B", "A"), "s": ("A", "A"), "n": ("no_idea", "no_idea")}
        for side, arm, guess in zip("LR", "AB", told[letter], strict=True):
            arms[f"C{n:03d}", side] = arm
            found.append(said(n, assessor, guess=guess, side=side, migration="no"))
    return found, arms


def test_guesses_count_once_a_client():
    (one,) = guesses(*guessing("rrrrwwsn"))

    assert (one.right, one.wrong, one.no_idea) == (4, 2, 2)
    assert one.index.value == pytest.approx(2 / 8)
    assert one.test.p == pytest.approx(22 / 64)  # 4 of 6 or more by a coin: (15 + 6 + 1) / 64
    assert not one.knew


@pytest.mark.parametrize(("pattern", "knew"), [("rrrr", False), ("rrrrr", True), ("rrrrrw", False)])
def test_right_guesses_are_held_against_a_coin(pattern, knew):
    """1/16 and 7/64 are more than 1 in 20, 1/32 is less."""
    (one,) = guesses(*guessing(pattern))

    assert one.knew is knew


def test_many_assessors_are_likelier_to_seem_to_know_by_luck():
    """Five right of five, 1/32 each: with two assessors that is no longer less than 1 in 20."""
    first, arms = guessing("rrrrr")
    second, _ = guessing("nnnnn", "R2")

    assert [one.knew for one in guesses([*first, *second], arms)] == [False, False]


def test_a_client_without_an_open_card_is_not_counted():
    found, arms = guessing("rr")
    del arms["C000", "L"], arms["C000", "R"]

    assert guesses(found, arms)[0].right == 1


def test_side_by_side_is_counted_by_the_majority():
    pairs = tuple(
        Pair(f"D{n}", f"C{n:03d}", 1, "R", (False, True), (900, 901)) for n in range(4)
    )  # fmt: skip
    arms = {(f"C{n:03d}", side): "AB"[side == "R"] for n in range(4) for side in "LR"}
    key = Key(1, "x", 1, (), pairs)
    sheets = [
        Sheet("R1", False, {}, {"D0": "left", "D1": "right", "D2": "left"}, {}, 0),
        Sheet("R2", False, {}, {"D0": "left", "D1": "same", "D2": "right"}, {}, 0),
    ]
    counts = kept_more([(key, sheets)], arms)

    # The client's right eyelid stands on the left and had B.
    assert (counts.a_better, counts.equal, counts.b_better) == (1, 1, 1)
    assert kept_more([], arms) is None
    assert kept_more([(key, sheets)], {}) is None


def test_poor_agreement_is_said_first():
    from pmulab.findings import Scoring

    found = [
        said(target, f"R{judge}", segments_kept=str(value))
        for target, row in enumerate(SHROUT_FLEISS)
        for judge, value in enumerate(row, start=1)
    ]
    agreed = agreements(found, list(ASKED.values()))
    lines = list(scoring_lines(Scoring(1, 6, 6, 0, ("R1", "R2", "R3", "R4"), ("R1",), agreed)))

    assert lines[0].startswith("Poor agreement on segments kept")
    assert "self-scored, blinded by coding" in lines[1]
    assert "0.29 (interval 0.02 to 0.76; ICC(A,1))" in lines[2]
