"""The table of studies, and the replay of how luck fools."""

import re

import pmulab
from pmulab import panels
from pmulab.luck import CLIENTS, EXAMPLE, series


def test_each_study_is_shown_with_what_is_next_and_its_notebook(locked):
    pmulab.new("pigments", "pigment-family")
    shown = panels.Overview()

    assert 'href="02_record_and_check_cases.ipynb"' in shown._repr_html_()
    assert 'href="01_plan_a_comparison.ipynb"' in shown._repr_html_()
    assert "pigments: " in repr(shown)
    assert "Enrol the first client (notebook 02)." in repr(shown)


def test_a_study_that_cannot_be_read_is_shown_with_its_remedy(draft, here):
    (here / draft / "plan.toml").write_text("this is <no> plan")
    shown = panels.Overview()._repr_html_()

    assert "cannot be read" in shown
    assert "<no>" not in shown


def test_without_a_study_it_says_where_to_begin(here):
    assert "notebook 01" in panels.Overview()._repr_html_()


def test_a_series_is_played_client_by_client(here):
    form = panels.Fooled()
    for client in range(1, CLIENTS + 1):
        form._button.click()
        assert f"After client {client}:" in form.said.value
        assert f"fooled(number={EXAMPLE}, shown={client})" in form.line.value
        assert "<svg" in form.details.value
    form._button.click()
    assert "After client 1:" in form.said.value


def test_false_finds_are_marked_as_they_come(here):
    form = panels.Fooled()
    first = series(EXAMPLE).found[0]
    said = []
    for _ in range(first):
        form.press()
        said.append("&#x27;finds&#x27; a difference" in form.said.value)

    assert said == [False] * (first - 1) + [True]


def test_the_other_buttons_show_all_another_and_how_often(here):
    form = panels.Fooled()
    whole, another, count = form._more
    whole.click()
    assert f"After client {CLIENTS}:" in form.said.value
    another.click()
    assert f"Invented series {EXAMPLE + 1}." in form.said.value
    assert "After client 1:" in form.said.value
    count.click()
    assert re.search(r"217 \(21\.7 %\)", form.said.value)
    assert "how_often_fooled(times=1000)" in form.line.value


def test_a_series_that_is_none_is_told(here):
    form = panels.Fooled()
    for text in ("0", "many", "-3"):
        form.inputs["number"].value = text
        form._button.click()
        assert "pmulab-problem" in form.said.value
