"""What speaks for or against the dimensions of a label set: the list of clues."""

from collections.abc import Callable, Iterator, Sequence

from reportgen.importing.clues import dimensions_named as named
from reportgen.importing.clues import dimensions_shape as shape
from reportgen.importing.clues.grid import LabelSet
from reportgen.importing.model.claims import Claim

Clue = Callable[[LabelSet], Iterator[Claim]]

CLUES: tuple[Clue, ...] = (
    named.header_word,
    named.word_in_labels,
    named.quantity_word,
    named.factor_word,
    named.event_words,
    named.remark_word,
    named.other_day,
    named.control,
    named.key_table,
    named.labels_elsewhere,
    shape.dates,
    shape.times_of_day,
    shape.weekdays,
    shape.days_that_hardly_repeat,
    shape.decimals,
    shape.counting_numbers,
    shape.number_of_levels,
    shape.nothing_speaks,
    shape.numbers_behind_values,
    shape.one_label,
    shape.label_a_value,
    shape.labels_over_rows,
    shape.mostly_blank,
    shape.parts_of_ids,
    shape.part_of_a_name,
    shape.single_part,
    shape.unknown_elsewhere,
    shape.measured_numbers,
    shape.colours,
)


def dimension_claims(labels: LabelSet, clues: Sequence[Clue] = CLUES) -> tuple[Claim, ...]:
    """Return all claims about what a label set means; a claim without a dimension says it means
    none.
    """
    claims: list[Claim] = []
    for clue in clues:
        claims.extend(clue(labels))
    return tuple(claims)
