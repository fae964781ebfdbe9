"""Findings put together by hand: the invented demonstration study and studies gone wrong."""

from dataclasses import replace
from math import sqrt

import numpy as np
from scipy import stats

from pmulab.findings import (
    Adjusted,
    ArmSummary,
    ClientValues,
    Counts,
    Effect,
    Estimate,
    Event,
    Findings,
    Flow,
    Interval,
    Missing,
    Provenance,
    Running,
    Safety,
    Test,
    Verdict,
)
from pmulab.plan import About, Analysis, Arm, Arms, Change, Clients, Outcome, Plan, Promises

# Invented data, twelve clients of no studio: minutes, swelling, pain and kept segments under a
# damp (A) and a dry (B) nonwoven wipe; side of A, side worked first.
ROWS = """
R R 15.5 18.0 1 2 2 3 9 8
L R 15.5 16.5 3 1 5 4 7 8
R L 17.5 21.5 2 1 4 4 7 8
L L 10.5 17.0 1 1 1 2 8 8
L L 13.0 17.0 2 2 4 6 9 9
R L 15.0 15.0 1 1 3 4 9 9
R R 15.0 17.0 2 3 2 2 9 8
L R 15.5 18.5 1 2 3 4 - -
L R 13.5 16.5 2 3 4 3 8 7
R L 14.0 17.0 1 0 3 3 8 8
R R 12.0 15.5 3 3 2 4 8 8
L L 14.0 20.0 2 2 1 2 9 9
"""

MINUTES = Outcome(
    name="work_min",
    table="sessions",
    title="working time",
    unit="min",
    kind="continuous",
    better="lower",
    worthwhile=2,
    low=1,
    high=90,
    step=0.5,
    worthwhile_own=True,
)
SWELLING = Outcome(
    "swelling_end",
    "sessions",
    "swelling at the end",
    "grades",
    "ordinal",
    "lower",
    1,
    0,
    4,
    1,
    judged="open",
)
PAIN = Outcome(
    "pain_work",
    "sessions",
    "pain while working",
    "points",
    "ordinal",
    "lower",
    1,
    0,
    10,
    1,
    judged="open",
)
KEPT = Outcome(
    "segments_kept",
    "healed",
    "segments kept",
    "segments",
    "count",
    "higher",
    1,
    0,
    10,
    1,
    judged="blind",
)
TOUCH_UP = Outcome(
    "touchup_needed",
    "healed",
    "touch-up needed",
    "share of yes",
    "yes-no",
    "lower",
    20,
    0,
    1,
    judged="blind",
)

CLEAR = Verdict("G1", "A", "somewhat sure", ("whoever worked knew the way",))
UNCLEAR = Verdict("G4", "", "not sure", ("the interval is wide",), clients_needed=24)


def demo_plan(**about) -> Plan:
    """Give the plan of the demonstration study."""
    study = About(
        "damp-or-dry",
        "Damp or dry wipe",
        "Does a damp nonwoven wipe shorten the work on an upper eyeliner?",
        "within-person",
        "upper",
        setting="one treatment room",
        operator="one artist, right-handed",
        invented=True,
    )
    return Plan(
        1,
        replace(study, **about),
        Arms(
            Arm("damp nonwoven wipe", "One wipe a section, wrung out in saline."),
            Arm("dry nonwoven wipe", "One dry wipe a section."),
        ),
        MINUTES,
        Clients(12, exclude=("old pigment on the lid", "eyelids that differ")),
        (SWELLING, PAIN, KEPT),
        analysis=Analysis(),
        promises=Promises(
            allowed_by="Asked the local council on the day of planning.",
            sharing="Numbers only, with the study group.",
            cautions=("Wring the wipe out: no water runs into the eye.",),
        ),
    )


def _number(text: str) -> float | None:
    return None if text == "-" else float(text)


def demo_values(column: int) -> tuple[ClientValues, ...]:
    """Give the clients' values of one outcome: 0 minutes, 1 swelling, 2 pain, 3 kept segments."""
    clients = []
    for number, line in enumerate(ROWS.split("\n")[1:-1], start=1):
        side, first, *values = line.split()
        a, b = (_number(value) for value in values[2 * column : 2 * column + 2])
        clients.append(ClientValues(number, a, b, a_first=side == first, a_left=side == "L"))
    return tuple(clients)


