"""One line of a reporting checklist."""

from dataclasses import dataclass
from typing import Literal

Who = Literal["kit", "you", "kit, you confirm"]


@dataclass(frozen=True, slots=True)
class Item:
    """One thing that a reader needs to be told.

    Parameters
    ----------
    number : str
        As the checklist numbers it.
    words : str
        What to tell, in our own words.
    who : {'kit', 'you', 'kit, you confirm'}
        Who fills it in.
    text : str
        What the kit filled in; empty when it is left to the person.
    """

    number: str
    words: str
    who: Who
    text: str
