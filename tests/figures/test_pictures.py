import re
from dataclasses import replace
from xml.etree import ElementTree as ET

import findings_builder as build
import pytest
from reading_svg import SVG, markers, words

from pmulab.figures import (
    Picture,
    all_outcomes,
    flow,
    pairs,
    running,
    wandering,
    what_n_could_show,
)
from pmulab.figures.lettering import broken, shortened
from pmulab.figures.palette import ARM_A, ARM_B, JOIN
from pmulab.findings import ClientValues, Estimate, Interval
from pmulab.luck import EXAMPLE, series

ROWS = [(6, 3.14, 3.8), (8, 2.5, 2.97), (12, 1.9, 2.2), (16, 1.6, 1.83)]


def every_picture(findings):
    yield from (pairs(effect, findings.plan) for effect in findings.effects)
    yield flow(findings)
    yield all_outcomes(findings)


def all_pictures():
    studies = (build.demo, build.crowded, build.hostile, build.parallel, build.empty, build.trade)
    for study in studies:
        yield from every_picture(study())
    yield pairs(build.yes_no_effect(), build.demo_plan())
    yield what_n_could_show(ROWS, worthwhile=2, unit="min", planned=12)
    yield running(build.under_way())
    yield wandering(series(EXAMPLE), 12)


PICTURES = list(all_pictures())


@pytest.mark.parametrize("picture", PICTURES, ids=lambda picture: picture.title[:20])
def test_every_picture_tells_what_it_shows(picture):
    """The SVG is an image with a title and a description, and stands alone."""
    root = ET.fromstring(picture.svg)
    ids = [part.get("id") for part in root.iter() if part.get("id")]
    told = {part.get("id"): part.text for part in root if part.get("id")}

    assert root.get("role") == "img"
    assert [told[name] for name in root.get("aria-labelledby").split()] == [
        picture.title,
        picture.alt,
    ]
    assert len(ids) == len(set(ids))
    assert "metadata" not in picture.svg
    assert "<style" not in picture.svg
    assert "DOCTYPE" not in picture.svg
    assert not re.search(r'(href|src)="(?!#)|url\((?!#)', picture.svg)
    assert float(root.get("width")) == pytest.approx(picture.width, abs=0.2)


def test_same_findings_give_the_same_bytes():
    """Drawn twice, nothing differs."""
    assert [one.svg for one in every_picture(build.demo())] == [
        one.svg for one in every_picture(build.demo())
    ]


def test_pictures_of_one_page_share_no_id():
    """Several pictures can stand in one page."""
    ids = [
        part.get("id")
        for picture in every_picture(build.demo())
        for part in ET.fromstring(picture.svg).iter()
        if part.get("id")
    ]

    assert len(ids) == len(set(ids))


def test_an_empty_description_is_refused():
    """A picture without words is no picture."""
    with pytest.raises(ValueError, match="description"):
        Picture("<svg/>", " ", "title", 1, 1)


def test_labels_cannot_break_out():
    """Markup in labels is drawn as letters, also in title and description."""
    for picture in every_picture(build.hostile()):
        tags = {part.tag.removeprefix(SVG) for part in ET.fromstring(picture.svg).iter()}
        assert tags <= {"svg", "title", "desc", "g", "path", "use", "defs", "text", "clipPath",
                        "rect", "tspan"}  # fmt: skip
        assert "\x07" not in picture.svg
        assert "<script" not in picture._repr_html_()


def test_pairs_show_the_published_numbers_of_the_demonstration():
    """Means 14.25 and 17.46, difference -3.21 (-4.38 to -2.04), as computed with scipy."""
    found = words(pairs(build.demo_primary(), build.demo_plan()).svg)

    assert "With A 3.2 min lower" in found
    assert "95 % interval: 2.04 to 4.38 min lower" in found
    assert {"14.2", "17.5", "clients with both values: 12", "under 2 min"} <= set(found)
    assert {"● A: damp nonwoven wipe", "■ B: dry nonwoven wipe"} <= set(found)
    assert {"Working time (min)", "Difference A − B (min)"} <= set(found)


def test_every_client_is_drawn_under_both_ways_and_joined():
    """Twelve markers an arm, none of them beside a name, and twelve lines."""
    svg = pairs(build.demo_primary(), build.demo_plan()).svg

    assert (markers(svg, ARM_A), markers(svg, ARM_B)) == (12, 12)
    assert svg.lower().count(f"stroke: {JOIN.lower()}") == 12


def test_a_client_with_one_value_is_drawn_but_not_joined():
    """Eleven pairs; nobody is left out in silence."""
    clients = (*build.demo_values(3), ClientValues(13, 7.0, None, True, True))
    svg = pairs(build.paired_effect(build.KEPT, clients), build.demo_plan()).svg

    assert (markers(svg, ARM_A), markers(svg, ARM_B)) == (12, 11)
    assert svg.lower().count(f"stroke: {JOIN.lower()}") == 11


