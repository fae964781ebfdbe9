"""What every form does: a call that is shown, a result, and never silence."""

import logging

import ipywidgets
import pytest

import pmulab
from pmulab import panels
from pmulab.errors import UserError
from pmulab.panels.call import Call
from pmulab.panels.guard import Guard
from pmulab.panels.panel import NOT_RUN
from pmulab.stations.answer import Answer

FORMS = [
    one
    for name in panels.__all__
    for one in (getattr(panels, name),)
    if issubclass(one, panels.Panel) and one is not panels.Panel
]


def repeat(word, times=2):
    return Answer((word * times,), word * times)


class Plain(panels.Panel):
    """The smallest form."""

    title = "Repeat"
    button = "Repeat"

    def form(self):
        self.inputs = {"word": ipywidgets.Text(value="wipe")}
        return list(self.inputs.values())

    def call(self):
        return Call(repeat, {"word": self.inputs["word"].value})


class Broken(Plain):
    """A form whose verb fails in a way that nobody foresaw."""

    def call(self):
        raise ZeroDivisionError("<b>nobody foresaw this</b>")


class Wrong(Plain):
    """A form that is used wrongly."""

    def call(self):
        raise UserError("There is no such thing.", "Take another one & try again.")


def test_a_call_reads_as_the_line_that_does_the_same():
    call = Call(repeat, {"word": "o'clock\n", "times": 3})

    assert str(call) == 'repeat(word="o\'clock\\n", times=3)'
    assert eval(str(call)).value == call().value


def test_pressing_shows_the_result_and_the_line():
    form = Plain("somewhere")
    answer = form.press()

    assert answer.value == "wipewipe"
    assert "wipewipe" in form.said.value
    assert "repeat(word=&#x27;wipe&#x27;)" in form.line.value


def test_pressing_raises_what_the_verb_raises():
    with pytest.raises(UserError, match="no such thing"):
        Wrong("somewhere").press()


def test_clicking_tells_wrong_use_with_its_remedy():
    form = Wrong("somewhere")
    form._button.click()

    assert "There is no such thing." in form.said.value
    assert "Take another one &amp; try again." in form.said.value
    assert 'role="status"' in form.said.value


def test_clicking_tells_what_nobody_foresaw_and_keeps_the_trace(caplog):
    """ipywidgets swallows what a button raises; the form must not."""
    form = Broken("somewhere")
    with caplog.at_level(logging.ERROR):
        form._button.click()

    assert "Something went wrong inside pmulab." in form.said.value
    assert "nothing was lost" not in form.said.value
    assert "cannot be told here" in form.said.value
    assert "ZeroDivisionError: &lt;b&gt;nobody foresaw this&lt;/b&gt;" in form.said.value
    assert pmulab.__version__ in form.said.value
    assert "ZeroDivisionError" in caplog.text
    assert "Traceback" in caplog.text


def test_a_form_that_cannot_be_made_says_so(here):
    form = panels.Ways("nowhere")

    assert "There is no study in nowhere" in form.said.value


def test_what_was_shown_before_a_failure_is_taken_away(caplog):
    form = Plain("somewhere")
    form.press()
    form.call = Broken.call.__get__(form)
    form._button.click()

    assert form.line.value == ""
    assert form.result is None


def test_without_widgets_a_form_says_what_to_do():
    assert Plain("somewhere")._repr_mimebundle_()["text/plain"] == NOT_RUN
    assert "application/vnd.jupyter.widget-view+json" in Plain("somewhere")._repr_mimebundle_()


@pytest.mark.parametrize("form", FORMS)
def test_every_form_has_the_guard_a_title_and_only_the_guarded_handlers(form, draft):
    made = form(draft)

    assert any(isinstance(part, Guard) for part in made.box.children)
    assert made.title
    assert made.button
    handlers = [one for button in made.buttons() for one in button._click_handlers.callbacks]
    assert handlers
    assert {one.__name__ for one in handlers} <= {"_clicked", "guarded_click"}


@pytest.mark.parametrize("form", FORMS)
def test_every_input_has_a_label_that_is_not_cut(form, draft, locked):
    for given in form(locked).inputs.values():
        assert given.description.strip()
        assert given.style.description_width == "initial"
