"""How many clients: spreads given, guessed, or taken from an earlier study; and what is said."""

import json
from dataclasses import replace
from math import sqrt

import pytest
from scipy import stats
from studies import code_of, enrolled_study, fill_workbook, paired_study, plan_text

from pmulab.errors import UserError
from pmulab.findings import read_findings
from pmulab.plan import read_plan
from pmulab.sizing import cautious_share, spread_seen
from pmulab.stations.analyse import analyse
from pmulab.stations.handout import handout
from pmulab.stations.size import size
from pmulab.study import begin

A = [5.0, 6.0, 7.0, 8.0, 5.5, 6.5, 7.5, 8.5]
B = [8.0, 9.5, 10.0, 10.5, 8.0, 10.0, 10.0, 12.0]
YES_NO = {"kind": "yes-no", "unit": "yes", "low": 0, "high": 1, "step": 1, "worthwhile": 20}


def planned(folder, **given):
    return begin(folder, plan_text(**given))


@pytest.fixture(scope="module")
def earlier(tmp_path_factory):
    """An analysed study of eight clients within one person."""
    study = paired_study(tmp_path_factory.mktemp("earlier") / "study", A, B, worthwhile=2)
    analyse(study)
    return study


@pytest.fixture(scope="module")
def found(earlier):
    return read_findings(earlier.path("findings.json").read_text())


def test_the_spread_of_an_earlier_study_is_taken_with_its_upper_limit(earlier, tmp_path):
    """Upper 80 % limit: s * sqrt(7 / chi-square quantile .2 of 7), straight from scipy."""
    study = planned(tmp_path / "study", worthwhile=2)
    seen = stats.tstd([a - b for a, b in zip(A, B, strict=True)])

    by_folder = size(study, earlier=earlier.folder)
    by_file = size(study, earlier=earlier.folder / "findings.json")

    (answer,) = by_folder.value
    assert answer.sd == pytest.approx(seen * sqrt(7 / stats.chi2.ppf(0.2, 7)))
    assert by_file.value == by_folder.value
    assert f"{seen:.3g} units, seen in 8 clients of the earlier study published" in str(by_folder)


@pytest.mark.parametrize("design", ["within-person", "parallel"])
def test_an_open_result_asks_for_the_clients_that_size_gives_for_it(tmp_path, design):
    """The handout and the command that plans the next study say the same number."""
    wide_a = [3.0, 9, 1, 12, 5, 7, 2, 8, 4, 10, 6, 11]
    wide_b = [6.0, 2, 9, 4, 11, 1, 7, 5.5, 8, 3, 10, 6]
    study = enrolled_study(tmp_path / "old", 12, design=design, worthwhile=2)
    values = {(code_of(n), arm): v[n - 1]
              for n in range(1, 13) for arm, v in (("A", wide_a), ("B", wide_b))}  # fmt: skip
    fill_workbook(study, values)
    found = analyse(study).value.primary.verdict

    answer = size(planned(tmp_path / "new", design=design, worthwhile=2), earlier=study.folder)

    assert found.case == "G4"
    assert found.clients_needed == answer.value[0].by_power
    assert found.clients_to_enrol == answer.value[0].to_enrol_by_power
    told = f"about {found.clients_needed} clients; with losses, enrol {found.clients_to_enrol}"
    assert told in str(answer)
    assert told in handout(study).value.read_text()


def test_between_clients_the_spreads_of_both_arms_are_pooled(tmp_path):
    study = enrolled_study(tmp_path / "old", 8, design="parallel", worthwhile=2)
    values = {(code_of(n), arm): v[n - 1] for n in range(1, 9) for arm, v in (("A", A), ("B", B))}
    fill_workbook(study, values)
    found = analyse(study).value.primary
    pooled = sqrt((3 * found.a.sd**2 + 3 * found.b.sd**2) / 6)

    answer = size(planned(tmp_path / "new", design="parallel", worthwhile=2), earlier=study.folder)

    assert (found.a.n, found.b.n) == (4, 4)
    assert answer.value[0].sd == pytest.approx(pooled * sqrt(6 / stats.chi2.ppf(0.2, 6)))


