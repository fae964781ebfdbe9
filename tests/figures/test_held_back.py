"""Single values that would tell those of one or two others are not drawn."""

import re
from dataclasses import replace

import findings_builder as build
import pytest

from pmulab.figures import pairs
from pmulab.findings import ArmSummary, ClientValues
from pmulab.findings.held_back import may_be_shown, shown


def clients(a, b, held=()):
    """Clients by their values; `held` are the places of those who hold theirs back."""
    rows = zip(a, b, strict=True)
    return tuple(
        ClientValues(place, x, y, shared=place not in held) for place, (x, y) in enumerate(rows, 1)
    )


def said(picture):
    return re.sub(r"<[^>]*>", " ", picture.svg)


@pytest.mark.parametrize(
    ("held", "allowed"), [((), True), ((2,), False), ((2, 5), False), ((2, 5, 6), True)]
)
def test_nobody_or_three_at_least_are_held_back(held, allowed):
    """Seven known values and their average tell the eighth; of three only the sum is told."""
    everybody = clients([1.0, 2, 3, 4, 5, 6, 7], [2.0, 2, 3, 5, 5, 8, 9], held)

    assert may_be_shown(everybody) is allowed


def test_between_clients_each_average_counts_for_itself():
    """Three are held back, but one of them alone with B: B's average would tell her value."""
    a, b = [1.0, 2, 3, 4, None, None, None, None], [None, None, None, None, 5.0, 6, 7, 8]

    assert not may_be_shown(clients(a, b, held=(1, 2, 5)))
    assert may_be_shown(clients(a, b, held=(1, 2, 4)))
    assert may_be_shown(clients(a, b, held=(1, 2, 3, 6, 7, 8)))


def test_without_single_values_averages_and_interval_are_drawn_and_it_is_said_why():
    effect = build.demo().primary
    kept = tuple(replace(one, shared=one.client != 4) for one in effect.clients)
    picture = pairs(shown(replace(effect, clients=kept)), build.demo_plan())

    assert "nobody is" in said(picture)
    assert "dot: one client" not in said(picture)
    assert "Every client" not in picture.alt
    assert "nobody is" in picture.alt
    assert "95 % interval" in said(picture)


def between(held):
    plan = build.demo_plan()
    plan = replace(plan, study=replace(plan.study, design="parallel"))
    a, b = [4.0, 5, 6, 5, None, None, None, None], [None, None, None, None, 5.0, 9, 9.2, 9.4]
    effect = replace(
        build.demo().primary, clients=clients(a, b, held), a=ArmSummary(4, 5.0, 0.8),
        b=ArmSummary(4, 8.15, 2.1), counts=None, adjusted=None,
    )  # fmt: skip
    return shown(effect), plan


def test_between_clients_it_is_said_of_each_way_how_many_are_drawn():
    picture = pairs(*between(held=(6, 7, 8)))

    assert "clients with A: 4 · with B: 4, 1 of them shown" in said(picture)
    assert "(the others did not agree to it)" in said(picture)


def test_the_average_lies_inside_the_frame_though_its_clients_are_not_drawn():
    """The average of B, 8.15, lies above every client that is drawn (4 to 6)."""
    from matplotlib.figure import Figure

    from pmulab.figures.columns import draw_clients

    axes = Figure().add_axes((0, 0, 1, 1))
    draw_clients(axes, *between(held=(6, 7, 8)))
    low, high = axes.get_ylim()
    reach = 0.05 * (high - low)

    assert low + reach < 4.0
    assert high - reach > 8.15
