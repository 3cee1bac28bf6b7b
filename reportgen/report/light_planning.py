"""What matching the light before the start says, in plain text, and its figure."""

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Final

from reportgen.language import listed, marked, percent, say
from reportgen.metrics.light_maps import Axis
from reportgen.metrics.light_matching import (
    Finding,
    Interval,
    LightMatch,
    MatchedHeight,
    MatchedHours,
    MeasuredLevel,
    Quantity,
    TreatmentLight,
    WhyNoHeight,
    moles_a_day,
)
from reportgen.metrics.validity.surroundings import PPFD
from reportgen.model.document import Figure
from reportgen.model.trial import LightSurvey, Treatment
from reportgen.report import numbers
from reportgen.report.figures.drawing import drawn
from reportgen.report.safety import BRIGHT_LIGHT, MAINS

if TYPE_CHECKING:
    from reportgen.charts.light_heights import LightAt, LightLine

PPFD_UNIT: Final = "µmol/m²/s"
DLI_UNIT: Final = "mol/m²/d"
HOURS_OF_A_DAY: Final = 24
CALLED: Final[Mapping[Quantity, str]] = {
    "ppfd": marked("mean light (PPFD)"),
    "dli": marked("light of a day (DLI)"),
}
UNITS: Final[Mapping[Quantity, str]] = {"ppfd": PPFD_UNIT, "dli": DLI_UNIT}
AXES: Final[Mapping[Axis, str]] = {
    Axis.LOG_HEIGHT: (
        marked(
            "where light falls with height, height is the distance from the lamp, and the"
            " logarithm of light runs straight over the logarithm of height, as by the"
            " inverse-square law and more flatly beneath a wide lamp"
        )
    ),
    Axis.HEIGHT: (
        marked(
            "where light rises with height, or height begins at 0, the lamp's own height is"
            " not recorded, and the logarithm of light runs straight over height"
        )
    ),
}
FINDINGS: Final[Mapping[Finding, str]] = {
    "not_steady": (
        marked(
            "Mean light neither rises nor falls all the way with height under {name}: read"
            " its heights again."
        )
    ),
    "spread_not_known": (
        marked(
            "A height with a single reading has no spread, so the intervals of {name} are too"
            " narrow: read several points."
        )
    ),
    "earlier_left_out": (
        marked("Some heights were read on several dates under {name}: the latest date counts.")
    ),
    "places_differ": (
        marked(
            "The maps of {name} do not have the same points (X, Y) at all heights, so part of"
            " what changes with height may be the change of points."
        )
    ),
    "dark_point": marked("A point under {name} has no light, so its evenness is not interpolated."),
}
WITHOUT_CURVE: Final[Mapping[WhyNoHeight | None, str]] = {
    "no_readings": marked("No light was read under {name}: read it at three heights or more."),
    "no_height": (
        marked(
            "No height can be given for {name}, for Height is blank on the sheet Light: fill it in."
        )
    ),
    "dark": marked("No reading under {name} has light."),
    "no_photoperiod": (
        marked(
            "The light of a day is not known for {name}, for Photoperiod on the sheet"
            " Treatments is blank or 0: fill it in."
        )
    ),
}
BEYOND: Final = marked(
    "Nothing is given beyond the heights that were read: light is never carried over distance."
)
EVENNESS: Final = marked("Minimum / mean of a map is interpolated in the same way.")
PAIRED: Final = marked(
    "Heights beside the others and what two treatments may still differ by rest on"
    " differences point by point, for all maps have the same points (X, Y): a pattern"
    " that all lamps share cancels."
)
NOT_PAIRED: Final = marked(
    "Maps of the same points (X, Y) under all treatments would be compared point by"
    " point, which narrows the heights beside the others."
)
HUNG: Final = marked(
    "When the lamps hang, map the light once more at that height, and type the height"
    " into Light height on the sheet Treatments: the report counts that map."
)
HOURS_HEADING: Final = marked(
    "Or hours of light a day, at the height in use where Light height has it, else at"
    " each that was read:"
)
HOURS_CHANGE_MORE: Final = marked(
    "Other hours of light can change more than its sum: flowering, for instance."
)


