"""Values whose size does not fit: slipped points, another unit, dry plants above fresh ones."""

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from statistics import median
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from reportgen.importing.conversions import converted, factors
from reportgen.importing.model import long
from reportgen.importing.numerals import grouped
from reportgen.importing.plausibility.evidence import USED, WEIGHTS, Evidence, Finding
from reportgen.language import figure, marked, plural, say
from reportgen.model.problem import Problem

# values that tell what is usual; a treatment with no more is compared with the others like it
FEWEST: Final = 4
# a power of ten: within a factor of 5.6 of the median plants of a treatment differ by growth
SPREAD: Final = 0.75
LARGER: Final = 2  # times the largest of the others
SMALLER: Final = 4  # parts of the smallest of the others: small plants are commoner than giants
SLACK: Final = 1.25
NEAR_POWER: Final = (
    0.25  # of log10: medians of two groups in two units differ by growth and by dilution too
)
GAP: Final = 0.6  # of log10 between two groups in two units
UNIT_POWERS: Final = (1, 3)  # dS/m or mS/cm against mS/m is 100 and 1,000 for µS/cm; 10 for cF
TIMES: Final = marked("{value} is about {times} times what {treatment} has otherwise")
PART: Final = marked("{value} is about a {times}th of what {treatment} has otherwise")
NOT_COMPARED: Final = ("Reading", "Volume", "Count", "Leaves")


def slipped_points(evidence: Evidence) -> Iterator[Problem]:
    """A value is about a power of ten off what its treatment has otherwise."""
    for number, _, _ in evidence.layouts("Plants", "Harvests", "Growth"):
        own = evidence.rows(number)
        read = own[(own[long.STATE] == "value") & ~own[long.QUANTITY].isin(NOT_COMPARED)]
        groups = read.groupby([long.QUANTITY, long.TREATMENT, long.OCCASION], sort=False)
        for (quantity, treatment, _), group in groups:
            if len(group) > FEWEST:
                yield from _slipped(evidence, group, str(quantity), str(treatment))
        sizes = read.groupby([long.QUANTITY, long.TREATMENT, long.OCCASION])[long.VALUE].transform(
            "size"
        )
        for quantity, group in read[sizes <= FEWEST].groupby(long.QUANTITY, sort=False):
            yield from _slipped(evidence, group, str(quantity), "")


def _slipped(
    evidence: Evidence, group: pd.DataFrame, quantity: str, treatment: str
) -> Iterator[Problem]:
    values = in_one_unit(group)
    positive = values[values > 0]
    if len(positive) < FEWEST:
        return
    middle = float(np.median(positive))
    usual = positive[np.abs(np.log10(positive / middle)) < SPREAD]
    if len(usual) < FEWEST:
        return
    low, high = float(usual.min()), float(usual.max())
    far = np.flatnonzero((values > 0) & ((values < low / SMALLER) | (values > high * LARGER)))
    for position in far:
        value = float(values[position])
        power = _power(value, low, high)
        if power:
            row = group.iloc[position]
            if power > 0:
                message = TIMES
            else:
                message = PART
            shown = float(row[long.VALUE])
            yield Finding(
                "slipped_point",
                say(
                    message,
                    value=figure(f"{shown:g}"),
                    times=grouped(10 ** abs(power)),
                    treatment=treatment or say("the table"),
                ),
                say(
                    "a value near {middle}, as {mended} would be",
                    middle=figure(f"{middle:.3g}"),
                    mended=figure(f"{shown / 10.0**power:g}"),
                ),
                say("Look for a slipped decimal point or another unit. {used}", used=say(USED)),
                waits=quantity in WEIGHTS,
            ).at(evidence, int(row[long.SHEET]), int(row[long.ROW]), int(row[long.COLUMN]))


def _power(value: float, low: float, high: float) -> int:
    """Return by which power of ten a value is off the range of the others, 0 where it is not."""
    power = round(math.log10(value / math.sqrt(low * high)))
    if low / SLACK <= value / 10.0**power <= high * SLACK:
        return power
    return 0


