"""The commands that hand findings on, and those that watch, show and demonstrate."""

from pathlib import Path
from typing import Annotated

import typer

from pmulab.cli.app import AsJson, Folder, app, say

_OPENING = (
    "Opening JupyterLab in your browser. If none opens, copy the address that begins with "
    "http://127.0.0.1 from the lines below into one. To end it, close this window or press Ctrl+C."
)


@app.command()
def handout(
    folder: Folder,
    made_by: Annotated[str, typer.Option(help="Who hands it on, at the head of the page.")] = "",
    as_json: AsJson = False,
) -> None:
    """Write the printable handout from the findings."""
    from pmulab.stations.handout import handout as station

    say(station(folder, made_by), as_json)


@app.command()
def slides(
    folder: Folder,
    made_by: Annotated[str, typer.Option(help="Who shows them, on the first slide.")] = "",
    as_json: AsJson = False,
) -> None:
    """Write the same as slides: a page that shows itself, and a .pptx file."""
    from pmulab.stations.slides import slides as station

    say(station(folder, made_by), as_json)


@app.command()
def register(
    folder: Folder,
    group: Annotated[Path, typer.Option(help="The folder that the group shares.")],
    due: Annotated[str, typer.Option(help="Day by which the pack is expected.")] = "",
    as_json: AsJson = False,
) -> None:
    """Announce a locked plan to the group before the first client; later, say how it stands."""
    from pmulab.stations.register import register as station

    say(station(folder, group, due), as_json)


@app.command()
def pack(
    folder: Folder,
    to: Annotated[str, typer.Option(help="A new file; pack.zip in the study if not given.")] = "",
    made_by: Annotated[str, typer.Option(help="What your study is called in the group.")] = "",
    preview: Annotated[bool, typer.Option("--preview", help="Only show what leaves.")] = False,
    as_json: AsJson = False,
) -> None:
    """Write the de-identified numbers for the study group, and say exactly what leaves."""
    from pmulab.stations.pack import pack as station

    say(station(folder, to, made_by, preview=preview), as_json)


@app.command()
def pool(
    packs: Annotated[list[Path], typer.Argument(help="Packs, or folders that hold some.")],
    group: Annotated[str, typer.Option(help="The group's folder with its register.")] = "",
    to: Annotated[str, typer.Option(help="Folder for the report.")] = "",
    as_of: Annotated[str, typer.Option(help="Day for what is overdue; today if not given.")] = "",
    as_json: AsJson = False,
) -> None:
    """Put the packs of one question together: harm first, silent studies in sight."""
    from pmulab.stations.pool import pool as station

    say(station(packs, group, to, as_of), as_json)


@app.command()
def chart(
    place: Annotated[
        Path, typer.Argument(help="A table of clients, its folder, or a finished study.")
    ],
    begin: Annotated[bool, typer.Option("--begin", help="Make a blank table there.")] = False,
    as_json: AsJson = False,
) -> None:
    """Chart consecutive clients outside any study; a dated change is no comparison."""
    from pmulab.stations.chart import begin_practice
    from pmulab.stations.chart import chart as station

    say(begin_practice(place) if begin else station(place), as_json)


@app.command()
def fooled(
    number: Annotated[int | None, typer.Argument(help="Which invented series.")] = None,
    times: Annotated[int, typer.Option(help="Series to count over.")] = 1000,
    as_json: AsJson = False,
) -> None:
    """Show how luck alone fools whoever looks after every client; or count how often."""
    from pmulab.stations.fooled import fooled as station
    from pmulab.stations.fooled import how_often_fooled

    say(how_often_fooled(times) if number is None else station(number), as_json)


@app.command()
def lab(
    folder: Annotated[Path, typer.Argument(help="Your own folder for notebooks and studies.")] = (
        Path("my-studies")
    ),
    only_copy: Annotated[bool, typer.Option("--only-copy", help="Copy, do not open.")] = False,
) -> None:
    """Copy the guided notebooks into your folder and open JupyterLab there."""
    from pmulab.stations.lab import DEMO, open_lab
    from pmulab.stations.lab import lab as station

    if not (folder.expanduser() / DEMO).exists():
        print("Laying out the notebooks and an invented study; the first time this takes a while.")
    say(station(folder), False)
    if only_copy:
        from pmulab.disk import typed

        print(f"To open them: pmulab lab {typed(folder)}")
    else:
        print(_OPENING)
        print(open_lab(folder))


@app.command()
def demo(
    folder: Annotated[Path | None, typer.Argument(help="A new folder.")] = None,
    group: Annotated[bool, typer.Option("--group", help="An invented study group.")] = False,
    as_json: AsJson = False,
) -> None:
    """Take an invented study from the question to the handout, or pool an invented group."""
    if group:
        from pmulab.stations.group import demo_group

        say(demo_group(folder or "demo-group"), as_json)
        return
    from pmulab.stations.demo import demo as station

    say(station(folder or "demo-study"), as_json)
