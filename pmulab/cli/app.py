"""What all commands share: the program, their answers, and reading what was typed."""

import json
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

_ANSWER = 'A line reads: age_band = "30-39", with straight quotes around the answer.'
Folder = Annotated[Path, typer.Argument(help="Folder of the study.")]
AsJson = Annotated[bool, typer.Option("--json", help="Answer in JSON, for programs.")]


@app.callback(invoke_without_command=True)
def _version(
    version: Annotated[bool, typer.Option("--version", help="Say the version.")] = False,
) -> None:
    if version:
        from pmulab import __version__

        print(f"pmulab {__version__}")
        raise typer.Exit


def say(answer: "Answer[Any]", as_json: bool) -> None:
    """Print an answer; end with 1 where it found problems.

    Parameters
    ----------
    answer : Answer
    as_json : bool
        Print plain data for programs instead of sentences.
    """
    if as_json:
        print(json.dumps(answer.to_dict(), ensure_ascii=False, indent=1, allow_nan=False))
    else:
        print(answer)
    if answer.found_problems:
        raise typer.Exit(1)


def stop(words: str) -> None:
    """End with 2 and a plain word.

    Parameters
    ----------
    words : str
    """
    print(words, file=sys.stderr)
    raise SystemExit(2)


def answers_of(pairs: list[str], file: Path | None) -> dict[str, str]:
    """Read a client's answers from a file and from field=value pairs.

    Parameters
    ----------
    pairs : list of str
    file : Path or None

    Returns
    -------
    dict of str to str

    Raises
    ------
    UserError
        If the file is no TOML, or a pair has no equals sign.
    """
    found: dict[str, str] = {}
    if file is not None:
        from pmulab.cli.loose_answers import mended
        from pmulab.plan import read_toml
        from pmulab.study import read_text

        text, told = mended(read_text(file))
        data = read_toml(text, str(file), _ANSWER)
        for line in told:
            print(f"{file}: {line}", file=sys.stderr)
        found |= {name: _word(value) for name, value in data.items() if value != ""}
    for pair in pairs:
        name, equals, value = pair.partition("=")
        if not equals:
            raise UserError(f"{pair!r} is no answer.", "Write field=value, e.g. age_band=30-39")
        found[name.strip()] = value.strip()
    return found


def number_of(name: str, text: str) -> float | None:
    """Read a number as people write it, with a point or a comma.

    Parameters
    ----------
    name : str
        The option, for messages.
    text : str

    Returns
    -------
    float or None
        None when nothing was typed.

    Raises
    ------
    UserError
        If it is no number.
    """
    if not text.strip():
        return None
    try:
        return float(text.replace(",", "."))
    except ValueError:
        raise UserError(f"{name} {text!r} is no number.", f"Write e.g. {name} 1.5") from None


def _word(value: object) -> str:
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else str(value)