def text(survey: LightSurvey, match: LightMatch, confidence: float) -> str:
    """Return the plan as lines of plain text."""
    names = _names(survey)
    level = percent(f"{100 * confidence:.3g}")
    lines = [_target(match), ""]
    lines += _heights(match, names, level)
    lines += _hours(match, names, level)
    lines += _lacking(match, names)
    lines += _findings(match, names)
    lines += [say("What was read:"), "", *_readings(match, names, level), ""]
    lines += [*_method(match, level), ""]
    if any(light.matched for light in match.treatments):
        lines += [say(HUNG), ""]
    lines += [say(MAINS.caution), say(BRIGHT_LIGHT.caution), ""]
    return "\n".join(lines)


def _names(survey: LightSurvey) -> dict[str, str]:
    """Return the name of each treatment by its code, with the code where two have one name."""
    given = [treatment.name for treatment in survey.treatments]
    names: dict[str, str] = {}
    for treatment in survey.treatments:
        is_single = given.count(treatment.name) == 1
        names[treatment.code] = (
            treatment.name if is_single else f"{treatment.name} ({treatment.code})"
        )
    return names


def _target(match: LightMatch) -> str:
    called, unit = say(CALLED[match.quantity]), UNITS[match.quantity]
    if match.level is None:
        return say(
            "No {called} was typed, and fewer than two treatments have one that is known, so"
            " there is no target.",
            called=called,
        )
    level = numbers.amount(match.level, unit)
    if match.is_given:
        return say("Target: {called} of {level}, as typed.", called=called, level=level)
    if match.reached is None:
        return say(
            "The treatments have no {called} in common within what was read. The readings"
            " that are missing are named for the middle of the gap, {level}.",
            called=called,
            level=level,
        )
    reach = numbers.reach(match.reached.low or 0.0, match.reached.high or 0.0, unit)
    return say(
        "No target was typed. Within what was read all treatments reach a {called} of"
        " {reach}; target: the middle of that on the logarithmic scale, {level}.",
        called=called,
        reach=reach,
        level=level,
    )


def _heights(match: LightMatch, names: Mapping[str, str], level: str) -> list[str]:
    """Return the heights at which treatments agree, a row each."""
    if not any(light.matched for light in match.treatments):
        return []
    head = [
        say("treatment"),
        "PPFD",
        say("height (cm)"),
        *_intervals_named(match, level),
        say("minimum / mean there"),
    ]
    rows = [head]
    for light in match.treatments:
        if light.matched:
            wanted, height = numbers.amount(light.wanted or 0.0), _height(light.matched)
            ends = _both_ends(
                match, light.matched.between, light.matched.absolute, light.matched.is_paired
            )
            rows.append([names[light.code], wanted, height, *ends, _share(light.matched.evenness)])
    quantity = say(CALLED[match.quantity])
    if match.quantity == "dli":
        at_hours = say(" at the Photoperiod of each treatment")
    else:
        at_hours = ""
    return [
        say("Heights for that {quantity}{at_hours}:", quantity=quantity, at_hours=at_hours),
        "",
        *_table(rows),
        "",
        *_agreement(match, level),
    ]


def _agreement(match: LightMatch, level: str) -> list[str]:
    """Return how far apart the light of two treatments may still be at the heights given."""
    if match.may_differ is None:
        return []
    apart, matched = numbers.part(match.may_differ), numbers.part(PPFD.sound)
    said = say(
        "At these heights two treatments may still differ by {apart} in mean light"
        " ({level}); the report calls light matched up to {matched}.",
        apart=apart,
        level=level,
        matched=matched,
    )
    if match.may_differ > PPFD.sound:
        said += say(" Read more points at each height, or heights closer together.")
    return [said, ""]


def _height(matched: MatchedHeight) -> str:
    decimals = numbers.decimals_of(matched.height, matched.between.low, matched.between.high)
    return numbers.fixed(matched.height, min(decimals, 1))


def _intervals_named(match: LightMatch, level: str) -> list[str]:
    """Return the heads of the columns of intervals: one where both are the same."""
    heads = [say("{level} beside the others", level=level)]
    if match.accuracy_known and not match.own_meters:
        heads.append(say("against the target"))
    return heads


