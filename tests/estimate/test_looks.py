"""Looking early: normal theory, the exact application, and betting on signs."""

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from pmulab.estimate import looks, looks_signflip, sequential
from pmulab.estimate.permutation import sign_flip_test

untimed = settings(deadline=None)  # the first call imports scipy

SIZES = st.floats(0.01, 100).map(lambda x: round(x, 2))


def test_two_looks_by_the_bivariate_normal() -> None:
    """Independent of our integration: scipy's bivariate normal distribution function."""
    limit = stats.norm.ppf(0.975)
    both = stats.multivariate_normal([0, 0], [[1, 0.5**0.5], [0.5**0.5, 1]])
    inside = both.cdf([limit, limit], lower_limit=[-limit, -limit])

    assert looks.repeated_looks_error(2) == pytest.approx(1 - inside, abs=1e-6)


def test_one_look_costs_nothing() -> None:
    assert looks.pocock_constant(1) == pytest.approx(1.959964, abs=1e-6)
    assert looks.obrien_fleming_constant(1) == pytest.approx(1.959964, abs=1e-6)


@untimed
@given(
    shares=st.lists(st.floats(0.05, 0.95), max_size=4, unique_by=lambda s: round(s, 2)),
    kind=st.sampled_from(["pocock", "obrien-fleming"]),
)
def test_spending_rises_to_alpha(shares: list[float], kind: looks.Spending) -> None:
    plan = looks.spending_limits([*sorted(shares), 1.0], kind)

    assert list(plan.spent) == sorted(plan.spent)
    assert plan.spent[-1] == pytest.approx(0.05)
    assert all(p is None or 0 < p <= 0.05 + 1e-9 for p in plan.nominal_p)  # found by a root


def test_a_very_early_look_cannot_stop_and_costs_nothing() -> None:
    plan = looks.spending_limits([0.02, 1.0], "obrien-fleming")

    assert plan.z[0] is None
    assert plan.nominal_p[0] is None
    assert plan.z[1] == pytest.approx(1.959964, abs=1e-5)


def test_repeated_t_tests_cry_wolf() -> None:
    """Two, four and seventeen looks at .05 among 20 clients.

    The exact figures for normal data with known spread are .083, .126; t tests do worse.
    """
    draws = np.random.default_rng(8).normal(size=(20_000, 20))

    chances = [
        looks.repeated_t_error(draws, sizes) for sizes in ([10, 20], [5, 10, 15, 20], range(4, 21))
    ]

    assert chances == pytest.approx([0.086, 0.135, 0.21], abs=0.009)


@pytest.mark.parametrize(
    "call",
    [
        lambda: looks.pocock_constant(0),
        lambda: looks.pocock_constant(2, alpha=1),
        lambda: looks.error_spent(0, "pocock"),
        lambda: looks.error_spent(0.5, "linear"),  # type: ignore[arg-type]
        lambda: looks.spending_limits([0.5, 0.4, 1.0], "pocock"),
        lambda: looks.spending_limits([0.5], "pocock"),
        lambda: looks_signflip.signflip_looks([1.0, 2.0], [3], [0.05]),
        lambda: looks_signflip.signflip_looks([1.0, 2.0], [2, 1], [0.01, 0.05]),
        lambda: looks_signflip.signflip_looks([1.0, 2.0], [1, 2], [0.05, 0.01]),
        lambda: looks_signflip.signflip_looks(np.ones(30), [30], [0.05]),
        lambda: sequential.signflip_evidence([1.0, float("nan")]),
        lambda: sequential.signflip_evidence([1.0], alpha=0),
    ],
)
def test_impossible_plans_are_refused(call: object) -> None:
    with pytest.raises(ValueError, match="must"):
        call()  # type: ignore[operator]


@untimed
@given(differences=st.lists(SIZES, min_size=1, max_size=10))
def test_a_single_look_is_the_sign_flip_test(differences: list[float]) -> None:
    (look,) = looks_signflip.signflip_looks(differences, [len(differences)], [0.05])

    assert look.p == pytest.approx(sign_flip_test(differences).p)


