"""A table that was found, its file and how its treatment is told."""

from dataclasses import dataclass, field
from typing import Final

from reportgen.adopt.roles import Understood
from reportgen.adopt.treatments import (
    Telling,
)

WEIGHTS: Final = ("Fresh weight", "Dry weight", "Root weight", "Weight")
TO_ONE_PLACE: Final = ("Meter", "Climate", "Light")


@dataclass(frozen=True)
class Part:
    """A table with its file's name (empty: the main one), and how its treatment is told.

    Its rows are `joined` to the plants of other tables where it has measurements of these and no fresh weight; those
    of one of several days have the `day` that names their sheet.
    """

    file: str
    read: Understood
    telling: Telling = field(default_factory=Telling)
    joined: bool = False
    day: str = ""