def in_one_unit(group: pd.DataFrame) -> NDArray[np.float64]:
    """Return values in the unit of the first, as they stand where it is not known."""
    units = group[long.UNIT_OF_MEASURE]
    return converted(group[long.VALUE].to_numpy(dtype=float), units, str(units.iloc[0]))


def conductivities_in_two_units(evidence: Evidence) -> Iterator[Problem]:
    """The conductivities of one column fall into two groups, one a thousand or ten times the other."""
    read = evidence.frame[
        (evidence.frame[long.QUANTITY] == "EC") & (evidence.frame[long.VALUE] > 0)
    ]
    for _, own in read.groupby([long.TABLE, long.COLUMN], sort=False):
        ordered = own.assign(size=in_one_unit(own)).sort_values("size", kind="stable")
        yield from _two_groups(evidence, ordered)


def _two_groups(evidence: Evidence, ordered: pd.DataFrame) -> Iterator[Problem]:
    sizes: Sequence[float] = ordered["size"].tolist()
    gaps = [math.log10(high / low) for low, high in pairwise(sizes)]
    if not gaps or max(gaps) < GAP:
        return
    split = gaps.index(max(gaps)) + 1
    power = _unit_power(sizes[:split], sizes[split:])
    smaller_group = min(split, len(sizes) - split)
    if not power or smaller_group < 2:
        return
    if split < len(sizes) - split:
        few = ordered.iloc[:split]
    else:
        few = ordered.iloc[split:]
    first = few.sort_values(long.ROW).iloc[0]
    yield Finding(
        "two_units_of_ec",
        say(
            "{example} and {number} more are about {times} times off the others",
            example=figure(f"{first[long.VALUE]:g}"),
            number=len(few) - 1,
            times=grouped(10**power),
        ),
        say("one unit in a column: mS/cm is 1,000 µS/cm"),
        say(
            "Write the unit of these cells behind their numbers, as 1600 µS/cm. {used}",
            used=say(USED),
        ),
        waits=power == max(UNIT_POWERS),
    ).at(evidence, int(first[long.SHEET]), int(first[long.ROW]), int(first[long.COLUMN]), len(few))


def _unit_power(low: Sequence[float], high: Sequence[float]) -> int:
    """Return the power of ten between two groups in two units, 0 where it is none of units."""
    times = math.log10(median(high) / median(low))
    for power in UNIT_POWERS:
        if abs(times - power) < NEAR_POWER:
            return power
    return 0


def dry_above_fresh(evidence: Evidence) -> Iterator[Problem]:
    """A plant or tray is heavier dry than fresh."""
    keys = [long.TREATMENT, long.UNIT, long.PLANT, long.OCCASION]
    read = evidence.frame[evidence.frame[long.STATE] == "value"]
    fresh = read[read[long.QUANTITY] == "Fresh weight"].drop_duplicates(keys)
    dry = read[read[long.QUANTITY] == "Dry weight"].drop_duplicates(keys)
    both = dry.merge(fresh, on=keys, suffixes=("", " fresh"))
    if both.empty:
        return
    scales = []
    pairs = zip(both[long.UNIT_OF_MEASURE], both[f"{long.UNIT_OF_MEASURE} fresh"], strict=True)
    for unit, target in pairs:
        scales.append(factors(str(unit), str(target))[0])
    heavier = both[both[long.VALUE] * scales > both[f"{long.VALUE} fresh"]]
    if len(heavier):
        yield _dry_above_fresh(evidence, heavier)


def _dry_above_fresh(evidence: Evidence, heavier: pd.DataFrame) -> Problem:
    first = heavier.iloc[0]
    finding = Finding(
        "dry_above_fresh",
        plural(
            "{dry} dry, {fresh} fresh",
            "{dry} and {more} more dry, {fresh} fresh",
            len(heavier),
            dry=figure(f"{first[long.VALUE]:g}"),
            more=len(heavier) - 1,
            fresh=figure(f"{first[f'{long.VALUE} fresh']:g}"),
        ),
        say("a dry weight below the fresh one"),
        say("Look whether the two columns were exchanged, or are in different units."),
        waits=True,
    )
    sheet, row, column = (int(first[name]) for name in (long.SHEET, long.ROW, long.COLUMN))
    return finding.at(evidence, sheet, row, column, len(heavier))