def paired_effect(outcome, clients, verdict=UNCLEAR, role="exploratory", **more) -> Effect:
    """Compare the pairs by Student's t interval (scipy)."""
    pairs = [(one.a, one.b) for one in clients if one.a is not None and one.b is not None]
    a, b = np.array(pairs).T
    found = stats.ttest_rel(a, b)
    low, high = (float(end) for end in found.confidence_interval())
    mean = float(np.mean(a - b))
    interval = Interval(low, high, 0.95, "Student's t")
    better = (a < b) if outcome.better == "lower" else (a > b)
    equal = int(np.sum(a == b))
    return Effect(
        outcome,
        role,
        clients,
        _summary(a),
        _summary(b),
        Estimate(mean, len(a), "mean of the differences", interval, outcome.unit),
        Missing(len(clients) - len(a), ("not seen again: 1",) if len(clients) > len(a) else ()),
        verdict,
        counts=Counts(int(better.sum()), equal, len(a) - int(better.sum()) - equal),
        correlation=float(np.corrcoef(a, b)[0, 1]),
        sd_of_differences=float(np.std(a - b, ddof=1)),
        **more,
    )


def _summary(values) -> ArmSummary:
    sd = float(np.std(values, ddof=1)) if len(values) > 1 else None
    return ArmSummary(len(values), float(np.mean(values)), sd)


def _adjusted() -> Adjusted:
    def estimate(value: float, half: float) -> Estimate:
        interval = Interval(value - half, value + half, 0.95, "Student's t, 9 df")
        return Estimate(value, 12, "least squares on order and side", interval, "min")

    return Adjusted(estimate(-3.21, 1.02), estimate(-0.88, 1.02), estimate(-0.71, 1.02))


def demo_primary() -> Effect:
    """Give the main comparison of the demonstration study."""
    spread = Interval(-2.6, -0.8, 0.95, "noncentral t")
    return paired_effect(
        MINUTES,
        demo_values(0),
        CLEAR,
        "primary",
        standardised=Estimate(-1.62, 12, "Hedges g of the differences", spread, "SD"),
        adjusted=_adjusted(),
        test=Test(0.03125, "randomisation test over the schedule's arrangements", 12, 0.03125),
    )


def demo_secondary() -> tuple[Effect, ...]:
    """Give the exploratory comparisons of the demonstration study."""
    same = Verdict("G3", "", "somewhat sure", ())
    pain = Verdict("G8", "", "not sure", ("judged by the client",), "working order and side")
    kept = replace(pain, depends_on="the client who was not seen again")
    low, high = (Estimate(value, 12, "bound", None, note="a bound") for value in (-0.25, 0.42))
    effect = paired_effect(KEPT, demo_values(3), kept)
    bounded = Missing(1, ("moved away: 1",), 4.0, low, high, flips=True)
    return (
        paired_effect(SWELLING, demo_values(1), same),
        paired_effect(PAIN, demo_values(2), pain),
        replace(effect, missing=bounded),
    )


PROVENANCE = Provenance(
    software="pmulab 0.1.0",
    libraries={"numpy": "2.4.6", "scipy": "1.18.1"},
    plan="3f" * 32,
    records="a7" * 32,
    allocation="0c" * 32,
    locked="2026-02-03T09:00:00+00:00",
    analysed="2026-09-14",
    journal=f"31:{'5e' * 32}",
)


def demo() -> Findings:
    """Give the findings of the demonstration study."""
    return Findings(
        demo_plan(),
        Flow(
            17,
            3,
            2,
            12,
            12,
            11,
            12,
            24,
            ("old pigment on the lid: 2", "lash-growth serum: 1"),
            ("moved away: 1",),
        ),
        Safety(12, 23, 23, (), 0, 1 - 0.05 ** (1 / 12)),
        demo_primary(),
        demo_secondary(),
        PROVENANCE,
    )


LONG = "a nonwoven wipe, folded twice and wrung out in cool sterile saline, laid on without rubbing"
EVENTS = tuple(
    Event(event, severity, arm, serious, clients)
    for event, severity, arm, serious, clients in (
        ("corneal_injury", "severe", "A", True, 1),
        ("infection", "moderate", "general", False, 1),
        ("allergic reaction", "moderate", "both", False, 1),
        ("excessive bleeding or bruise", "mild", "A", False, 3),
        ("excessive bleeding or bruise", "mild", "B", False, 4),
        ("dry-eye complaints", "moderate", "both", False, 2),
        ("pigment migration, blue halo or spread", "moderate", "B", False, 2),
        ("faint", "mild", "general", False, 1),
    )
)


