"""The labelled notes, and how well a finder does on them."""

from dataclasses import dataclass
from pathlib import Path

HARMLESS = "-"


@dataclass(frozen=True, slots=True)
class Measured:
    """Lines by what they tell and whether something was found."""

    found: tuple[str, ...]
    missed: tuple[str, ...]
    false_alarms: tuple[str, ...]
    left_alone: tuple[str, ...]

    @property
    def recall(self):
        return len(self.found) / (len(self.found) + len(self.missed))

    @property
    def precision(self):
        return len(self.found) / (len(self.found) + len(self.false_alarms))

    def __str__(self):
        telling, harmless = len(self.found + self.missed), len(self.false_alarms + self.left_alone)
        return (
            f"{telling} telling and {harmless} harmless lines: "
            f"recall {self.recall:.1%}, precision {self.precision:.1%}"
        )


def lines_of(part):
    """Give (kind, text) of every line of a part of the set."""
    text = Path(__file__).with_name(f"{part}.txt").read_text(encoding="utf-8")
    lines = (line.split("\t") for line in text.splitlines() if not line.startswith("#"))
    return [(kind, told) for kind, told in lines]


def measured(lines, finder):
    """Hold a finder against labelled lines; a telling line counts as found by its own kind only."""
    told: dict[tuple[bool, bool], list[str]] = {}
    for kind, text in lines:
        kinds = finder(text)
        hit = bool(kinds) if kind == HARMLESS else kind in kinds
        told.setdefault((kind != HARMLESS, hit), []).append(text)
    places = ((True, True), (True, False), (False, True), (False, False))
    return Measured(*(tuple(told.get(place, ())) for place in places))
