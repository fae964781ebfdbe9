"""What is said of every chart of a practice: whose values, from whom limits, how luck signals."""

from collections.abc import Sequence

from pmulab.counting import counted
from pmulab.estimate.control_charts import SETTLED
from pmulab.estimate.cusum import Cusum
from pmulab.plan import Outcome
from pmulab.practice import FEWEST_BASELINE
from pmulab.wording.amounts import capital

_MOST_NAMED = 8
SUM_NAME = "Running sum (CUSUM)"


def known_of(outcome: Outcome, known: int, not_known: int) -> str:
    """Say how many clients an outcome is known of.

    Parameters
    ----------
    outcome : Outcome
    known, not_known : int
        Clients.

    Returns
    -------
    str
    """
    unknown = f" Not known of {counted(not_known, 'client')}." if not_known else ""
    return f"{capital(outcome.title)}: {counted(known, 'client')}.{unknown}"


def no_limits(baseline: int) -> str:
    """Say why there are no limits.

    Parameters
    ----------
    baseline : int
        Clients before the first change.

    Returns
    -------
    str
    """
    return (
        f"Limits: none. They need {FEWEST_BASELINE} clients before the first change; there are "
        f"{baseline}."
    )


def provisional(baseline: int) -> str:
    """Say that limits from few clients are rough; nothing if they are not.

    Parameters
    ----------
    baseline : int
        Clients that they come from.

    Returns
    -------
    str
    """
    if baseline >= SETTLED:
        return ""
    return f" These limits are rough: they settle at about {SETTLED} clients."


def alarm(share: float | None, what: str) -> str:
    """Say how often luck makes a sign; nothing where it is not known.

    Parameters
    ----------
    share : float or None
        Of steady series, in [0, 1].
    what : str
        The sign.

    Returns
    -------
    str
    """
    if share is None:
        return ""
    return f" By luck alone {of_hundred(share)} steady series of this length show {what}."


def of_hundred(share: float) -> str:
    """Say a share as so many of a hundred.

    Parameters
    ----------
    share : float
        In [0, 1].

    Returns
    -------
    str
    """
    if share < 0.005:
        return "fewer than 1 of 100"
    return f"about {100 * share:.0f} of 100"


def listed(names: Sequence[str]) -> str:
    """Name a few and count the rest.

    Parameters
    ----------
    names : sequence of str

    Returns
    -------
    str
    """
    more = f" and {len(names) - _MOST_NAMED} more" if len(names) > _MOST_NAMED else ""
    return ", ".join(names[:_MOST_NAMED]) + more


def sum_told(found: Cusum, clients: Sequence[int], sides: tuple[str, str], first: str) -> str:
    """Say whether a running sum gives a sign, and from which client on.

    Parameters
    ----------
    found : Cusum
    clients : sequence of int
        Numbers of the clients that it gathers.
    sides : tuple of (str, str)
        What a sign of the upper and of the lower sum says: 'the values lie higher'.
    first : str
        Who it is held against: 'the first 20 clients'.

    Returns
    -------
    str
    """
    if found.signal_at is None or found.since is None:
        return f"no sign of a small lasting shift away from {first}."
    side = sides[found.side != "high"]
    at, since = (clients[place - 1] for place in (found.signal_at, found.since))
    return (
        f"a sign that {side} than in {first}. It shows at client {at} and began about client "
        f"{since}."
    )