def crowded() -> Findings:
    """Give findings with everything that can go wrong, in long words."""
    plan = demo_plan(
        title="A comparison of " + LONG, question=f"Does {LONG} do better than a dry one? " * 1
    )
    arms = Arms(Arm(f"{LONG} (way one)", LONG * 9), Arm(f"{LONG} (way two)", LONG * 9))
    outcomes = tuple(
        replace(one, title=f"{one.title}, as it was seen by the person who looked at the photo")
        for one in (MINUTES, SWELLING, PAIN, KEPT, TOUCH_UP)
    )
    reasons = tuple(f"could not come to the appointment for reason {one}: 1" for one in range(9))
    plan = replace(
        plan,
        arms=arms,
        primary=replace(outcomes[0], worthwhile_own=False),
        secondary=outcomes[1:],
        clients=Clients(24, exclude=tuple(f"{LONG} {one}" for one in range(6))),
        promises=Promises(
            LONG * 3, LONG, LONG, LONG, LONG, LONG, tuple(f"{LONG} {one}." for one in range(5))
        ),
    )
    unsure = ("judged by someone who knew", "more than 15 % not seen", "no locked plan", LONG)
    verdict = replace(UNCLEAR, certainty="very unsure", reasons=unsure)
    fifth = yes_no_effect()
    secondary = (*demo_secondary(), fifth)
    effects = [
        replace(effect, outcome=outcome, verdict=replace(verdict, clients_needed=120))
        for effect, outcome in zip((demo_primary(), *secondary), outcomes, strict=True)
    ]
    missing = replace(secondary[2].missing, n=9, reasons=reasons)
    return Findings(
        plan,
        Flow(90, 40, 20, 24, 22, 13, 12, 24, reasons, reasons, wrong_arm=3, withdrawn=2),
        Safety(22, 40, 37, EVENTS, 11, None, "Two moderate events of one kind under A."),
        replace(effects[0], missing=missing),
        tuple(effects[1:]),
        replace(
            PROVENANCE,
            changes=tuple(Change(f"primary.entry_{one}", LONG, LONG[::-1]) for one in range(8)),
            looks=tuple(f"On 2026-04-0{one} the arms were looked at unplanned." for one in (1, 2)),
            stopped="Two moderate eye irritations under one way of working.",
            tampering=("records.xlsx was changed after the analysis.",),
        ),
    )


def yes_no_effect(pairs=((1, 1), (1, 0), (0, 1), (0, 1), (0, 1), (0, 0), (0, 0), (1, 1))) -> Effect:
    """Compare yes/no answers of pairs by a large-sample interval, made up for drawing only."""
    clients = tuple(
        ClientValues(number, 100.0 * a, 100.0 * b, number % 2 == 0, None)
        for number, (a, b) in enumerate(pairs, start=1)
    )
    n = len(pairs)
    only_a, only_b = sum(a > b for a, b in pairs), sum(b > a for a, b in pairs)
    value = 100 * (only_a - only_b) / n
    half = 196 / n * sqrt(only_a + only_b - (only_a - only_b) ** 2 / n)
    interval = Interval(max(value - half, -100), min(value + half, 100), 0.95, "Wald")
    shares = [100 * sum(pair[arm] for pair in pairs) / n for arm in (0, 1)]
    return Effect(
        TOUCH_UP,
        "exploratory",
        clients,
        ArmSummary(n, shares[0], None),
        ArmSummary(n, shares[1], None),
        Estimate(value, n, "difference of shares", interval, "percentage points"),
        Missing(0),
        UNCLEAR,
        counts=Counts(only_b, n - only_a - only_b, only_a),
    )


