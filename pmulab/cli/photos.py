"""The commands that turn healed photos into numbers."""

import sys
from pathlib import Path
from typing import Annotated, Any

import typer

from pmulab.cli.app import AsJson, Folder, app, number_of, say

score = typer.Typer(no_args_is_help=True, help="Score healed photos blind.")
app.add_typer(score, name="score")


@score.command()
def prepare(
    folder: Folder,
    photos: Annotated[Path | None, typer.Option(help="Photos named like C042_L_1.jpg.")] = None,
    repeats: Annotated[str, typer.Option(help="Share shown twice, 0 to 1.")] = "0.2",
    mirror: Annotated[bool, typer.Option(help="Mirror left eyelids, to hide the side.")] = True,
    again: Annotated[bool, typer.Option("--again", help="Also photos of earlier rounds.")] = False,
    as_json: AsJson = False,
) -> None:
    """Mix and code healed photos, seal the key, write the scoring page."""
    from pmulab.stations.score_prepare import prepare_scoring as station

    wishes: dict[str, Any] = {"mirror": mirror, "again": again}
    wishes["repeats"] = number_of("--repeats", repeats) or 0.0
    with typer.progressbar(length=1, label="Photos", file=sys.stderr, width=30) as bar:

        def told(done: int, of: int) -> None:
            bar.length = of
            bar.update(done - bar.pos)

        answer = station(folder, photos, progress=told, **wishes)
    say(answer, as_json)


@score.command()
def collect(
    folder: Folder,
    files: Annotated[list[Path] | None, typer.Argument(help="Saved by the scoring page.")] = None,
    number: Annotated[int | None, typer.Option("--round", help="Number of the round.")] = None,
    unfinished: Annotated[bool, typer.Option("--unfinished", help="Leave the rest open.")] = False,
    as_json: AsJson = False,
) -> None:
    """Check the answers, open the key once, say how well they agree."""
    from pmulab.stations.score_collect import collect_scores as station

    say(station(folder, files or (), number, unfinished=unfinished), as_json)


@app.command()
def strip(folder: Folder, as_json: AsJson = False) -> None:
    """Write the reference strip (grey bar, millimetre scale), ready to print."""
    from pmulab.stations.strip import strip as station

    say(station(folder), as_json)


@app.command()
def photo(
    folder: Folder,
    file: Annotated[Path, typer.Argument(help="A JPEG, PNG or HEIC photo; it is only read.")],
    code: Annotated[
        str, typer.Option(help="Its code, such as healed-C101-L; or one is drawn.")
    ] = "",
    as_json: AsJson = False,
) -> None:
    """Take a healed photo into the study, without place, time, phone or name."""
    from pmulab.stations.photos import take_photo

    say(take_photo(folder, file, code), as_json)


@app.command()
def measure(folder: Folder, as_json: AsJson = False) -> None:
    """Measure the healed line in every marked photo; mark them in notebook 04."""
    from pmulab.stations.measure import measure as station

    def before_each(code: str) -> None:
        print(f"Measuring {code} ...", file=sys.stderr)

    say(station(folder, before_each), as_json)