def _both_ends(
    match: LightMatch, between: Interval, absolute: Interval, is_paired: bool = False
) -> list[str]:
    cells = [_ends(between, is_paired)]
    if match.accuracy_known and not match.own_meters:
        cells.append(_ends(absolute))
    return cells


def _ends(interval: Interval, is_paired: bool = False) -> str:
    """Return an interval in words; an end that lies beyond what was read is said to be open.

    One without width is not known, but for pairs that all differ alike.
    """
    if interval.low is None and interval.high is None:
        return say("open at both ends")
    if interval.low is not None and interval.low == interval.high and not is_paired:
        return numbers.not_known()
    if interval.low is None:
        low = None
    else:
        low = numbers.fixed(interval.low, 1)
    if interval.high is None:
        high = None
    else:
        high = numbers.fixed(interval.high, 1)
    if low is None:
        return say("open to {high}", high=high)
    if high is None:
        return say("{low} to open", low=low)
    return say("{low} to {high}", low=low, high=high)


def _share(evenness: float | None) -> str:
    if evenness is None:
        return numbers.not_known()
    return f"{evenness:.2f}"


def _hours(match: LightMatch, names: Mapping[str, str], level: str) -> list[str]:
    """Return the hours a day that give the wanted light of a day, a row for each height."""
    rows = [
        [say("treatment"), say("height (cm)"), say("hours a day"), *_intervals_named(match, level)]
    ]
    impossible: list[str] = []
    for light in match.treatments:
        too_long = [hours for hours in light.hours if hours.hours > HOURS_OF_A_DAY]
        rows += [
            _hours_row(match, names[light.code], hours)
            for hours in light.hours
            if hours not in too_long
        ]
        if too_long:
            impossible.append(_too_long(names[light.code], too_long))
    lines: list[str] = []
    if len(rows) > 1:
        lines += [say(HOURS_HEADING), "", *_table(rows), "", say(HOURS_CHANGE_MORE), ""]
    if impossible:
        return [*lines, *impossible, ""]
    return lines


def _hours_row(match: LightMatch, name: str, hours: MatchedHours) -> list[str]:
    ends = [_within_a_day(hours.between)]
    if len(_intervals_named(match, "")) > 1:
        ends.append(_within_a_day(hours.absolute))
    return [name, _cm(hours.height), numbers.fixed(hours.hours, 1), *ends]


def _within_a_day(interval: Interval) -> str:
    """Return an interval of hours in words; no day is longer than 24."""
    if interval.low is not None and interval.high is not None and interval.high > HOURS_OF_A_DAY:
        return say(
            "{low} to more than {high}",
            low=numbers.fixed(interval.low, 1),
            high=HOURS_OF_A_DAY,
        )
    return _ends(interval)


def _too_long(name: str, hours: Sequence[MatchedHours]) -> str:
    """Return at which heights no day is long enough."""
    known = [numbers.typed(each.height) for each in hours if each.height is not None]
    if not known:
        return say("Under {name} no day is long enough for that light of a day.", name=name)
    return say(
        "Under {name} no day is long enough for that light of a day at {heights} cm.",
        name=name,
        heights=listed(known),
    )


def _cm(height: float | None) -> str:
    if height is None:
        return say("not recorded")
    return numbers.typed(height)


def _lacking(match: LightMatch, names: Mapping[str, str]) -> list[str]:
    """Return what is missing for a height, a line for each treatment that has none, or an interval
    that is open.
    """
    lines = []
    for light in match.treatments:
        name = names[light.code]
        if light.why_none:
            lines.append(_why_none(light, name))
        elif light.matched:
            lines += _open_ends(light, light.matched.between, name)
    if lines:
        return [*lines, ""]
    return []


def _open_ends(light: TreatmentLight, interval: Interval, name: str) -> list[str]:
    """Return where to read more, for an interval that does not end within the heights that were
    read.
    """
    if interval.low is None and interval.high is None:
        return [
            say(
                "Under {name} any height from {heights} may have the wanted light: read"
                " beyond them.",
                name=name,
                heights=_read_from_to(light),
            )
        ]
    if interval.low is None:
        return [
            say(
                "The interval of {name} reaches below the heights that were read, {heights}:"
                " read there.",
                name=name,
                heights=_read_from_to(light),
            )
        ]
    if interval.high is None:
        return [
            say(
                "The interval of {name} reaches above the heights that were read, {heights}:"
                " read there.",
                name=name,
                heights=_read_from_to(light),
            )
        ]
    return []