def parallel() -> Findings:
    """Give findings of a study between clients, one of two outcomes yes/no."""
    plan = demo_plan(design="parallel", title="Ointment or dry aftercare")
    plan = replace(plan, primary=MINUTES, secondary=(TOUCH_UP,))
    values = [14.0, 15.5, 15.5, 16.0, 18.0, 13.0, 17.5, 19.0, 15.5, 20.0]
    clients = tuple(
        ClientValues(number, value if number % 2 else None, None if number % 2 else value)
        for number, value in enumerate(values, start=1)
    )
    found = stats.ttest_ind(values[::2], values[1::2], equal_var=False)
    low, high = (float(end) for end in found.confidence_interval())
    mean = float(np.mean(values[::2]) - np.mean(values[1::2]))
    effect = Effect(
        MINUTES,
        "primary",
        clients,
        _summary(values[::2]),
        _summary(values[1::2]),
        Estimate(mean, 10, "Welch difference", Interval(low, high, 0.95, "Welch's t")),
        Missing(0),
        UNCLEAR,
    )
    apart = [one for n, c in enumerate(yes_no_effect().clients) for one in [_only(c, n % 2)]]
    answers = replace(yes_no_effect(), clients=tuple(apart), counts=None)
    flow = Flow(14, 2, 2, 10, 10, 10, 10, 20)
    return replace(
        demo(),
        plan=plan,
        flow=flow,
        primary=effect,
        secondary=(answers,),
        safety=Safety(10, 20, 20, (), 0, 1 - 0.05 ** (1 / 10)),
    )


def _only(client: ClientValues, odd: int) -> ClientValues:
    return replace(client, a=None) if odd else replace(client, b=None)


def bare_effect(clients=(), note="Fewer than two clients have both values.") -> Effect:
    """Give an effect without estimate and without interval."""
    few = Verdict("G6", "", "very unsure", ("fewer than six clients",))
    return Effect(
        MINUTES,
        "primary",
        tuple(clients),
        ArmSummary(len(clients), None, None),
        ArmSummary(0, None, None),
        Estimate(None, 0, "mean of the differences", None, note=note),
        Missing(0),
        few,
    )


def empty() -> Findings:
    """Give findings of a study in which nobody was worked on."""
    return replace(
        demo(),
        flow=Flow(0, 0, 0, 0, 0, 0, 0, 0),
        safety=Safety(0, 0, 0, (), 0, None),
        primary=bare_effect(),
        secondary=(),
        provenance=replace(PROVENANCE, locked="", plan="", allocation=""),
    )


HOSTILE = (
    '<script>alert("x")</script> & </svg> $x_1$ {{ 7*7 }} \x07 漢字かな 눈꺼풀 веко جفن ' + "w" * 40
)


def hostile() -> Findings:
    """Give findings whose every free text tries to break out of the page."""
    plan = demo_plan(
        title=HOSTILE, question=HOSTILE, setting=HOSTILE, operator=HOSTILE, library=HOSTILE
    )
    outcome = replace(MINUTES, title=HOSTILE, unit=HOSTILE, worthwhile_reason=HOSTILE)
    plan = replace(
        plan,
        arms=Arms(Arm(HOSTILE, HOSTILE), Arm(HOSTILE + "2", HOSTILE)),
        primary=outcome,
        promises=Promises(*[HOSTILE] * 6, (HOSTILE,)),
        clients=Clients(12, exclude=(HOSTILE,)),
    )
    verdict = Verdict("G8", "", "not sure", (HOSTILE,), HOSTILE)
    found = demo()
    return replace(
        found,
        plan=plan,
        flow=replace(found.flow, not_eligible_reasons=(HOSTILE,), lost_reasons=(HOSTILE,)),
        primary=replace(found.primary, outcome=outcome, verdict=verdict),
        safety=Safety(12, 12, 12, (Event(HOSTILE, HOSTILE, "A", True, 1),), 1, None, HOSTILE),
        provenance=replace(
            PROVENANCE,
            software=HOSTILE,
            changes=(Change(HOSTILE, HOSTILE, HOSTILE),),
            looks=(HOSTILE,),
            tampering=(HOSTILE,),
            stopped=HOSTILE,
        ),
    )


def under_way(**changes) -> Running:
    """Give a running study, half done."""
    found = Running(
        planned=16,
        asked=13,
        enrolled=9,
        not_enrolled=4,
        treated=8,
        with_primary=7,
        days_running=84,
        last_enrolment="2026-04-28",
        missing_values={"sessions.wipes": 5, "healed.width_mm": 2},
        overdue=("The healed visit of client 3 is 12 days late.",),
        safety=Safety(8, 12, 11, (), 0, 1 - 0.05 ** (1 / 8)),
        notes=("The arms stay hidden until the last client is seen.",),
    )
    return replace(found, **changes)


def trade() -> Findings:
    """Give findings with the length of words that a ready question of the kit brings along."""
    from importlib.resources import files

    from pmulab.plan import read_plan

    text = (files("pmulab") / "demo" / "plan.toml").read_text(encoding="utf-8")
    plan = read_plan(text)
    return replace(demo(), plan=replace(plan, secondary=plan.secondary[:3]))