@untimed
@given(
    sizes_of=st.lists(st.one_of(SIZES, st.sampled_from([0.0, 1.0, 2.0])), min_size=9, max_size=9),
    plan=st.sampled_from(
        [
            ((6, 9), (0.03125, 0.05)),
            ((5, 7, 9), (0.02, 0.2, 0.21)),
            ((3, 6, 9), (0.1, 0.2, 0.3)),
            ((4, 9), (0.001, 0.05)),
        ]
    ),
)
def test_looks_never_stop_more_sign_patterns_than_allowed(
    sizes_of: list[float], plan: tuple[tuple[int, ...], tuple[float, ...]]
) -> None:
    """All 512 sign patterns of nine clients, each run through the looks: exact, no chance."""
    sizes, allowed = plan
    patterns = list(itertools.product([1, -1], repeat=9))

    answers = [
        looks_signflip.signflip_looks(np.array(signs) * sizes_of, sizes, allowed)
        for signs in patterns
    ]

    for look, error in zip(range(len(sizes)), allowed, strict=True):
        stopped = sum(any(a.reached for a in answer[: look + 1]) for answer in answers)
        assert stopped / len(patterns) <= error
    assert all(a.p >= 2 / 2**a.n for answer in answers for a in answer)
    assert all(a.reached == (a.p <= a.allowed) for answer in answers for a in answer)


def test_what_an_early_look_cannot_spend_is_left_for_the_end() -> None:
    """Ten clients cannot reach .001; the final p is that of a study without the look."""
    differences = np.random.default_rng(2).normal(1.0, 1.0, 20)

    early, late = looks_signflip.signflip_looks(differences, [10, 20], [0.001, 0.05])

    assert looks_signflip.smallest_look_p([10, 20])[0] > 0.001
    assert "could" in early.note
    assert late.p == pytest.approx(sign_flip_test(differences).p)


def test_an_early_look_at_a_thousandth_keeps_the_error() -> None:
    """300 studies of 16 normal differences, looked at with 12 and at the end."""
    rng = np.random.default_rng(9)
    reached = np.zeros(2)
    for _ in range(300):
        answer = looks_signflip.signflip_looks(rng.normal(size=16), [12, 16], [0.001, 0.05])
        reached[len(answer) - 1] += answer[-1].reached

    assert reached.sum() / 300 < 0.05 + 3 * (0.05 * 0.95 / 300) ** 0.5


def test_looks_stop_at_the_first_that_reaches() -> None:
    answer = looks_signflip.signflip_looks(np.arange(1.0, 13.0), [8, 12], [0.01, 0.05])

    assert [look.n for look in answer] == [8]
    assert answer[0].p == 2 / 2**8


def test_equal_sides_stop_nothing_and_say_why() -> None:
    answer = looks_signflip.signflip_looks(np.zeros(8), [4, 8], [0.01, 0.05])

    assert [look.p for look in answer] == [1.0, 1.0]
    assert "same result" in answer[0].note


@untimed
@given(magnitudes=st.lists(st.one_of(st.just(0.0), SIZES), min_size=1, max_size=8))
def test_bets_are_fair(magnitudes: list[float]) -> None:
    """Over all sign patterns the capital averages exactly its start, at every client."""
    patterns = np.array(list(itertools.product([1.0, -1.0], repeat=len(magnitudes))))

    capital = np.exp(sequential.log_capital(patterns * magnitudes))

    np.testing.assert_allclose(capital.mean(axis=0), 1.0, rtol=1e-9)


@untimed
@given(magnitudes=st.lists(SIZES, min_size=7, max_size=9))
def test_looking_after_every_client_keeps_the_error(magnitudes: list[float]) -> None:
    """Exact, over all sign patterns: capital reaches 1 / alpha in at most alpha of them."""
    patterns = np.array(list(itertools.product([1.0, -1.0], repeat=len(magnitudes))))

    capital = np.exp(sequential.log_capital(patterns * magnitudes))

    for alpha in (0.05, 0.2, 0.5):
        assert (capital >= 1 / alpha).any(axis=1).mean() <= alpha


@untimed
@given(differences=st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=60))
def test_evidence_is_a_p_value_never_nought(differences: list[float]) -> None:
    answer = sequential.signflip_evidence(differences)

    assert 2 / 2**answer.n * (1 - 1e-9) <= answer.p <= 1
    assert answer.e <= 2**answer.n
    assert (answer.reached_at is not None) == (answer.p <= 0.05 * (1 + 1e-9))