def _why_none(light: TreatmentLight, name: str) -> str:
    """Return why a treatment has no height, and the readings that are missing."""
    if light.why_none in WITHOUT_CURVE:
        return say(WITHOUT_CURVE[light.why_none], name=name)
    wanted = numbers.amount(light.wanted or 0.0, PPFD_UNIT)
    if light.why_none == "several_heights":
        return say(
            "Mean light under {name} is {wanted} at more than one height, so none is given."
            " Missing: new readings from {heights}.",
            name=name,
            wanted=wanted,
            heights=_read_from_to(light),
        )
    means = [level.light_map.mean for level in light.levels]
    if light.why_none == "one_height":
        return _one_height(light, light.levels[0], name)
    advised = light.advised or Interval(None, None)
    return say(
        "{wanted} lies beyond what was read under {name}: {reach} from {heights}."
        " Missing: readings at {advised} cm, a guess by the fall of light so far.",
        wanted=wanted,
        name=name,
        reach=numbers.reach(min(means), max(means), PPFD_UNIT),
        heights=_read_from_to(light),
        advised=_whole(advised),
    )


def _one_height(light: TreatmentLight, level: MeasuredLevel, name: str) -> str:
    wanted, mean = light.wanted or 0.0, level.light_map.mean
    said = say(
        "Light under {name} was read at one height only, {heights}, with a mean of"
        " {mean}; wanted: {wanted}",
        name=name,
        heights=_read_from_to(light),
        mean=numbers.amount(mean, PPFD_UNIT),
        wanted=numbers.amount(wanted, PPFD_UNIT),
    )
    if level.low is not None and level.high is not None and level.low <= wanted <= level.high:
        return say(
            "{said}, which the spread of its points cannot tell from that mean. Keep it"
            " there, or read more heights.",
            said=said,
        )
    if wanted < mean:
        where = say("where there is less light")
    else:
        where = say("where there is more light")
    return say("{said}. Missing: readings at a second height, {where}.", said=said, where=where)


def _read_from_to(light: TreatmentLight) -> str:
    heights = [level.light_map.height or 0.0 for level in light.levels]
    low, high = numbers.typed(min(heights)), numbers.typed(max(heights))
    if low == high:
        return say("{low} cm", low=low)
    return say("{low} to {high} cm", low=low, high=high)


def _whole(interval: Interval) -> str:
    """Return an interval of heights in whole centimetres."""
    return say(
        "{low} to {high}",
        low=f"{interval.low or 0.0:.0f}",
        high=f"{interval.high or 0.0:.0f}",
    )


def _findings(match: LightMatch, names: Mapping[str, str]) -> list[str]:
    lines = [
        say(FINDINGS[finding], name=names[light.code])
        for light in match.treatments
        for finding in light.findings
    ]
    if len(match.same_places) > 1:
        groups = [listed([names[code] for code in group]) for group in match.same_places]
        lines.append(
            say(
                "Means compare evenly only over the same points (X, Y). Treatments whose maps"
                " have the same points: {groups}.",
                groups="; ".join(groups),
            )
        )
    if match.directions_differ:
        lines.append(
            say(
                "Light rises with height under one treatment and falls under another: is Height"
                " that of the lamp in one and that of the sensor in the other?"
            )
        )
    if lines:
        return [*lines, ""]
    return []


def _readings(match: LightMatch, names: Mapping[str, str], level: str) -> list[str]:
    rows = [
        [
            say("treatment"),
            say("height (cm)"),
            say("date"),
            say("points"),
            say("mean PPFD"),
            level,
            say("minimum / mean"),
        ]
    ]
    for light in match.treatments:
        rows += [_reading(names[light.code], measured) for measured in light.levels]
    return _table(rows)


def _reading(name: str, measured: MeasuredLevel) -> list[str]:
    light_map = measured.light_map
    if light_map.on:
        date = light_map.on.isoformat()
    else:
        date = say("not recorded")
    interval = numbers.not_known()
    if measured.low is not None and measured.high is not None:
        interval = numbers.reach(measured.low, measured.high)
    has_evenness = len(light_map.points) > 1 and light_map.mean > 0
    if has_evenness:
        evenness = _share(light_map.minimum / light_map.mean)
    else:
        evenness = numbers.not_known()
    return [
        name,
        _cm(light_map.height),
        date,
        str(len(light_map.points)),
        numbers.amount(light_map.mean),
        interval,
        evenness,
    ]


