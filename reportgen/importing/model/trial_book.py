"""What a trial workbook says, as far as the files beside it need it."""

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class TrialBook:
    """The codes of a trial workbook: treatments by code, the treatment of trays and meters.

    `fields` are those of the sheet Trial that are filled in, by declared name.
    """

    treatments: Mapping[str, str]
    trays: Mapping[str, str]
    meters: Mapping[str, str]
    fields: Mapping[str, object]
