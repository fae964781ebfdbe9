"""The commands of one study: from the question to the findings."""

from pathlib import Path
from typing import Annotated

import typer

from pmulab.cli.app import AsJson, Folder, answers_of, app, number_of, say


@app.command()
def new(
    folder: Annotated[Path, typer.Argument(help="A new folder.")],
    question: Annotated[str, typer.Option(help="A ready question; see: pmulab questions")],
    code: Annotated[str, typer.Option(help="Short name of the study.")] = "",
    title: Annotated[str, typer.Option(help="One line; the question's own if not given.")] = "",
    as_json: AsJson = False,
) -> None:
    """Begin a study: a folder with a commented plan from a ready question."""
    from pmulab.stations.new import new as station

    say(station(folder, question, code, title), as_json)


@app.command()
def questions() -> None:
    """List the ready questions of the trade."""
    from pmulab.questions import names, question
    from pmulab.wording.plans import question_lines

    for name in names():
        print("\n".join(question_lines(question(name))))


@app.command()
def size(
    folder: Folder,
    sd: Annotated[str, typer.Option(help="Spread of the main outcome, in its unit.")] = "",
    share: Annotated[str, typer.Option(help="For yes/no: per cent, see README.")] = "",
    pilot: Annotated[int | None, typer.Option(help="Clients the spread was seen on.")] = None,
    earlier: Annotated[
        Path | None, typer.Option(help="An earlier study or its findings.json, for the spread.")
    ] = None,
    details: Annotated[bool, typer.Option("--details", help="Also what 4 to 40 show.")] = False,
    as_json: AsJson = False,
) -> None:
    """Say how many clients it takes; with --details, what 4 to 40 could show."""
    from pmulab.stations.size import size as station

    spread, part = number_of("--sd", sd), number_of("--share", share)
    say(station(folder, spread, part, pilot, earlier=earlier, details=details), as_json)


@app.command()
def lock(folder: Folder, as_json: AsJson = False) -> None:
    """Freeze the plan, draw the sealed cards, lay out the workbook."""
    from pmulab.stations.lock import lock as station

    say(station(folder), as_json)


@app.command()
def enrol(
    folder: Folder,
    client: Annotated[str, typer.Option(help="Code: C and three digits.")],
    answer: Annotated[
        list[str] | None,
        typer.Option(help="One answer, field=value; repeat for each field."),
    ] = None,
    answers: Annotated[Path | None, typer.Option(help="TOML file with the answers.")] = None,
    reviewed: Annotated[
        str,
        typer.Option(
            help="After an adverse event: who reviewed it and what was decided. These words are "
            "printed on the handout: no names, no dates."
        ),
    ] = "",
    replacement: Annotated[
        str,
        typer.Option(help="Beyond the planned number: for whom this card is, and why."),
    ] = "",
    as_json: AsJson = False,
) -> None:
    """Save eligibility and consent, then open this client's card."""
    from pmulab.stations.enrol import enrol as station

    given = answers_of(answer or [], answers)
    say(station(folder, client, given, reviewed, replacement), as_json)


@app.command()
def absent(
    folder: Folder,
    client: Annotated[str, typer.Option(help="Code: C and three digits.")],
    reason: Annotated[str, typer.Option(help="Why she never came; no names.")],
    as_json: AsJson = False,
) -> None:
    """Write down that an enrolled client never came; she stays counted."""
    from pmulab.stations.absent import absent as station

    say(station(folder, client, reason), as_json)


@app.command()
def check(
    folder: Folder,
    file: Annotated[Path | None, typer.Option(help="One file instead of the folder's.")] = None,
    as_json: AsJson = False,
) -> None:
    """Read the records, mend their form, report every problem; never change them."""
    from pmulab.stations.check import check as station

    say(station(folder, file), as_json)


@app.command()
def amend(
    folder: Folder,
    reason: Annotated[str, typer.Option(help="What was wrong and how it is known; no names.")],
    as_json: AsJson = False,
) -> None:
    """Say why plan, answers or records were corrected; it stays on every output."""
    from pmulab.stations.amend import amend as station

    say(station(folder, reason), as_json)


@app.command()
def analyse(
    folder: Folder,
    look: Annotated[bool, typer.Option("--look", help="Take the planned early look.")] = False,
    unplanned: Annotated[str, typer.Option(help="Reason for a look that is not planned.")] = "",
    stopped: Annotated[str, typer.Option(help="Reason for ending early.")] = "",
    as_json: AsJson = False,
) -> None:
    """Run the locked plan; while the study runs, show pace, gaps and safety only."""
    from pmulab.stations.analyse import analyse as station

    say(station(folder, look=look, unplanned=unplanned, stopped=stopped), as_json)


@app.command()
def parts(
    folder: Folder,
    by: Annotated[str, typer.Option(help="Column of the clients table, e.g. skin_type.")],
    as_json: AsJson = False,
) -> None:
    """Look at the main outcome in parts of the clients; refused where a part is too small."""
    from pmulab.stations.parts import parts as station

    say(station(folder, by), as_json)