def _method(match: LightMatch, level: str) -> Iterator[str]:
    axes = {light.axis for light in match.treatments if light.axis and len(light.levels) > 1}
    for axis in AXES:
        if axis in axes:
            yield say("Between neighbouring heights: {axes}.", axes=say(AXES[axis]))
    yield f"{say(BEYOND)} {say(EVENNESS)}"
    yield (
        say(
            "Intervals ({level}) hold the spread between points and how far light may bend"
            " between heights.",
            level=level,
        )
    )
    if any(light.matched and light.matched.is_paired for light in match.treatments):
        yield say(PAIRED)
    elif sum(light.matched is not None for light in match.treatments) > 1:
        yield say(NOT_PAIRED)
    yield _meter(match)


def _meter(match: LightMatch) -> str:
    if not match.accuracy_known:
        return say(
            "They leave out the accuracy of the sensor, which the sheet Instruments does not"
            " give: beside the other treatments it cancels where one sensor read them all,"
            " against a target it does not."
        )
    if match.own_meters:
        return say(
            "They hold the accuracy of the sensors too, for each treatment had one of its own."
        )
    return say(
        "Beside the others the accuracy of the sensor cancels, for one sensor read them"
        " all; against the target it counts."
    )


def _table(rows: Sequence[Sequence[str]]) -> list[str]:
    """Return rows as lines, the first column to the left and the others to the right."""
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    lines = []
    for row in rows:
        cells = [row[0].ljust(widths[0])]
        cells += [cell.rjust(width) for cell, width in zip(row[1:], widths[1:], strict=True)]
        lines.append("  ".join(cells).rstrip())
    return lines


def figure(survey: LightSurvey, match: LightMatch) -> Figure | None:
    """Return mean light, or the light of a day, against height; None where no treatment has
    readings with heights.
    """
    from reportgen.charts.light_heights import LightLine, light_over_height

    names = _names(survey)
    treatments = {treatment.code: treatment for treatment in survey.treatments}
    lines: list[LightLine] = []
    for light in sorted(match.treatments, key=lambda light: light.code != survey.reference):
        factor = _factor(match.quantity, treatments[light.code])
        if light.course and factor:
            lines.append(_line(names[light.code], light, factor))
    if not lines:
        return None
    unit = UNITS[match.quantity]
    called = CALLED[match.quantity]
    if match.level is None:
        target = ""
    else:
        target = say("Target: {level}", level=numbers.amount(match.level, unit))
    title = f"{called[:1].upper()}{called[1:]} ({unit})"
    caption = say(
        "Light over height: points measured, lines interpolated, bands intervals beside"
        " the other treatments."
    )
    found = drawn(
        "light",
        lambda width: light_over_height(lines, title, match.level, target, width),
        caption,
        _target(match),
    )
    if found:
        return found[0]
    return None


def _factor(quantity: Quantity, treatment: Treatment) -> float:
    if quantity == "ppfd":
        return 1.0
    return moles_a_day(1.0, treatment.photoperiod or 0.0)


def _line(name: str, light: TreatmentLight, factor: float) -> "LightLine":
    from reportgen.charts.light_heights import LightAt, LightLine

    course = [
        LightAt(point.height, point.ppfd * factor, point.low * factor, point.high * factor)
        for point in light.course
    ]
    measured = [
        _measured(level, factor) for level in light.levels if level.light_map.height is not None
    ]
    matched = None
    if light.matched and light.wanted:
        matched = LightAt(light.matched.height, light.wanted * factor)
    return LightLine(name, tuple(course), tuple(measured), matched)


def _measured(level: MeasuredLevel, factor: float) -> "LightAt":
    from reportgen.charts.light_heights import LightAt

    height, mean = level.light_map.height or 0.0, level.light_map.mean * factor
    if level.low is None or level.high is None:
        return LightAt(height, mean)
    return LightAt(height, mean, level.low * factor, level.high * factor)