def test_evidence_does_not_depend_on_the_unit_or_the_name_of_the_arms() -> None:
    differences = np.random.default_rng(1).normal(0.5, 1, 12)

    plain = sequential.signflip_evidence(differences)

    assert sequential.signflip_evidence(-60 * differences).e == pytest.approx(plain.e)


def test_too_few_clients_or_no_difference_is_said() -> None:
    assert "5 clients" in sequential.signflip_evidence([1.0] * 5).note
    assert "nothing to bet on" in sequential.signflip_evidence([0.0] * 9).note


@pytest.mark.bench
def test_price_of_looking_after_every_client() -> None:
    """The figures in the docstring of `signflip_evidence`, from 4,000 studies each."""
    rng = np.random.default_rng(10)

    def reached(effect: float, by: int) -> float:
        capital = sequential.log_capital(rng.normal(effect, 1, (4000, by)))
        return float((capital >= np.log(20)).any(axis=1).mean())

    assert reached(0.8, 25) == pytest.approx(0.80, abs=0.03)
    assert reached(0.8, 15) == pytest.approx(0.50, abs=0.03)
    assert reached(1.2, 13) == pytest.approx(0.80, abs=0.03)
    assert reached(0.0, 24) == pytest.approx(0.03, abs=0.01)
    assert reached(0.0, 60) == pytest.approx(0.04, abs=0.01)


@pytest.mark.bench
@pytest.mark.parametrize("shape", ["normal", "grades", "long tail"])
def test_planned_looks_keep_the_error_over_many_studies(shape: str) -> None:
    rng = np.random.default_rng(11)
    draw = {
        "normal": lambda: rng.normal(size=12),
        "grades": lambda: rng.integers(-2, 3, 12).astype(float),
        "long tail": lambda: rng.standard_t(2, 12),
    }[shape]
    allowed = [looks.error_spent(share, "pocock") for share in (0.5, 0.75, 1.0)]

    reached = np.mean(
        [
            looks_signflip.signflip_looks(draw(), [6, 9, 12], allowed)[-1].reached
            for _ in range(4000)
        ]
    )

    assert reached < 0.05 + 2 * (0.05 * 0.95 / 4000) ** 0.5


def test_the_interval_for_every_moment_misses_in_fewer_than_one_study_of_twenty() -> None:
    """Ville (1939): the bound holds over all moments together; by simulation."""
    draws = np.random.default_rng(11).normal(size=(300, 16)) + 2.0
    missed = 0
    for study in draws:
        found = [sequential.mean_after_every_client(study[:n]) for n in (8, 12, 16)]
        missed += any(not one.interval.low <= 2.0 <= one.interval.high for one in found)

    assert missed / len(draws) <= 0.05


@untimed
@given(d=st.lists(SIZES, min_size=7, max_size=14), shift=st.floats(-20, 20).map(round))
def test_the_interval_for_every_moment_moves_with_the_data(d: list[float], shift: int) -> None:
    plain = sequential.mean_after_every_client(d, step=0.5)
    moved = sequential.mean_after_every_client([shift - one for one in d], step=0.5)

    assert plain.interval.low <= plain.value <= plain.interval.high
    assert plain.interval.low < plain.interval.high
    assert moved.interval.low == pytest.approx(shift - plain.interval.high, abs=1e-3)
    assert moved.interval.high == pytest.approx(shift - plain.interval.low, abs=1e-3)


def test_so_few_clients_could_contradict_nothing() -> None:
    few = sequential.mean_after_every_client([1.0, 2.0, 3.0, 4.0, 5.0, 6.0])

    assert few.interval is None
    assert "too few" in few.note
    assert sequential.mean_after_every_client([]).value is None


def test_the_interval_for_every_moment_is_read_as_the_bets_are() -> None:
    """Zero lies outside just when the evidence at some moment reached its limit."""
    rng = np.random.default_rng(4)
    for effect in (0.0, 0.8, 1.6):
        for study in rng.normal(effect, 1, size=(40, 12)):
            found = sequential.mean_after_every_client(study).interval
            contradicted = sequential.signflip_evidence(study).reached_at is not None
            outside = not found.low <= 0 <= found.high
            assert outside <= contradicted
