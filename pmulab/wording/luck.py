"""The worked example of how luck fools, in words."""

from collections.abc import Iterator

from pmulab.luck import CLIENTS, FIRST_LOOK, UNIT, Moment, Often, Series

TRUTH = "Made by the computer: way A and way B are truly the same. Whatever is found is luck."


def replay_lines(series: Series, shown: int) -> Iterator[str]:
    """Say what somebody would see who looks after every client.

    Parameters
    ----------
    series : Series
    shown : int
        Clients seen so far, 1 to 20.

    Yields
    ------
    str
    """
    last = series.moments[shown - 1]
    yield f"Invented series {series.number}. {TRUTH}"
    yield f"After client {shown}: {_seen(last)}"
    found = [client for client in series.found if client <= shown]
    if found:
        yield (
            f"Whoever looked after every client would have 'found' a difference after "
            f"{_list(found)}, and might have stopped there."
        )
    elif shown >= FIRST_LOOK:
        yield "So far nobody would have 'found' anything."
    if shown == CLIENTS:
        yield _end(series)


def _seen(moment: Moment) -> str:
    average = f"with A {_minutes(moment.mean)} on average"
    if moment.low is None or moment.high is None:
        return f"{average}. Too few to look at."
    span = f"interval from {_minutes(moment.low)} to {_minutes(moment.high)}"
    if moment.found:
        return f"{average} ({span}). Zero lies outside: whoever looks now 'finds' a difference."
    return f"{average} ({span}). Zero lies inside: nothing to find."


def _end(series: Series) -> str:
    if series.moments[-1].found:
        return "Even one look at the end is fooled by this series. That happens once in 20."
    if series.found:
        return "One look at the end, as planned, is not fooled by this series."
    return "This series fools nobody. Take another one: about one in five does."


def often_lines(often: Often) -> Iterator[str]:
    """Say how often luck fools, counted over many series.

    Parameters
    ----------
    often : Often

    Yields
    ------
    str
    """
    yield f"{often.times:,} invented series of {CLIENTS} clients, with no true difference in any:"
    yield f"One look at the end finds something in {_share(often.at_end, often)}."
    yield f"A look half-way and one at the end: in {_share(often.twice, often)}."
    yield (
        f"A look after every client from the {FIRST_LOOK}th on: in "
        f"{_share(often.every_client, often)}."
    )
    yield (
        "With arithmetic made for looking after every client: in "
        f"{_share(often.made_for_it, often)}. It asks for more clients instead."
    )


def _share(count: int, often: Often) -> str:
    return f"{count:,} ({100 * count / often.times:.1f} %)"


def _minutes(value: float) -> str:
    if round(value, 1) == 0:
        return f"0.0 {UNIT}"
    return f"{abs(value):.1f} {UNIT} {'less' if value < 0 else 'more'}"


def _list(clients: list[int]) -> str:
    """Name clients, those in a row as a range."""
    runs: list[list[int]] = []
    for client in clients:
        if runs and client == runs[-1][-1] + 1:
            runs[-1].append(client)
        else:
            runs.append([client])
    said = [str(run[0]) if len(run) == 1 else f"{run[0]} to {run[-1]}" for run in runs]
    word = "client" if len(clients) == 1 else "clients"
    return f"{word} {', '.join(said[:-1])} and {said[-1]}" if said[1:] else f"{word} {said[0]}"
