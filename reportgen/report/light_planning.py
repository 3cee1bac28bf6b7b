"""What matching the light before the start says, in plain text, and its figure."""

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from reportgen.language import listed, percent, say
from reportgen.metrics.light_matching import (
    LightMatch,
    MeasuredLevel,
)
from reportgen.metrics.validity.surroundings import PPFD
from reportgen.model.trial import LightSurvey
from reportgen.report import numbers
from reportgen.report.light_plan_columns import (
    evenness_text,
    height_cell,
    height_text,
    interval_cells,
    interval_heads,
    table_lines,
)
from reportgen.report.light_plan_figure import names_by_code, target_text
from reportgen.report.light_plan_gaps import missing_lines
from reportgen.report.light_plan_hours import hours_lines
from reportgen.report.light_plan_texts import (
    AXES,
    BEYOND,
    CALLED,
    EVENNESS,
    FINDINGS,
    HUNG,
    NOT_PAIRED,
    PAIRED,
)
from reportgen.report.safety import BRIGHT_LIGHT, MAINS

if TYPE_CHECKING:
    pass


def text(survey: LightSurvey, match: LightMatch, confidence: float) -> str:
    """Return the plan as lines of plain text."""
    names = names_by_code(survey)
    level = percent(f"{100 * confidence:.3g}")
    lines = [target_text(match), ""]
    lines += _heights(match, names, level)
    lines += hours_lines(match, names, level)
    lines += missing_lines(match, names)
    lines += _findings(match, names)
    lines += [say("What was read:"), "", *_readings(match, names, level), ""]
    lines += [*_method(match, level), ""]
    if any(light.matched for light in match.treatments):
        lines += [say(HUNG), ""]
    lines += [say(MAINS.caution), say(BRIGHT_LIGHT.caution), ""]
    return "\n".join(lines)


def _heights(match: LightMatch, names: Mapping[str, str], level: str) -> list[str]:
    """Return the heights at which treatments agree, a row each."""
    if not any(light.matched for light in match.treatments):
        return []
    head = [
        say("treatment"),
        "PPFD",
        say("height (cm)"),
        *interval_heads(match, level),
        say("minimum / mean there"),
    ]
    rows = [head]
    for light in match.treatments:
        if light.matched:
            wanted, height = numbers.amount(light.wanted or 0.0), height_text(light.matched)
            ends = interval_cells(
                match, light.matched.between, light.matched.absolute, light.matched.is_paired
            )
            rows.append(
                [names[light.code], wanted, height, *ends, evenness_text(light.matched.evenness)]
            )
    quantity = say(CALLED[match.quantity])
    if match.quantity == "dli":
        at_hours = say(" at the Photoperiod of each treatment")
    else:
        at_hours = ""
    return [
        say("Heights for that {quantity}{at_hours}:", quantity=quantity, at_hours=at_hours),
        "",
        *table_lines(rows),
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
    return table_lines(rows)


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
        evenness = evenness_text(light_map.minimum / light_map.mean)
    else:
        evenness = numbers.not_known()
    return [
        name,
        height_cell(light_map.height),
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