def test_clients_of_two_groups_are_not_joined():
    """Between clients nothing links a point under A with one under B."""
    findings = build.parallel()
    svg = pairs(findings.primary, findings.plan).svg

    assert svg.lower().count(f"stroke: {JOIN.lower()}") == 0
    assert "clients with A: 5 · with B: 5" in words(svg)


def test_yes_no_pairs_are_counted_in_four_kinds():
    """Two with both, one only with A, three only with B, two with neither."""
    found = words(pairs(build.yes_no_effect(), build.demo_plan()).svg)
    kinds = ("yes with both", "yes only with A", "yes only with B", "yes with neither")

    assert [found[found.index(kind) - 1] for kind in kinds] == ["2", "1", "3", "2"]


def test_better_side_follows_the_outcome():
    """More kept segments are welcome, more minutes are not."""
    minutes = words(pairs(build.demo_primary(), build.demo_plan()).svg)
    kept = words(pairs(build.demo_secondary()[2], build.demo_plan()).svg)

    assert minutes.index("better with B") < minutes.index("better with A")
    assert kept.index("better with A") < kept.index("better with B")


def value_cases():
    yield ()
    yield (ClientValues(1, 3.0, 4.0, True, True),)
    yield (ClientValues(1, 3.0, None), ClientValues(2, 4.0, None))
    yield tuple(ClientValues(n, 5.0, 5.0, True, True) for n in range(30))
    yield (ClientValues(1, 1e12, -1e12), ClientValues(2, 2e12, 1e-9))
    yield tuple(ClientValues(n, float(n % 3), float(n % 5), n % 2 == 0) for n in range(400))


@pytest.mark.parametrize("clients", list(value_cases()))
@pytest.mark.parametrize("outcome", [build.MINUTES, build.SWELLING, build.TOUCH_UP])
@pytest.mark.parametrize("design", ["within-person", "parallel"])
def test_degenerate_data_draw_without_a_warning(clients, outcome, design):
    """Nobody, one client, one arm, all equal, huge numbers, four hundred clients."""
    effect = replace(build.bare_effect(clients), outcome=outcome)
    picture = pairs(effect, build.demo_plan(design=design))

    assert "Fewer than two clients have both values." in words(picture.svg)
    assert "nan" not in picture.svg.lower().replace("financ", "")


def test_no_interval_is_said_and_not_drawn():
    """An average without an interval stands with its reason."""
    five = replace(
        build.demo_primary(),
        difference=Estimate(-3.0, 5, "mean", None, note="Five clients have no exact interval."),
    )
    found = words(pairs(five, build.demo_plan()).svg)

    assert "Five clients have no exact interval." in found
    assert "dot: one client · diamond: average" in found


def test_flow_counts_people_and_eyelids():
    """From 17 asked to 12 clients, 24 eyelids; 11 seen healed, one lost."""
    found = words(flow(build.demo()).svg)

    assert found[:2] == ["Asked", "17 clients"]
    assert {"12 clients", "24 eyelids", "11 clients", "22 eyelids"} <= set(found)
    assert {"Could not take part: 3", "· lash-growth serum: 1", "Did not agree: 2"} <= set(found)
    assert {"Not seen healed: 1", "· moved away: 1"} <= set(found)


def test_reasons_below_an_arrow_are_of_the_clients_it_counts():
    """Three drawn, one worked on: of the one the reason stands, of the others none."""
    found = build.demo()
    counts = {"asked": 3, "not_eligible": 0, "no_consent": 0, "allocated": 3, "treated": 1,
              "seen_healed": 0, "unseen_reasons": ("1 no healed visit yet",),
              "lost_reasons": ("1 no healed visit yet", "2 not worked on")}  # fmt: skip
    told = words(flow(replace(found, flow=replace(found.flow, **counts))).svg)

    assert {"Drawn, not worked on: 2", "Not seen healed: 1", "· 1 no healed visit yet"} <= set(told)
    assert "· 2 not worked on" not in told


def test_the_difference_beside_a_row_is_whole_after_harm():
    """A unit of several words."""
    found = build.demo()
    outcome = replace(found.primary.outcome, unit="segments of 10")
    harmed = replace(found.primary.verdict, harm_first=True)
    primary = replace(found.primary, outcome=outcome, verdict=harmed)
    told = " ".join(words(all_outcomes(replace(found, primary=primary)).svg))

    assert "A measured 3.2 segments of 10 lower" in told


def test_flow_of_one_client_is_said_in_the_singular():
    """English grammar."""
    found = build.demo()
    counts = {"asked": 1, "allocated": 1, "treated": 1, "seen_healed": 1, "analysed": 1}
    told = words(flow(replace(found, flow=replace(found.flow, **counts))).svg)

    assert {"1 client", "2 eyelids"} <= set(told)
    assert "1 clients" not in told


