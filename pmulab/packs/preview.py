"""What leaves the house, said line by line before anything is written."""

from collections.abc import Iterator

from pmulab.counting import counted
from pmulab.packs.model import Contents
from pmulab.packs.writing import pack_files
from pmulab.tables.schema import study_tables
from pmulab.tables.shared import SHARED, SMALLEST_CELL
from pmulab.wording import harm_lines

NEVER = (
    "Never in a pack: photos, free text, lot numbers, calendar dates of clients, the studio's own "
    "client codes."
)


def preview_lines(contents: Contents) -> Iterator[str]:
    """Say exactly what leaves and what stays.

    Parameters
    ----------
    contents : Contents

    Yields
    ------
    str
    """
    files, findings = pack_files(contents), contents.findings
    yield f"What leaves the studio, as '{contents.label}':"
    if findings.plan.study.invented:
        yield "INVENTED DATA: no such studio and no such clients exist."
    yield "Adverse events first, as counts over everybody who was worked on:"
    yield from (f"  {line}" for line in harm_lines(findings))
    yield from _clients(contents)
    for name, frame in contents.frames.items():
        left = [str(column) for column in frame.columns if frame[column].notna().any()]
        yield f"{name}.csv: {counted(len(frame), 'row')}, {len(files[name + '.csv'])} bytes. " + (
            f"Columns: {', '.join(left)}."
        )
    yield (
        "plan.json, findings.json, reporting.json: the plan, the numbers of the analysis, what a "
        "report has to tell."
    )
    yield from _withheld(contents)
    yield f"Left out of every row: {', '.join(_dropped())}."
    yield NEVER


def _clients(contents: Contents) -> Iterator[str]:
    if contents.rows_withheld:
        yield from _no_rows(contents)
        return
    agreed, rows = max(contents.agreed, contents.clients), contents.clients
    without = agreed - rows
    lost = f"; {without} of them {'has' if without == 1 else 'have'} no result" if without else ""
    yield (
        f"{counted(agreed, 'client')} agreed to share their numbers{lost}. Rows of "
        f"{counted(rows, 'client')} leave, each under a fresh random code, in the order of these "
        "codes; dates as days, ages as bands."
    )
    if contents.left_out:
        yield (
            f"Left out: {contents.left_out} of those worked on, who did not agree. All averages in "
            "the pack are of the others; only adverse events are counted over everybody."
        )


def _no_rows(contents: Contents) -> Iterator[str]:
    hidden = contents.left_out
    yield (
        f"No client's own row leaves: {hidden} of {counted(contents.clients, 'client')} worked on "
        f"did not agree to share {'her' if hidden == 1 else 'their'} numbers, and beside the "
        "averages the rows of the others would tell them. The averages are of everybody, as on "
        "the handout; the study is pooled by them."
    )


def _withheld(contents: Contents) -> Iterator[str]:
    if contents.withheld:
        yield (
            f"Withheld, because an answer in it stands for fewer than {SMALLEST_CELL} clients and "
            f"could point to one: {', '.join(contents.withheld)}."
        )
    if contents.plan_withheld:
        yield (
            "Withheld from the plan, because it looks as if it told a person: "
            f"{', '.join(contents.plan_withheld)}. Others cannot check the plan's fingerprint."
        )


def _dropped() -> list[str]:
    dropped = (
        field.name
        for name, table in study_tables().items()
        if name in SHARED
        for field in table.fields
        if field.share == "drop" or field.kind == "text"
    )
    return list(dict.fromkeys(dropped))
