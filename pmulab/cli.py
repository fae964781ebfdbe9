"""The commands: each names a folder, says what it wrote, and ends with 0, 1 or 2.

0: done. 1: problems were found in the data, or the client does not take part. 2: wrong use.
"""

import json
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from pmulab.errors import UserError

if TYPE_CHECKING:
    from pmulab.stations.answer import Answer

app = typer.Typer(
    name="pmulab",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    help="Learn from your own eyeliner cases without fooling yourself. Not medical advice.",
)

Folder = Annotated[Path, typer.Argument(help="Folder of the study.")]
AsJson = Annotated[bool, typer.Option("--json", help="Answer in JSON, for programs.")]


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

    _say(station(folder, question, code, title), as_json)


@app.command()
def questions() -> None:
    """List the ready questions of the trade."""
    from pmulab.questions import names, question

    for name in names():
        print(f"{name:24}{question(name).summary}")


@app.command()
def size(
    folder: Folder,
    sd: Annotated[str, typer.Option(help="Spread of the main outcome, in its unit.")] = "",
    share: Annotated[str, typer.Option(help="For yes/no: per cent, see README.")] = "",
    pilot: Annotated[int | None, typer.Option(help="Clients the spread was seen on.")] = None,
    earlier: Annotated[
        Path | None, typer.Option(help="An earlier study or its findings.json, for the spread.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Say how many clients it takes, and what 4 to 40 could show."""
    from pmulab.stations.size import size as station

    spread, part = _number("--sd", sd), _number("--share", share)
    _say(station(folder, spread, part, pilot, earlier=earlier), as_json)


@app.command()
def lock(folder: Folder, as_json: AsJson = False) -> None:
    """Freeze the plan, draw the sealed cards, lay out the workbook."""
    from pmulab.stations.lock import lock as station

    _say(station(folder), as_json)


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
        typer.Option(help="After an adverse event: who reviewed it and what was decided."),
    ] = "",
    replacement: Annotated[
        str,
        typer.Option(help="Beyond the planned number: for whom this card is, and why."),
    ] = "",
    as_json: AsJson = False,
) -> None:
    """Save eligibility and consent, then open this client's card."""
    from pmulab.stations.enrol import enrol as station

    given = _answers(answer or [], answers)
    _say(station(folder, client, given, reviewed, replacement), as_json)


@app.command()
def absent(
    folder: Folder,
    client: Annotated[str, typer.Option(help="Code: C and three digits.")],
    reason: Annotated[str, typer.Option(help="Why she never came; no names.")],
    as_json: AsJson = False,
) -> None:
    """Write down that an enrolled client never came; she stays counted."""
    from pmulab.stations.absent import absent as station

    _say(station(folder, client, reason), as_json)


@app.command()
def check(
    folder: Folder,
    file: Annotated[Path | None, typer.Option(help="One file instead of the folder's.")] = None,
    as_json: AsJson = False,
) -> None:
    """Read the records, mend their form, report every problem; never change them."""
    from pmulab.stations.check import check as station

    _say(station(folder, file), as_json)


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
    wishes["repeats"] = _number("--repeats", repeats) or 0.0
    with typer.progressbar(length=1, label="Photos", file=sys.stderr, width=30) as bar:

        def told(done: int, of: int) -> None:
            bar.length = of
            bar.update(done - bar.pos)

        answer = station(folder, photos, progress=told, **wishes)
    _say(answer, as_json)


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

    _say(station(folder, files or (), number, unfinished=unfinished), as_json)


@app.command()
def strip(folder: Folder, as_json: AsJson = False) -> None:
    """Write the reference strip (grey bar, millimetre scale), ready to print."""
    from pmulab.stations.strip import strip as station

    _say(station(folder), as_json)


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

    _say(take_photo(folder, file, code), as_json)


@app.command()
def measure(folder: Folder, as_json: AsJson = False) -> None:
    """Measure the healed line in every marked photo; mark them in notebook 04."""
    from pmulab.stations.measure import measure as station

    def before_each(code: str) -> None:
        print(f"Measuring {code} ...", file=sys.stderr)

    _say(station(folder, before_each), as_json)


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

    _say(station(folder, look=look, unplanned=unplanned, stopped=stopped), as_json)


@app.command()
def parts(
    folder: Folder,
    by: Annotated[str, typer.Option(help="Column of the clients table, e.g. skin_type.")],
    as_json: AsJson = False,
) -> None:
    """Look at the main outcome in parts of the clients; refused where a part is too small."""
    from pmulab.stations.parts import parts as station

    _say(station(folder, by), as_json)


@app.command()
def handout(
    folder: Folder,
    made_by: Annotated[str, typer.Option(help="Who hands it on, at the head of the page.")] = "",
    as_json: AsJson = False,
) -> None:
    """Write the printable handout from the findings."""
    from pmulab.stations.handout import handout as station

    _say(station(folder, made_by), as_json)


@app.command()
def fooled(
    number: Annotated[int | None, typer.Argument(help="Which invented series.")] = None,
    times: Annotated[int, typer.Option(help="Series to count over.")] = 1000,
    as_json: AsJson = False,
) -> None:
    """Show how luck alone fools whoever looks after every client; or count how often."""
    from pmulab.stations.fooled import fooled as station
    from pmulab.stations.fooled import how_often_fooled

    _say(how_often_fooled(times) if number is None else station(number), as_json)


@app.command()
def slides(
    folder: Folder,
    made_by: Annotated[str, typer.Option(help="Who shows them, on the first slide.")] = "",
    as_json: AsJson = False,
) -> None:
    """Write the same as slides: a page that shows itself, and a .pptx file."""
    from pmulab.stations.slides import slides as station

    _say(station(folder, made_by), as_json)


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

    _say(begin_practice(place) if begin else station(place), as_json)


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

    _say(station(folder, to, made_by, preview=preview), as_json)


@app.command()
def register(
    folder: Folder,
    group: Annotated[Path, typer.Option(help="The folder that the group shares.")],
    due: Annotated[str, typer.Option(help="Day by which the pack is expected.")] = "",
    as_json: AsJson = False,
) -> None:
    """Announce a locked plan to the group before the first client; later, say how it stands."""
    from pmulab.stations.register import register as station

    _say(station(folder, group, due), as_json)


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

    _say(station(packs, group, to, as_of), as_json)


@app.command()
def lab(
    folder: Annotated[Path, typer.Argument(help="Your own folder for notebooks and studies.")] = (
        Path("my-studies")
    ),
    only_copy: Annotated[bool, typer.Option("--only-copy", help="Copy, do not open.")] = False,
) -> None:
    """Copy the guided notebooks into your folder and open JupyterLab there."""
    from pmulab.stations.lab import lab as station
    from pmulab.stations.lab import open_lab

    _say(station(folder), False)
    if only_copy:
        print(f"To open them: pmulab lab {folder}")
    else:
        print("Opening JupyterLab in your browser. To end it, close this window or press Ctrl+C.")
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

        _say(demo_group(folder or "demo-group"), as_json)
        return
    from pmulab.stations.demo import demo as station

    _say(station(folder or "demo-study"), as_json)


@app.callback(invoke_without_command=True)
def _version(
    version: Annotated[bool, typer.Option("--version", help="Say the version.")] = False,
) -> None:
    if version:
        from pmulab import __version__

        print(f"pmulab {__version__}")
        raise typer.Exit


def main() -> None:
    """Run a command; wrong use and surprises end with a plain word, never with a traceback."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    try:
        app()
    except UserError as error:
        _stop(f"{error.what}\n{error.remedy}")
    except KeyboardInterrupt:
        _stop("Stopped. Nothing was lost.")
    except Exception as error:
        if os.environ.get("PMULAB_TRACE"):
            raise
        told = f"{type(error).__name__}: {error}"
        _stop(
            "Something went wrong inside pmulab. Nothing that you typed was overwritten.\n"
            f"Please report this line: {told}"
        )


def _say(answer: "Answer[Any]", as_json: bool) -> None:
    if as_json:
        print(json.dumps(answer.to_dict(), ensure_ascii=False, indent=1, allow_nan=False))
    else:
        print(answer)
    if answer.found_problems:
        raise typer.Exit(1)


def _stop(words: str) -> None:
    print(words, file=sys.stderr)
    raise SystemExit(2)


def _answers(pairs: list[str], file: Path | None) -> dict[str, str]:
    found: dict[str, str] = {}
    if file is not None:
        import tomllib

        from pmulab.study import read_text

        try:
            data = tomllib.loads(read_text(file))
        except tomllib.TOMLDecodeError as error:
            raise UserError(f"{file}: {error}", 'A line reads: age_band = "30-39"') from None
        found |= {name: _word(value) for name, value in data.items() if value != ""}
    for pair in pairs:
        name, equals, value = pair.partition("=")
        if not equals:
            raise UserError(f"{pair!r} is no answer.", "Write field=value, e.g. age_band=30-39")
        found[name.strip()] = value.strip()
    return found


def _number(name: str, text: str) -> float | None:
    """Read a number as people write it, with a point or a comma."""
    if not text.strip():
        return None
    try:
        return float(text.replace(",", "."))
    except ValueError:
        raise UserError(f"{name} {text!r} is no number.", f"Write e.g. {name} 1.5") from None


def _word(value: object) -> str:
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else str(value)