def test_a_share_of_clients_who_differed_is_taken_with_its_exact_limit(tmp_path):
    """Clopper and Pearson's upper limit of 3 of 10, from scipy's beta distribution."""
    yes, no = [1.0, 1.0, 0.0] + [0.0] * 7, [0.0, 0.0, 1.0] + [0.0] * 7
    old = paired_study(tmp_path / "old", yes, no, **YES_NO)
    analyse(old)

    answer = size(planned(tmp_path / "new", **YES_NO), earlier=old.folder)

    limit = stats.beta.ppf(0.8, 4, 7)
    assert answer.value[0].sd == pytest.approx(100 * sqrt(limit - 0.2**2))
    assert "differed in 3 of 10 clients" in str(answer)


@pytest.mark.parametrize(
    ("design", "yes", "n", "limit"),
    [
        ("within-person", 0, 6, 100 * (1 - 0.2 ** (1 / 6))),
        ("within-person", 0, 40, 20),  # a difference of 20 needs 20 % who differ
        ("within-person", 8, 8, 100),
        ("parallel", 0, 8, 100 * (1 - 0.2 ** (1 / 8))),
        ("parallel", 8, 8, 100 * 0.2 ** (1 / 8)),
        ("parallel", 4, 8, 50),
    ],
)
def test_cautious_share(design, yes, n, limit):
    """None of n: 1 - .2 ** (1/n), from the definition (the rule of three with 80 %)."""
    plan = read_plan(plan_text(**YES_NO, design=design))

    assert cautious_share(plan, yes, n) == pytest.approx(limit)


@pytest.mark.parametrize(("yes", "n"), [(0, 6), (1, 8), (2, 8), (5, 12)])
def test_the_upper_limit_of_a_share_holds_four_times_in_five(yes, n):
    """Were the limit the truth, so few or fewer would differ one time in five."""
    plan = read_plan(plan_text(**(YES_NO | {"worthwhile": 1})))

    limit = cautious_share(plan, yes, n) / 100

    assert stats.binom.cdf(yes, n, limit) == pytest.approx(0.2)


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({"name": "other_value"}, "no outcome 'other_value'; it has own_value"),
        ({"unit": "min"}, "'units', here continuous in 'min'"),
        ({"design": "parallel"}, "two eyelids of one client"),
        (YES_NO | {"unit": "units"}, "here yes-no"),
    ],
)
def test_another_outcome_unit_or_design_is_refused(earlier, tmp_path, given, told):
    study = planned(tmp_path / "study", **given)

    with pytest.raises(UserError) as refused:
        size(study, earlier=earlier.folder)

    assert told in refused.value.what
    assert "--sd" in refused.value.remedy


def spoilt(text, **changes):
    data = json.loads(text)
    for path, value in changes.items():
        *way, last = path.split("__")
        place = data
        for step in way:
            place = place[step]
        if value is None:
            del place[last]
        else:
            place[last] = value
    return json.dumps(data)


