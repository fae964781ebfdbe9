"""Replay a series in which luck alone makes the difference, and count how often it fools."""

from dataclasses import asdict

from pmulab.errors import UserError
from pmulab.luck import CLIENTS, EXAMPLE, Often, Series, how_often, series
from pmulab.stations.answer import Answer
from pmulab.wording.luck import often_lines, replay_lines

_MOST = 100_000


def fooled(number: int = EXAMPLE, shown: int = CLIENTS) -> Answer[Series]:
    """Replay one invented series without any true difference; reads and writes nothing.

    Parameters
    ----------
    number : int, default=38
        Which series; the same number gives the same one.
    shown : int, default=20
        Clients seen so far.

    Returns
    -------
    Answer
        Its value is the whole series.

    Raises
    ------
    UserError
        If number lies below 1, or shown outside 1 to 20.
    """
    if number < 1:
        raise UserError(f"There is no series {number}.", "Give a whole number from 1 on.")
    if not 1 <= shown <= CLIENTS:
        raise UserError(
            f"{shown} clients cannot be shown.", f"A series has {CLIENTS}: give 1 to {CLIENTS}."
        )
    found = series(number)
    data = asdict(found) | {"shown": shown}
    return Answer(tuple(replay_lines(found, shown)), found, data=data)


def how_often_fooled(times: int = 1000) -> Answer[Often]:
    """Count in how many invented series luck alone would be taken for a difference.

    Parameters
    ----------
    times : int, default=1000
        Series to simulate, 1 to 100,000.

    Returns
    -------
    Answer

    Raises
    ------
    UserError
        If times lies outside 1 to 100,000.
    """
    if not 1 <= times <= _MOST:
        raise UserError(f"{times} series cannot be simulated.", f"Give a number from 1 to {_MOST}.")
    often = how_often(times)
    return Answer(tuple(often_lines(often)), often, data=asdict(often))
