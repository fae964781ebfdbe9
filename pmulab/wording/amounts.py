"""Amounts, units and ranges in words, with the decimals that a measure deserves."""

from pmulab.counting import counted, singular
from pmulab.findings import Interval
from pmulab.plan import Outcome, shown_decimals

SAME = "about the same"
PLAIN_SIDES = ("lower with A", "higher with A")
"""The two sides of a difference A - B where nothing may be called better."""


def decimals(outcome: Outcome, *values: float) -> int:
    """Choose the decimals that the measure deserves.

    Parameters
    ----------
    outcome : Outcome
    *values : float
        Numbers that must not look equal to 0 or to the smallest worthwhile difference when
        they are not.

    Returns
    -------
    int
        Whole per cents; otherwise about a tenth of the smallest worthwhile difference.
    """
    places = shown_decimals(outcome)
    edges = (0.0, outcome.worthwhile, -outcome.worthwhile)
    while places < 4 and any(
        round(value, places) == round(edge, places) and value != edge
        for value in values
        for edge in edges
        if abs(value - edge) > 1e-9
    ):
        places += 1
    return places


def level_words(level: float) -> str:
    """Say a confidence level, e.g. '95 %' or '93.75 %'."""
    return f"{100 * level:.4g} %"


def span(interval: Interval, outcome: Outcome) -> str:
    """Say an interval of a difference in words.

    Parameters
    ----------
    interval : Interval
    outcome : Outcome

    Returns
    -------
    str
        '2.0 to 4.4 min lower', or 'from 1.2 lower to 0.1 higher'.
    """
    low, high = interval.low, interval.high
    places = decimals(outcome, low, high)
    unit = unit_of(outcome)
    if low < 0 < high:
        below, above = (sized(amount(end, places), unit) for end in (low, high))
        return f"from {below} lower to {above} higher"
    word = "lower" if high <= 0 and low < 0 else "higher"
    near, far = sorted((abs(low), abs(high)))
    return f"{amount(near, places)} to {sized(amount(far, places), unit)} {word}"


def agree_about_zero(one: Interval, other: Interval) -> bool:
    """Tell whether two intervals lie alike to zero: both reach it, or both on the same side."""
    return _side(one) == _side(other)


def _side(interval: Interval) -> int:
    return (interval.low > 0) - (interval.high < 0)


def unit_of(outcome: Outcome) -> str:
    """Give the unit of a difference: percentage points for yes/no outcomes."""
    return "percentage points" if outcome.yes_no else outcome.unit


def with_unit(value: float, outcome: Outcome) -> str:
    """Say an amount with its unit, one in the singular: '2 min', '1 grade'."""
    return sized(f"{value:g}", unit_of(outcome))


def sized(number: str, unit: str) -> str:
    """Put a written number before its unit, one in the singular."""
    return f"{number} {singular(unit) if number == '1' else unit}"


def direction_words(outcome: Outcome) -> tuple[str, str]:
    """Say what a negative and a positive difference A - B mean for the client."""
    return (
        ("better with A", "better with B")
        if outcome.better == "lower"
        else ("better with B", "better with A")
    )


def ended(text: str) -> str:
    """End a text with a full stop, unless it ends in a mark of its own."""
    return text if text.endswith((".", "!", "?")) else f"{text}."


def capital(text: str) -> str:
    """Begin a text with a capital letter, leaving the rest as it is."""
    return text[:1].upper() + text[1:]


def signed(value: float, outcome: Outcome) -> str:
    """Say a difference with its direction, e.g. '3.2 min lower'."""
    places = decimals(outcome)
    if round(value, places) == 0:
        return SAME
    word = "lower" if value < 0 else "higher"
    return f"{sized(amount(value, places), unit_of(outcome))} {word}"


def amount(value: float, places: int) -> str:
    """Write an amount without its sign."""
    return f"{abs(value):.{places}f}"


def needed_words(clients: int, to_enrol: int | None) -> str:
    """Say how many clients it takes, e.g. 'about 41 clients; with losses, enrol 52'."""
    enrol = "" if to_enrol is None else f"; with losses, enrol {to_enrol}"
    return f"about {counted(clients, 'client')}{enrol}"


def p_number(p: float) -> str:
    """Write a p-value with three decimals, more where it is small."""
    return f"{p:.3f}" if p >= 0.001 else f"{p:.5f}" if p >= 0.00001 else f"{p:.1e}"
