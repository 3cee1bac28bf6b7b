"""All checks, and what they find that its owner has not confirmed."""

from collections.abc import Collection, Sequence
from typing import Final

import pandas as pd

from reportgen.importing.model.cells import Sheet
from reportgen.importing.model.settings import Settings
from reportgen.importing.model.tables import Found
from reportgen.importing.plausibility import absences, designs, labels, marks, sizes, together
from reportgen.importing.plausibility.evidence import Check, Evidence, confirmed_cells
from reportgen.model.problem import Problem, areas_of

CHECKS: Final[tuple[Check, ...]] = (
    sizes.slipped_points,
    sizes.conductivities_in_two_units,
    sizes.dry_above_fresh,
    absences.blanks_that_nobody_explained,
    absences.units_that_nobody_told,
    absences.words_among_numbers,
    absences.limits_among_numbers,
    absences.dates_among_numbers,
    absences.formulas_that_were_never_computed,
    absences.zeros_among_numbers,
    absences.labels_below_a_blank_row,
    labels.ids_that_lost_a_zero,
    labels.plants_in_two_units,
    labels.words_among_numbered_plants,
    labels.names_of_several_plants,
    labels.units_of_two_treatments,
    labels.misspelt_treatments,
    labels.treatments_without_a_name,
    labels.mixed_date_orders,
    marks.rows_in_a_colour,
    marks.values_in_a_colour,
    marks.values_with_a_comment,
    marks.values_that_are_hidden,
    designs.treatments_in_one_place,
    designs.factors_that_are_pooled,
    designs.occasions_without_days,
    designs.plants_of_untold_number,
    together.weights_of_several_plants,
    together.weights_once_a_unit,
    together.plants_that_nobody_counted,
)


def confirmed(
    sheets: Sequence[Sheet], found: Found, settings: Settings
) -> frozenset[tuple[str, str]]:
    """Return the cells, by sheet, of which their owner said that they are right."""
    return frozenset(confirmed_cells(Evidence(sheets, found, settings, pd.DataFrame())))


def flags(
    sheets: Sequence[Sheet], found: Found, settings: Settings, frame: pd.DataFrame
) -> tuple[Problem, ...]:
    """Return what does not look like its neighbours and is not confirmed, at the owner's cells.

    An error waits for its owner's word: he leaves the row out, corrects the cell or confirms
    it. A caution does not.
    """
    if frame.empty:
        return ()
    evidence = Evidence(sheets, found, settings, frame)
    confirmed_places = confirmed_cells(evidence)
    problems = [problem for check in CHECKS for problem in check(evidence)]
    return tuple(problem for problem in problems if not is_confirmed(problem, confirmed_places))


def is_confirmed(problem: Problem, cells: Collection[tuple[str, str]]) -> bool:
    """Tell whether a problem's owner confirmed all its cells.

    `cells` are those that he did, by sheet.
    """
    areas = areas_of(problem.cell)
    return all((problem.sheet, area) in cells for area in areas)
