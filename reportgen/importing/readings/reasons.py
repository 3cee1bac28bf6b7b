"""Why the dimensions of a reading are read so, for its owner."""

from collections.abc import Mapping, Sequence

from reportgen.importing.clues.grid import LabelSet
from reportgen.importing.model.claims import Claim
from reportgen.importing.model.layouts import Dimension

_REASONS = {
    "header_word": "its header",
    "word_in_labels": "a word in its labels",
    "control": "a word for the control",
    "key_table": "a table that spells it",
    "labels_elsewhere": "the same labels in another table",
    "dates": "its dates",
    "colours": "the legend of its colours",
    "parts_of_ids": "the pattern of the ids",
}
_RELATIONS = "what fits together"
_NAMES = {Dimension.UNIT: "tray", Dimension.OCCASION: "day"}


def reasons(sets: Mapping[Dimension, LabelSet], claims: Mapping[int, Sequence[Claim]]) -> str:
    """Return the strongest reason for each dimension; `claims` are those of label sets, by their
    identity.
    """
    said = []
    for dimension, labels in sets.items():
        speaking = [
            claim
            for claim in claims.get(id(labels), ())
            if claim.dimension is dimension and claim.weight > 0
        ]
        speaking.sort(key=lambda claim: -claim.weight)
        named = [_REASONS[claim.because] for claim in speaking if claim.because in _REASONS]
        if named:
            reason = named[0]
        else:
            reason = _RELATIONS
        said.append(f"{_NAMES.get(dimension, dimension.value)} by {reason}")
    return ", ".join(said)
