"""The field guide in words: shared by the workbook, the guide page and the chairside sheet."""

from collections.abc import Iterator, Mapping

from pmulab.tables.fields import Field, Table

CAUTIONS = (
    "Stop and refer at once: eye pain or sharp pain that grows as numbing wears off, light"
    " sensitivity, blurred or changed vision, a wide pupil, black specks, cream or pigment in the"
    " eye. Same day, an eye doctor or emergency.",
    "Stop and refer within a day: growing redness, heat, pus, blisters, fever, lumps, itching that"
    " spreads.",
    "Visible capillaries along the lash line and a light carbon-based pigment do not go together:"
    " use iron oxide or decline (common practice, no source).",
    "Not medical advice. Local codes, licence, insurance and consent come first. Never tell a"
    " client to stop a prescribed medicine. A study never decides whether she may be treated.",
)

_REASONS_IN_WORDS = {
    "NA_not_done": "it was not done or not measured",
    "NA_refused": "the client did not want it",
    "NA_lost": "the client did not come back, or the note is lost",
    "NA_not_applicable": "the question does not apply",
}


def needed_in_words(field: Field) -> str:
    """Say whether a field must be filled in.

    Parameters
    ----------
    field : Field

    Returns
    -------
    str
    """
    words = {"always": "needed", "plan": "needed if your plan names it", "no": "may stay empty"}
    return words[field.needed]


def guide_words(tables: Mapping[str, Table]) -> list[str]:
    """Return the paragraphs that explain how to fill in the tables.

    Parameters
    ----------
    tables : mapping of table name to Table

    Returns
    -------
    list of str
    """
    lines = [f"{table.name}: {table.description}" for table in tables.values()]
    lines += [
        "A column name with a star and a thick line is needed in every row. A thin line: needed"
        " if your plan names it. A dotted line and slanted name: may stay empty.",
        "If a needed value is missing, write why: "
        + "; ".join(f"{code} ({words})" for code, words in _REASONS_IN_WORDS.items())
        + ".",
        "Dates: year first, such as 2026-03-01. Numbers: 12.5 or 12,5, without the unit.",
        "Left and right are always the client's own left and right.",
        "Never write names, initials, birth dates, phone numbers, e-mail or postal addresses.",
        "pmulab only reads this file. It never changes it.",
        *CAUTIONS,
    ]
    return lines


def guide_rows(tables: Mapping[str, Table]) -> Iterator[tuple[str, ...]]:
    """Yield one row a field: sheet, column, words, needed, what to write, grades, hint, why.

    Parameters
    ----------
    tables : mapping of table name to Table

    Yields
    ------
    tuple of str
    """
    for table in tables.values():
        for field in table.fields:
            allowed = field.allowed
            if field.plausible and field.kind in ("int", "float"):
                low, high = field.plausible
                allowed += f"; usual {low:g} to {high:g}"
            yield (
                table.name,
                field.name,
                field.title,
                needed_in_words(field),
                allowed,
                "; ".join(field.anchors),
                field.hint,
                field.why,
            )


def field_guide(tables: Mapping[str, Table]) -> str:
    """Return the field guide as Markdown.

    Parameters
    ----------
    tables : mapping of table name to Table

    Returns
    -------
    str
    """
    lines = ["# Field guide", "", "Made from the table schemas; change those, not this page.", ""]
    lines += [f"- {line}" for line in guide_words(tables)]
    for table in tables.values():
        lines += ["", f"## {table.title} (`{table.name}`)", "", table.description, ""]
        lines += [f"One row for each: {', '.join(f'`{key}`' for key in table.keys)}.", ""]
        lines += ["| column | in words | needed | what to write | grades | hint | why |"]
        lines += ["|---|---|---|---|---|---|---|"]
        for cells in guide_rows({table.name: table}):
            name, *rest = (cell.replace("|", "\\|") for cell in cells[1:])
            lines.append(f"| `{name}` | " + " | ".join(rest) + " |")
    return "\n".join(lines) + "\n"
