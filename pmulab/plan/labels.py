"""What the forms call an entry of the plan."""

from pmulab.plan.recorded import column_words

PROMISE_TITLES = {
    "allowed_by": "Who allowed this comparison",
    "later_use": "Later use of numbers and photos",
    "unblinding": "Who may learn which way was used, and when",
    "looking_early": "Why nobody looks early",
    "after_care": "If something goes wrong",
    "sharing": "What leaves the studio",
}
CAUTIONS_TITLE = "Cautions of this question, each in a line of its own"
STUDY_TITLES = {
    "title": "Title of the study",
    "question": "The question, as you ask it aloud",
}
_OF_PROMISES = {**PROMISE_TITLES, "cautions": CAUTIONS_TITLE}
_OF_A_WAY = {"label": "Way {}", "steps": "Steps of way {}"}
_OF_A_MEASURE = {
    "worthwhile": "Smallest worthwhile difference",
    "worthwhile_own": "Smallest worthwhile difference, whether it is her own",
    "worthwhile_reason": "Why that much matters",
}


def entry_label(entry: str) -> str:
    """Name an entry of the plan as the forms do.

    Parameters
    ----------
    entry : str
        Such as 'arms.A.steps' or 'secondary.4.worthwhile', counted from 1.

    Returns
    -------
    str
        The label with the entry in brackets; the entry alone where no form has it.
    """
    label = _label(entry.split("."))
    return f"{label} ({entry})" if label else entry


def recorded_label(key: str, name: str) -> str:
    """Name what the records of a way have to show in a column of the sessions table."""
    return f"Way {key}, {column_words(name)}"


def _label(parts: list[str]) -> str:
    match parts:
        case ["study", name]:
            return STUDY_TITLES.get(name, "")
        case ["arms", key, "recorded", name]:
            return recorded_label(key, name)
        case ["arms", key, name]:
            return _OF_A_WAY.get(name, "").format(key)
        case ["primary", name] if name in _OF_A_MEASURE:
            return f"{_OF_A_MEASURE[name]}, main measure"
        case ["secondary", number, name] if name in _OF_A_MEASURE:
            return f"{_OF_A_MEASURE[name]}, further measure {number}"
        case ["clients", "planned"]:
            return "Clients planned"
        case ["promises", name]:
            return _OF_PROMISES.get(name, "")
    return ""
