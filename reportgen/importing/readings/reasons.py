"""Why the dimensions of a reading are read so, for its owner."""

from collections.abc import Mapping, Sequence

from reportgen.importing.clues.grid import LabelSet
from reportgen.importing.dimension_names import DIMENSION_NAMES
from reportgen.importing.model.claims import Claim
from reportgen.importing.model.layouts import Dimension
from reportgen.language import marked, say

_REASONS = {
    "header_word": marked("its header"),
    "word_in_labels": marked("a word in its labels"),
    "control": marked("a word for the control"),
    "key_table": marked("a table that spells it"),
    "labels_elsewhere": marked("the same labels in another table"),
    "dates": marked("its dates"),
    "colours": marked("the legend of its colours"),
    "parts_of_ids": marked("the pattern of the ids"),
}
_RELATIONS = marked("what fits together")
_PHRASE = marked("{what} by {reason}")


def reasons(sets: Mapping[Dimension, LabelSet], claims: Mapping[int, Sequence[Claim]]) -> str:
    """Return the strongest reason for each dimension, in English as the settings file keeps it.

    `claims` are those of label sets, by their identity.
    """
    phrases = []
    for dimension, labels in sets.items():
        reason = _strongest(dimension, claims.get(id(labels), ()))
        phrases.append(_PHRASE.format(what=DIMENSION_NAMES[dimension], reason=reason))
    return ", ".join(phrases)


def _strongest(dimension: Dimension, claims: Sequence[Claim]) -> str:
    """Return the reason of the heaviest claim for a dimension that has one."""
    reason = _RELATIONS
    weight = 0.0
    for claim in claims:
        is_for = claim.dimension is dimension and claim.because in _REASONS
        if is_for and claim.weight > weight:
            reason = _REASONS[claim.because]
            weight = claim.weight
    return reason


def reasons_text(because: str) -> str:
    """Return reasons of a settings file in the language of the reader.

    What is no known reason stays as it stands.
    """
    texts = {}
    for name in DIMENSION_NAMES.values():
        for reason in (*_REASONS.values(), _RELATIONS):
            phrase = _PHRASE.format(what=name, reason=reason)
            texts[phrase] = say(_PHRASE, what=say(name), reason=say(reason))
    return ", ".join(texts.get(phrase, phrase) for phrase in because.split(", "))
