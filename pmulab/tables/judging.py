"""One value against its field: usable, missing for a reason, or at fault."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from difflib import get_close_matches
from math import isfinite

from pmulab.tables.fields import MISSING_REASONS, Field
from pmulab.tables.identifiers import find_identifiers, identifier_fault
from pmulab.tables.report import BLOCKS, LOOK, Fault

UNREADABLE = "unreadable"
NOT_NOTED = " Until then it counts as not noted."

_NUMBER = r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?"
_FORMS = {"int": r"[+-]?\d{1,15}", "float": _NUMBER, "flag": "yes|no", "date": r"\d{4}-\d\d-\d\d"}
_NO_ANSWER = frozenset({"na", "n/a", "n.a.", "nan", "null", "-", "--", "?", ".", "x", "missing"})
_CODES = ", ".join(MISSING_REASONS)
_STEP_SLACK = 1e-9


@dataclass(frozen=True, slots=True)
class Judgement:
    """What became of one value.

    Parameters
    ----------
    missing : str
        Why there is no usable value: a missing-reason code, or 'unreadable'; empty for a
        usable value and for a blank that may stay blank.
    faults : tuple of Fault
    """

    missing: str = ""
    faults: tuple[Fault, ...] = ()


def judge(field: Field, text: str, *, is_key: bool, was: str = "") -> Judgement:
    """Judge one value.

    Parameters
    ----------
    field : Field
    text : str
        In the one form of `mending`; empty for a blank.
    is_key : bool
        A key accepts no missing-reason code.
    was : str, default=''
        As it was typed, where that was mended; a fault shows what was typed.

    Returns
    -------
    Judgement
    """
    if is_key and (not text or text in MISSING_REASONS):
        return Judgement(UNREADABLE, (_blank_key(field),))
    if text in MISSING_REASONS:
        return Judgement(text)
    if not text:
        needed = field.needed == "always"
        return Judgement(UNREADABLE, (_blank(field),)) if needed else Judgement()
    faults = tuple(_faults(field, text, was or text))
    blocked = any(fault.severity == BLOCKS for fault in faults)
    unusable = blocked and not all(fault.code == "identifying_text" for fault in faults)
    told = tuple(as_grave_as_needed(field, fault) for fault in faults)
    return Judgement(UNREADABLE if unusable else "", told)


def as_grave_as_needed(field: Field, fault: Fault) -> Fault:
    """Let a fault block the analysis only where the value is needed.

    Text that tells who a person is blocks anywhere, and so does a consent that cannot be read:
    a withdrawal must not be overlooked.

    Parameters
    ----------
    field : Field
    fault : Fault

    Returns
    -------
    Fault
    """
    needed = field.needed == "always" or field.group == "consent"
    if needed or fault.severity != BLOCKS or fault.code == "identifying_text":
        return fault
    return replace(fault, severity=LOOK, remedy=f"{fault.remedy}{NOT_NOTED}")


def _blank_key(field: Field) -> Fault:
    return Fault(
        "blank_key",
        f"{field.named} is missing; without it the row cannot be placed.",
        f"Fill it in: {field.allowed}. A missing-reason code is not enough here.",
    )


def _blank(field: Field) -> Fault:
    what = f"{field.named} is empty."
    if field.group == "health":  # an example would put an answer into her mouth
        return Fault("blank", what, "Ask her. 'unsure' is an answer too, and means not now.")
    if field.group == "consent":  # no reason stands in for her yes
        return Fault("blank", what, f"Ask her, then write {field.allowed}. {field.hint}")
    return Fault(
        "blank", what, f"Write {field.allowed}{field.such_as}. If there is none, say why: {_CODES}."
    )


def _faults(field: Field, text: str, was: str) -> Iterator[Fault]:
    if field.kind == "text" or field.name.startswith("photo_"):
        for kind in find_identifiers(text, lot_number=field.name == "pigment_batch"):
            yield identifier_fault(kind, field.named, was)
    if field.kind != "text" and text.casefold() in _NO_ANSWER:
        yield Fault(
            "missing_without_reason",
            f"'{was}' in {field.named} does not say why the value is missing.",
            f"Ask her, then write {field.allowed}. {field.hint}"
            if field.group == "consent"
            else f"Write {field.allowed}, or the reason: {_CODES}.",
        )
    elif not _well_formed(field, text):
        yield _wrong_kind(field, text, was)
    elif field.kind in ("int", "float"):
        yield from _range_faults(field, float(text), was)
    elif field.kind == "date" and field.plausible:
        low, high = (str(limit) for limit in field.plausible)
        if not low <= text <= high:
            yield Fault(
                "unusual_value",
                f"'{was}' in {field.named} lies outside {low} to {high}.",
                "Look at the year. Nothing to do if it is right.",
                LOOK,
            )


def _well_formed(field: Field, text: str) -> bool:
    if field.choices:
        return text in field.choices
    if field.kind == "text":
        return True
    form = field.pattern if field.kind == "code" else _FORMS[field.kind]
    if not re.fullmatch(form or ".*", text, flags=re.ASCII):
        return False
    if field.kind == "date":
        return _is_date(text)
    return field.kind != "float" or isfinite(float(text))


def _is_date(text: str) -> bool:
    try:
        date.fromisoformat(text)
    except ValueError:
        return False
    return True


def _wrong_kind(field: Field, text: str, was: str) -> Fault:
    near = get_close_matches(text.casefold(), field.words, n=1, cutoff=0.6)
    guess = f"Did you mean '{field.words[near[0]]}'? " if near else ""
    return Fault(
        "not_in_list" if field.choices else f"not_{field.kind}",
        f"'{was}' in {field.named} is not {field.allowed}.",
        f"{guess}Write {field.allowed}{field.such_as}.",
    )


def _range_faults(field: Field, number: float, was: str) -> Iterator[Fault]:
    low = field.minimum if field.minimum is not None else number
    high = field.maximum if field.maximum is not None else number
    if not low <= number <= high:
        yield Fault(
            "outside_limits",
            f"{was} in {field.named} cannot be: it is {field.allowed}.",
            "Look at your sheet and write the value that stands there.",
        )
        return
    if field.plausible:
        lower, upper = (float(limit or 0) for limit in field.plausible)
        unit = f" {field.unit}" if field.unit else ""
        if not lower <= number <= upper:
            yield Fault(
                "unusual_value",
                f"{was} in {field.named} is unusual; most values lie from"
                f" {lower:g} to {upper:g}{unit}.",
                "Compare it with your sheet. Nothing to do if it is right.",
                LOOK,
            )
    if field.step:
        steps = number / field.step
        if abs(steps - round(steps)) > _STEP_SLACK:
            yield Fault(
                "finer_than_step",
                f"{was} in {field.named} is finer than steps of {field.step:g} {field.unit}.",
                f"Round it to the nearest {field.step:g}, the same way for every eyelid.",
                LOOK,
            )
