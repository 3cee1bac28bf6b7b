"""What speaks for or against the dimensions of a label set: the list of clues."""

from collections.abc import Callable, Iterator, Sequence

from reportgen.importing.clues.dimensions_named import (
    control,
    event_words,
    factor_word,
    header_word,
    key_table,
    labels_elsewhere,
    other_day,
    quantity_word,
    remark_word,
    word_in_labels,
)
from reportgen.importing.clues.dimensions_shape import (
    colours,
    counting_numbers,
    dates,
    days_that_hardly_repeat,
    decimals,
    label_a_value,
    labels_over_rows,
    measured_numbers,
    mostly_blank,
    nothing_speaks,
    number_of_levels,
    numbers_behind_values,
    one_label,
    part_of_a_name,
    parts_of_ids,
    single_part,
    times_of_day,
    unknown_elsewhere,
    weekdays,
)
from reportgen.importing.clues.grid import LabelSet
from reportgen.importing.model.claims import Claim

Clue = Callable[[LabelSet], Iterator[Claim]]

CLUES: tuple[Clue, ...] = (
    header_word,
    word_in_labels,
    quantity_word,
    factor_word,
    event_words,
    remark_word,
    other_day,
    control,
    key_table,
    labels_elsewhere,
    dates,
    times_of_day,
    weekdays,
    days_that_hardly_repeat,
    decimals,
    counting_numbers,
    number_of_levels,
    nothing_speaks,
    numbers_behind_values,
    one_label,
    label_a_value,
    labels_over_rows,
    mostly_blank,
    parts_of_ids,
    part_of_a_name,
    single_part,
    unknown_elsewhere,
    measured_numbers,
    colours,
)


def dimension_claims(labels: LabelSet, clues: Sequence[Clue] = CLUES) -> tuple[Claim, ...]:
    """Return all claims about what a label set means; a claim without a dimension says it means none."""
    claims: list[Claim] = []
    for clue in clues:
        claims.extend(clue(labels))
    return tuple(claims)
