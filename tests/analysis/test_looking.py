"""Early looks as the analysis takes them: what they cost, and that all of them err rarely."""

from dataclasses import replace

import numpy as np
import pytest
from studies import code_of, enrolled_study, fill_workbook, plan_text

from pmulab.analysis.looking import Looking, level_of, widening
from pmulab.errors import UserError
from pmulab.estimate import paired
from pmulab.plan import read_plan
from pmulab.stations.analyse import analyse
from pmulab.study import Study

RNG = np.random.default_rng(12)


def plan_with(**analysis):
    plan = read_plan(plan_text(planned=12))
    return replace(plan, analysis=replace(plan.analysis, **analysis))


def numbers(*counts):
    return tuple(tuple(range(1, count + 1)) for count in counts)


def ever_wrong(plan, draws, level=level_of):
    """Share of studies without any effect in which a look leaves zero out of the interval."""
    sizes = (*plan.analysis.looks, plan.clients.planned)
    wrong = np.zeros(len(draws), bool)
    for place, size in enumerate(sizes):
        looking = Looking(numbers(*sizes[:place]), early=place < len(sizes) - 1)
        needed = level(plan, looking, size)
        for row in np.flatnonzero(~wrong):
            d = draws[row, :size]
            interval = paired.mean_difference(d, 0 * d, level=needed).interval
            reached = interval is not None and interval.level >= needed - 1e-9
            wrong[row] = reached and not interval.low <= 0 <= interval.high
    return wrong.mean()


@pytest.mark.parametrize("spending", ["hardly", "late", "evenly"])
@pytest.mark.parametrize("looks", [(6,), (6, 9), (8, 10)])
def test_all_looks_together_err_in_one_study_of_twenty(spending, looks):
    draws = RNG.normal(size=(1_500, 12))

    share = ever_wrong(plan_with(looks=looks, spending=spending), draws)

    assert share <= 0.05 + 2 * (0.05 * 0.95 / 1_500) ** 0.5


def test_looking_at_95_per_cent_each_time_errs_more_often():
    """Armitage, McPherson & Rowe (1969): with many looks at 5 % each error grows past 5 %."""
    draws = RNG.normal(size=(3_000, 12))

    share = ever_wrong(plan_with(looks=(6, 8, 10)), draws, level=lambda *_: 0.95)

    assert share > 0.065


def test_two_looks_of_the_late_kind_have_their_printed_limits():
    """Lan & DeMets (1983) spending, O'Brien-Fleming type, two equal looks: z = 2.963 and 1.969.

    The limits are those that group-sequential textbooks print (from memory).
    """
    plan = plan_with(looks=(6,), spending="late")
    first = level_of(plan, Looking(early=True), 6)
    last = level_of(plan, Looking(numbers(6)), 12)

    assert first == pytest.approx(0.99695, abs=1e-5)
    assert last == pytest.approx(0.95106, abs=1e-4)


def test_nobody_who_never_looked_pays():
    assert level_of(plan_with(looks=(6,)), Looking(), 12) == pytest.approx(0.95)
    assert level_of(plan_with(after_every_client=True), Looking(numbers(5, 6)), 7) == 0.95


def test_a_second_look_at_the_same_clients_gets_only_what_is_left():
    plan = plan_with(looks=(6, 8), spending="evenly")

    assert level_of(plan, Looking(numbers(6)), 6) == pytest.approx(0.95 + 0.031, abs=0.002)


def looked(tmp_path, monkeypatch, clients, analysis):
    """A study of 12 in which so many clients are complete; way one is about 3 lower."""
    monkeypatch.setattr("studies.plan_text", lambda **asked: plan_text(**asked) + analysis)
    study = enrolled_study(tmp_path / "study", clients, planned=12)
    noise = [0.3, -0.4, 0.1, 0.5, -0.2, 0.4, -0.1, 0.2, -0.5, 0.6, 0.0, -0.3]
    values = {}
    for number in range(1, clients + 1):
        values[code_of(number), "A"] = 10.0 + noise[number - 1]
        values[code_of(number), "B"] = 13.0
    fill_workbook(study, values)
    return study


def test_a_planned_look_of_the_evenly_kind_can_decide(tmp_path, monkeypatch):
    study = looked(tmp_path, monkeypatch, 8, '[analysis]\nlooks = [8]\nspending = "evenly"\n')

    found = analyse(study, look=True).value.primary

    assert found.difference.interval.level == pytest.approx(0.9636, abs=0.002)
    assert found.verdict.case != "G6"
    assert found.test.method.startswith("sign-flip test over all planned looks")
    assert found.test.p == pytest.approx(2 / 2**8)
    entry = next(e for e in Study(study.folder).journal() if e.event == "planned look")
    assert list(entry.detail["complete"]) == list(range(1, 9))


def test_two_looks_need_two_planned_looks(tmp_path, monkeypatch):
    study = looked(tmp_path, monkeypatch, 8, "[analysis]\nlooks = [6]\n")

    analyse(study, look=True)

    with pytest.raises(UserError, match="taken: 1"):
        analyse(study, look=True)


def test_whoever_looks_after_every_client_has_an_interval_for_that(tmp_path, monkeypatch):
    study = looked(tmp_path, monkeypatch, 9, "[analysis]\nafter_every_client = true\n")

    analyse(study, look=True)
    found = analyse(study, look=True).value

    assert "every moment" in found.primary.difference.interval.method
    plain = found.primary.other_forms["t"].interval
    own = found.primary.difference.interval
    assert own.high - own.low > plain.high - plain.low
    assert found.primary.test.p >= 1 / 2**8
    assert [look for look in found.provenance.looks if "2 times" in look]


@pytest.mark.parametrize(
    ("analysis", "fault"),
    [
        ("looks = [6, 6]", "rising"),
        ("looks = [12]", "fewer clients than planned"),
        ("looks = [4, 5, 6, 7, 8]", "at most 4"),
        ("looks = [6]\nafter_every_client = true", "no planned looks"),
    ],
)
def test_looks_that_cannot_be_are_refused_with_their_line(analysis, fault):
    with pytest.raises(UserError, match=fault):
        read_plan(plan_text(planned=12) + f"[analysis]\n{analysis}\n")


def test_between_clients_nobody_bets_client_by_client():
    text = plan_text(planned=12, design="parallel") + "[analysis]\nafter_every_client = true\n"

    with pytest.raises(UserError, match="left/right"):
        read_plan(text)


def test_the_price_of_planned_looks():
    """Lan & DeMets (1983) spending, Pocock type, two equal looks: final z about 2.20.

    The limits are those that group-sequential textbooks print (from memory): 2.157 and 2.201.
    """
    assert widening(plan_with()) == pytest.approx(1.0)
    assert widening(plan_with(looks=(6,))) == pytest.approx(1.0, abs=0.003)
    assert widening(plan_with(looks=(6,), spending="late")) == pytest.approx(1.969 / 1.96, abs=1e-3)
    assert widening(plan_with(looks=(6,), spending="evenly")) == pytest.approx(
        2.201 / 1.96, abs=1e-3
    )
