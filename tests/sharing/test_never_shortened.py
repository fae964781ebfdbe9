"""What tells of harm, of a pause or of a departure is never shortened, whatever the print size."""

import re
from dataclasses import replace

import findings_builder as build
import pytest

from pmulab.sharing import handout_html
from pmulab.sharing.fitting import ROOMY, SNUG, SPREAD, TIGHT, fitted
from pmulab.sharing.slides import deck
from pmulab.sharing.slides.layout import fits

END = "and this is where the sentence ends."
LONG = f"{'the client was referred to a physician the same day, ' * 9}{END}"


def warned(found):
    return replace(
        found,
        safety=replace(found.safety, stop=f"A stop: {LONG}"),
        provenance=replace(
            found.provenance,
            harm=(f"Reviewed on 2026-04-01: {LONG}",),
            tampering=(f"A change: {LONG}",),
            looks=(f"A look: {LONG}", f"Another look: {LONG}"),
            stopped=f"A reason: {LONG}",
        ),
    )


@pytest.mark.parametrize("room", [ROOMY, SNUG, SPREAD, TIGHT], ids=lambda room: room.name)
def test_no_print_size_shortens_a_warning(room):
    found = warned(build.crowded())
    short = fitted(found, room)

    assert short.safety.stop == found.safety.stop
    assert short.provenance.stopped == found.provenance.stopped
    assert short.provenance.harm == found.provenance.harm


@pytest.mark.parametrize("study", [build.demo, build.crowded], ids=["demo", "crowded"])
def test_handout_and_slides_show_every_warning_whole(study):
    found = warned(study())
    page = " ".join(re.sub(r"<[^>]*>", " ", handout_html(found)).split())
    shown = deck(found).slides
    lines = [line for slide in shown for row in slide.rows for part in row for line in part.lines]

    assert page.count(END) >= 6
    assert sum(END in line for line in lines) >= 6
    assert all(map(fits, shown))
