"""All checks, and what they find that its owner has not confirmed."""

from collections.abc import Collection, Sequence
from typing import Final

import pandas as pd

from reportgen.importing.model.cells import Sheet
from reportgen.importing.model.settings import Settings
from reportgen.importing.model.tables import Found
from reportgen.importing.plausibility.absences import (
    blanks_that_nobody_explained,
    dates_among_numbers,
    formulas_that_were_never_computed,
    labels_below_a_blank_row,
    limits_among_numbers,
    units_that_nobody_told,
    words_among_numbers,
    zeros_among_numbers,
)
from reportgen.importing.plausibility.designs import (
    factors_that_are_pooled,
    occasions_without_days,
    plants_of_untold_number,
    treatments_in_one_place,
)
from reportgen.importing.plausibility.evidence import Check, Evidence, confirmed_cells
from reportgen.importing.plausibility.labels import (
    ids_that_lost_a_zero,
    misspelt_treatments,
    mixed_date_orders,
    names_of_several_plants,
    plants_in_two_units,
    treatments_without_a_name,
    units_of_two_treatments,
    words_among_numbered_plants,
)
from reportgen.importing.plausibility.marks import (
    rows_in_a_colour,
    values_in_a_colour,
    values_that_are_hidden,
    values_with_a_comment,
)
from reportgen.importing.plausibility.sizes import conductivities_in_two_units, dry_above_fresh, slipped_points
from reportgen.importing.plausibility.together import (
    plants_that_nobody_counted,
    weights_of_several_plants,
    weights_once_a_unit,
)
from reportgen.model.problem import Problem, areas_of

CHECKS: Final[tuple[Check, ...]] = (
    slipped_points,
    conductivities_in_two_units,
    dry_above_fresh,
    blanks_that_nobody_explained,
    units_that_nobody_told,
    words_among_numbers,
    limits_among_numbers,
    dates_among_numbers,
    formulas_that_were_never_computed,
    zeros_among_numbers,
    labels_below_a_blank_row,
    ids_that_lost_a_zero,
    plants_in_two_units,
    words_among_numbered_plants,
    names_of_several_plants,
    units_of_two_treatments,
    misspelt_treatments,
    treatments_without_a_name,
    mixed_date_orders,
    rows_in_a_colour,
    values_in_a_colour,
    values_with_a_comment,
    values_that_are_hidden,
    treatments_in_one_place,
    factors_that_are_pooled,
    occasions_without_days,
    plants_of_untold_number,
    weights_of_several_plants,
    weights_once_a_unit,
    plants_that_nobody_counted,
)


def confirmed(sheets: Sequence[Sheet], found: Found, settings: Settings) -> frozenset[tuple[str, str]]:
    """Return the cells, by sheet, of which their owner said that they are right."""
    return frozenset(confirmed_cells(Evidence(sheets, found, settings, pd.DataFrame())))


def flags(sheets: Sequence[Sheet], found: Found, settings: Settings, frame: pd.DataFrame) -> tuple[Problem, ...]:
    """Return what does not look like its neighbours, at the owner's cells, without what he confirmed.

    An error waits for its owner's word: he leaves the row out, corrects the cell or confirms it. A caution does not.
    """
    if frame.empty:
        return ()
    evidence = Evidence(sheets, found, settings, frame)
    known = confirmed_cells(evidence)
    problems = [problem for check in CHECKS for problem in check(evidence)]
    return tuple(problem for problem in problems if not is_confirmed(problem, known))


def is_confirmed(problem: Problem, known: Collection[tuple[str, str]]) -> bool:
    """Tell whether a problem's owner confirmed all its cells; `known` are those that he did, by sheet."""
    areas = areas_of(problem.cell)
    return all((problem.sheet, area) in known for area in areas)
