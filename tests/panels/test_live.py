"""What stands below a form follows the choice, in the same place and with nothing written."""

import pytest
from IPython.core.displaypub import CapturingDisplayPublisher
from IPython.core.interactiveshell import InteractiveShell

import pmulab
from pmulab import panels


@pytest.fixture
def shell():
    """An IPython without a page: what it would show is kept."""
    made = InteractiveShell.instance()
    made.display_pub = CapturingDisplayPublisher()
    yield made.display_pub.outputs
    InteractiveShell.clear_instance()


@pytest.fixture
def two(draft):
    pmulab.new("pigments", "pigment-family")
    return panels.ChooseStudy(draft)


def test_an_answer_follows_the_choice_in_its_own_place(two, shell):
    two.shows(pmulab.standing)._ipython_display_()
    two.inputs["study"].value = "pigments"
    first, last = shell[0], shell[-1]

    assert "wipes: " in first["data"]["text/plain"]
    assert "pigments: " in last["data"]["text/plain"]
    assert "standing(study='pigments')" in last["data"]["text/plain"]
    assert last["update"]
    assert last["transient"] == first["transient"]


def test_the_table_of_studies_follows_what_is_put_away(two, shell, here):
    panels.Overview(two)._ipython_display_()
    two.inputs["study"].value = "pigments"
    before = set((here / "pigments").rglob("*"))
    two.put_away()

    assert "Put away from this list: pigments." in shell[-1]["data"]["text/html"]
    assert 'scope="row" style="text-align:left">pigments' not in shell[-1]["data"]["text/html"]
    assert set((here / "pigments").rglob("*")) == before
    assert two.study == "wipes"
    two.bring_back()
    assert 'scope="row" style="text-align:left">pigments' in shell[-1]["data"]["text/html"]


def test_wrong_use_is_an_answer_and_the_cells_below_still_run(two):
    told = two.shows(pmulab.size, sd=-1).now()

    assert "cannot be used" in told["text/plain"]
    assert "Give a positive number" in told["text/plain"]


def test_what_nobody_foresaw_is_told_too(two):
    def verb(study):
        raise ZeroDivisionError(f"{study} <b>")

    told = two.shows(verb).now()

    assert "Something went wrong inside pmulab." in told["text/plain"]
    assert "<b>" not in told["text/html"]


def test_only_a_draft_of_her_own_can_be_put_away(draft, shown_demo):
    chosen = panels.ChooseStudy(shown_demo)
    assert chosen._away.layout.display == "none"
    assert chosen._back.layout.display == "none"
    chosen.inputs["study"].value = draft
    assert chosen._away.layout.display == ""
    chosen._away.click()
    assert "is put away" in chosen.said.value
    assert chosen._back.layout.display == ""
    assert panels.ChooseStudy(shown_demo).study == shown_demo
    chosen._back.click()
    assert "Back on the list: wipes." in chosen.said.value
