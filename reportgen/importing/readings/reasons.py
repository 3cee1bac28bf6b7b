"""Why the dimensions of a reading are read so, for its owner."""

from collections.abc import Mapping, Sequence

from reportgen.importing.clues.grid import LabelSet
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
_NAMES = {
    Dimension.TREATMENT: marked("treatment"),
    Dimension.BLOCK: marked("block"),
    Dimension.UNIT: marked("tray"),
    Dimension.PLANT: marked("plant"),
    Dimension.OCCASION: marked("day"),
    Dimension.EVENT: marked("event"),
    Dimension.METER: marked("meter"),
    Dimension.GRADE: marked("grade"),
}
_PHRASE = marked("{what} by {reason}")


def reasons(sets: Mapping[Dimension, LabelSet], claims: Mapping[int, Sequence[Claim]]) -> str:
    """Return the strongest reason for each dimension; `claims` are those of label sets, by their
    identity. They are in English, as the settings file keeps them.
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
        said.append(_PHRASE.format(what=_NAMES[dimension], reason=reason))
    return ", ".join(said)


def reasons_text(because: str) -> str:
    """Return reasons that a settings file keeps in the language of the reader; what is none of them
    as it stands.
    """
    known = {}
    for name in _NAMES.values():
        for reason in (*_REASONS.values(), _RELATIONS):
            kept = _PHRASE.format(what=name, reason=reason)
            known[kept] = say(_PHRASE, what=say(name), reason=say(reason))
    return ", ".join(known.get(phrase, phrase) for phrase in because.split(", "))