FOREIGN = {
    "nothing": lambda text: "",
    "no JSON": lambda text: "{",
    "a list": lambda text: "[]",
    "cut short": lambda text: text[: len(text) // 2],
    "deeply nested": lambda text: "[" * 100_000,
    "a huge number": lambda text: text.replace('"format": 1', '"format": 1' + "0" * 5000),
    "not finite": lambda text: text.replace('"n": 8', '"n": NaN'),
    "later format": lambda text: spoilt(text, format=2),
    "no primary outcome": lambda text: spoilt(text, primary=None),
    "no plan": lambda text: spoilt(text, plan=None),
    "no spread": lambda text: text.replace('"sd_of_differences"', '"sd_of_nothing"'),
    "an empty spread": lambda text: spoilt(text, primary__sd_of_differences=[]),
    "a negative spread": lambda text: spoilt(text, primary__sd_of_differences=-1.0),
    "a spread of nought": lambda text: spoilt(text, primary__sd_of_differences=0.0),
    "an endless spread": lambda text: spoilt(text, primary__sd_of_differences=1e300),
    "a negative number of clients": lambda text: spoilt(text, primary__difference__n=-8),
    "more clients than people": lambda text: spoilt(text, primary__difference__n=10**30),
    "two clients": lambda text: spoilt(text, primary__difference__n=2),
}  # fmt: skip


@pytest.mark.parametrize("name", FOREIGN)
def test_findings_from_anybody_are_refused_in_words(earlier, tmp_path, name):
    study = planned(tmp_path / "study", worthwhile=2)
    file = tmp_path / "findings.json"
    file.write_text(FOREIGN[name](earlier.path("findings.json").read_text()))

    with pytest.raises(UserError) as refused:
        size(study, earlier=file)

    assert refused.value.what
    assert refused.value.remedy


@pytest.mark.parametrize("name", ["nowhere", "folder", "a\0b", "x" * 5000])
def test_a_place_without_findings_is_named(tmp_path, name):
    study = planned(tmp_path / "study")
    (tmp_path / "folder").mkdir()

    with pytest.raises(UserError) as refused:
        size(study, earlier=tmp_path / name)

    assert name[:100] in refused.value.what


def test_bytes_that_are_no_text_are_refused(tmp_path):
    (tmp_path / "findings.json").write_bytes(b"\xff\xfe\x00\xd8" * 10)

    with pytest.raises(UserError):
        size(planned(tmp_path / "study"), earlier=tmp_path)


def test_impossible_counts_of_yes_are_refused(found, tmp_path):
    yes_no = replace(found.plan.primary, kind="yes-no", unit="yes", low=0.0, high=1.0)
    plan = replace(found.plan, primary=replace(yes_no, worthwhile=20.0))
    bad = replace(found.primary.counts, equal=-50)
    primary = replace(found.primary, outcome=plan.primary)

    for spoil in (replace(primary, counts=bad), replace(primary, counts=None)):
        with pytest.raises(UserError):
            spread_seen(replace(found, primary=spoil), plan)


def test_invented_data_are_called_invented(found):
    about = replace(found.plan.study, invented=True)
    invented = replace(found, plan=replace(found.plan, study=about))

    assert "invented data" in spread_seen(invented, found.plan).source
    assert "invented" not in spread_seen(found, found.plan).source


def test_only_one_source_of_a_spread_is_taken(earlier, tmp_path):
    study = planned(tmp_path / "study")

    for more in ({"sd": 1.0}, {"share": 20.0}, {"pilot": 4}):
        with pytest.raises(UserError, match="together"):
            size(study, earlier=earlier.folder, **more)


def test_four_and_five_clients_cannot_answer_and_no_power_is_claimed(tmp_path):
    """Sign flips of n clients give no p below 2 / 2**n: 12.5 % and 6.25 %."""
    answer = size(planned(tmp_path / "study", worthwhile=2, unit="min"), sd=0.5, details=True)

    rows = {row.clients: row for row in answer.value[0].rows}
    assert [(rows[n].power, rows[n].exact_power, rows[n].luck) for n in (4, 5)] == [
        (None, None, 0.125),
        (None, None, 0.0625),
    ]
    assert rows[4].half_width is None
    assert not rows[5].narrow_enough
    assert answer.value[0].by_power == 6  # t alone would say 3
    assert answer.value[0].by_width == 6
    assert "by luck in 12.5 of 100 studies" in str(answer)
    assert "by luck in 6.25 of 100 studies" in str(answer)


def test_power_says_what_it_refers_to_and_losses_are_added(tmp_path):
    study = planned(tmp_path / "study", worthwhile=2, unit="minutes")

    answer = size(study, sd=2.0, details=True)
    one = size(study, sd=2.0, worthwhile=1, details=True)

    (found,) = answer.value
    assert "how often a true difference of 2 minutes would be seen" in str(answer)
    assert "how often a true difference of 1 minute would be seen" in str(one)
    assert "just that size" not in str(answer)
    assert found.by_power == 10  # t: power .8031 at n = 10, effect 1 (statsmodels)
    assert found.to_enrol_by_power == 12  # 10 / .85 = 11.8, and blocks of four
    assert "four times in five: about 10 clients; with losses, enrol 12" in str(answer)


def test_between_clients_yes_and_no_are_planned_by_listing_all_tables(tmp_path):
    """30 % against 10 or 50 %: the harder way, up to 50 %, counts; beside the usual formula."""
    study = planned(tmp_path / "study", design="parallel", **YES_NO)

    (found,) = size(study, share=30.0).value
    (mirrored,) = size(study, share=70.0).value

    harder = stats.norm.ppf(0.975) * sqrt(2 * 0.4 * 0.6) + stats.norm.ppf(0.8) * sqrt(0.21 + 0.25)
    assert found.by_power / 2 == pytest.approx((harder / 0.2) ** 2, abs=3)
    assert [row.power for row in mirrored.rows] == pytest.approx([row.power for row in found.rows])
    assert found.rows[0].power is None  # two in each arm: 2 / 2**4
    assert found.rows[0].luck == pytest.approx(0.125)
    assert all(row.exact_power is None for row in found.rows)


def test_a_share_seen_in_a_rehearsal_is_taken_with_its_limit(tmp_path):
    study = planned(tmp_path / "study", **YES_NO)

    (found,) = size(study, share=0.0, pilot=8).value

    assert found.sd == pytest.approx(100 * sqrt(max(1 - 0.2 ** (1 / 8), 0.2) - 0.04))
    with pytest.raises(UserError, match="does not fit"):
        size(study, share=120.0, pilot=8)


def test_so_many_pairs_that_none_are_named(tmp_path):
    study = planned(tmp_path / "study", **(YES_NO | {"worthwhile": 3}))

    answer = size(study, share=50.0)

    assert answer.value[0].by_power is None
    assert "more than 600 clients" in str(answer)
    assert json.dumps(answer.to_dict(), allow_nan=False)


@pytest.mark.parametrize("design", ["within-person", "parallel"])
@pytest.mark.parametrize("sd", [0.002, 0.5, 119.0])
def test_every_spread_that_is_taken_is_answered(tmp_path, design, sd):
    answer = size(planned(tmp_path / "study", worthwhile=2, design=design), sd=sd)

    assert answer.value[0].by_power >= 6
    assert json.dumps(answer.to_dict(), allow_nan=False)


@pytest.mark.parametrize("sd", [0.0, -1.0, 1e-9, 500.0, float("nan"), float("inf")])
def test_a_slip_of_the_pen_is_refused(tmp_path, sd):
    with pytest.raises(UserError, match="cannot be used"):
        size(planned(tmp_path / "study", worthwhile=2), sd=sd)


@pytest.mark.parametrize(
    ("analysis", "told"),
    [
        ('looks = [6]\nspending = "evenly"', "more clients"),
        ("after_every_client = true", "after every client"),
    ],
)
def test_the_price_of_looking_early_is_told(tmp_path, analysis, told):
    folder = tmp_path / "study"
    begin(folder, plan_text(planned=12) + f"[analysis]\n{analysis}\n")

    assert told in str(size(folder, sd=1.0))
    assert told not in str(size(begin(tmp_path / "plain", plan_text()), sd=1.0))


def test_a_share_is_refused_for_what_is_measured(tmp_path):
    with pytest.raises(UserError, match="yes/no"):
        size(planned(tmp_path / "study"), share=30)


def test_a_look_that_can_decide_nothing_is_told(tmp_path):
    """By listing: eight pairs reach 2 / 2**8, far above one in a thousand; twelve 2 / 2**12."""
    for clients, idle in ((8, True), (12, False)):
        text = plan_text(planned=24) + f"[analysis]\nlooks = [{clients}]\n"
        told = str(size(begin(tmp_path / str(clients), text), sd=1.0))
        assert ("can decide nothing" in told) is idle


def test_what_she_needs_comes_first_and_the_tables_are_asked_for(tmp_path):
    """No unexplained word of statistics in the short answer; one line for each guess."""
    study = planned(tmp_path / "a study", worthwhile=2, unit="min")

    short, guessed = str(size(study, sd=2.0)), str(size(study))

    for word in ("power", "exact", "+/-", "bell curve", "interval"):
        assert word not in short + guessed
    assert len(short.splitlines()) <= 6
    assert guessed.count("if values spread by") == 3
    assert f'pmulab size "{study.folder}"' in guessed