def test_flow_follows_time():
    """A main measure of the day comes before the healed visit, a healed one after it."""
    day = build.demo()
    healed = replace(day, plan=replace(day.plan, primary=build.KEPT))

    for findings, order in ((day, ("comparison", "seen")), (healed, ("seen", "comparison"))):
        found = words(flow(findings).svg)
        assert found.index(order[0]) < found.index(order[1])


def test_flow_of_two_groups_counts_clients_by_arm():
    """Eyelids are no unit of their own between clients."""
    found = words(flow(build.parallel()).svg)

    assert "A: 5, B: 5" in found
    assert not any("eyelids" in text for text in found)


def test_all_outcomes_mark_the_main_measure_and_the_exploratory_ones():
    """Main measure on top, everything else named exploratory."""
    found = words(all_outcomes(build.demo()).svg)
    marked = [text for text in found if "matters:" in text]

    assert marked[0] == "main measure; matters: 2 min"
    assert [text.split(";")[0] for text in marked[1:]] == ["exploratory"] * 3


def test_without_a_locked_plan_everything_is_exploratory():
    """The main measure is one only if it was fixed beforehand."""
    found = words(all_outcomes(build.empty()).svg)

    assert any(text.startswith("main measure, exploratory") for text in found)


def test_far_results_stay_on_the_paper():
    """An interval of a hundred worthwhile differences ends in arrows at the edge."""
    wide = Estimate(300.0, 12, "mean", Interval(-200.0, 800.0, 0.95, "t"))
    findings = build.demo()
    picture = all_outcomes(replace(findings, primary=replace(findings.primary, difference=wide)))
    xs = [float(part.get("x")) for part in ET.fromstring(picture.svg).iter(f"{SVG}use")]

    assert all(0 <= x <= picture.width * 0.75 for x in xs)


def test_what_n_could_show_names_the_number_that_is_enough():
    """Half-widths 1.05, 0.84, 0.64, 0.53 of SD_d 3 min (Student's t): 12 clients reach 2 min."""
    picture = what_n_could_show(ROWS, worthwhile=2, unit="min", planned=12)

    assert "From 12 clients on" in picture.alt
    assert {"planned: 12", "2 min", "6", "16"} <= set(words(picture.svg))


@pytest.mark.parametrize("rows", [[], [(4, None, None)], [(4, None, None), (6, 3e9, None)]])
def test_what_n_could_show_bears_gaps(rows):
    """No interval exists for very few clients."""
    assert what_n_could_show(rows, worthwhile=2, unit="min").alt


def test_running_view_hides_the_arms():
    """Counts over both ways together, no arm's name, no difference."""
    found = words(running(build.under_way()).svg)

    assert {"9 of 16", "8 of 16", "7 of 16", "sessions.wipes: 5"} <= set(found)
    assert not any("wipe" in text and "wipes" not in text for text in found)
    assert not any("ifference" in text for text in found)


def test_what_is_said_of_harm_is_never_cut_in_the_running_view():
    stop = "PAUSE NOW: " + "stop the series and refer the client to a physician. " * 6 + "The end."
    safety = replace(build.under_way().safety, stop=stop)
    told = " ".join(words(running(build.under_way(safety=safety)).svg))

    assert "The end." in told
    assert "…" not in told


def test_running_view_of_nobody():
    """The first day of a study can be drawn."""
    safety = replace(build.under_way().safety, treated=0, visits=0, visits_signed=0)
    empty = build.under_way(
        planned=0, asked=0, enrolled=0, treated=0, with_primary=0, days_running=None,
        last_enrolment="", missing_values={}, safety=safety,
    )  # fmt: skip

    assert "nothing" in words(running(empty).svg)


@pytest.mark.parametrize(
    ("text", "limit", "kept"),
    [
        ("short", 10, "short"),
        ("a longer text of words", 12, "a longer…"),
        ("unbreakable" * 3, 10, "unbreakab…"),
        ("too long a reason to be shown: 12", 20, "too long a…: 12"),
    ],
)
def test_texts_are_shortened_at_words_and_keep_their_count(text, limit, kept):
    """What is cut says so."""
    assert shortened(text, limit) == kept
    assert len(kept) <= limit


def test_wide_letters_take_two_places():
    """A line of Chinese or Japanese letters holds half as many."""
    assert [len(line) for line in broken("漢" * 20, 12, 4)] == [6, 6, 6, 2]


def test_a_picture_can_be_had_as_pixels():
    """PNG (ISO/IEC 15948): signature, then width and height; the same shape as the SVG."""
    picture = pairs(build.demo().primary, build.demo_plan())
    content = picture.png(100)
    width, height = (int.from_bytes(content[at : at + 4], "big") for at in (16, 20))

    assert content.startswith(b"\x89PNG\r\n\x1a\n")
    assert (width, height) == (710, 270)
    assert content == picture.png(100)
    with pytest.raises(ValueError, match="drawn"):
        Picture("<svg/>", "told", "title", 1, 1).png()
