"""What the calculation found, in words: one text for each code, in the current language.

Nothing reads these texts back. A text names the values of its message as placeholders; `unit`,
`units`, `Unit` and `Units` are the trial's own word for its experimental unit.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import singledispatch
from typing import Final

from reportgen import language
from reportgen.language import marked, say
from reportgen.model.message import (
    Amount,
    Count,
    Day,
    Message,
    OfTreatment,
    Quote,
    Several,
    Share,
    Span,
    Term,
    TreatmentName,
    Value,
)
from reportgen.model.trial import Trial
from reportgen.report import numbers, terms, units
from reportgen.report.note_texts import METHODS, NOTES

TEXTS: Final[Mapping[str, str]] = {
    **NOTES,
    **METHODS,
    # ---- how fair the test was: replication, places and days ----
    "each_treatment_given_to": marked("Each treatment was given to {trays}."),
    "treatments_given_to": marked("Treatments were given to {each}."),
    "one_unit_shows_no_chance": marked(
        "One {unit} cannot show the chance variation between {units}."
    ),
    "more_units_tell_better": marked(
        "With {number} or more, chance variation could be estimated better."
    ),
    "plants_share_pots": marked(
        "The workbook compares single plants, but {number} of {pots} held several plants, up to"
        " {most}; plants that share a pot do not count as independent."
    ),
    "units_not_recorded": marked(
        "How many lamps, tanks or tents {treatments} had is not recorded."
    ),
    "one_unit_for_all": marked(
        "All {units} of a treatment shared one lamp, mat, tank or tent ({treatments}), so the two"
        " cannot be told apart."
    ),
    "main_plots_shared": marked(
        "Each main plot held every one of {treatments}, so differences between main plots do not"
        " explain how these differ."
    ),
    "units_of_treatments": marked("Independent lamps, tanks or tents: {each}."),
    "units_shared_by_trays": marked(
        "{Units} of {treatments} shared them, so the {units} are less independent than the"
        " intervals assume."
    ),
    "places_not_drawn": marked(
        "Places were not drawn at random, so a better place may have gone to one treatment."
    ),
    "places_not_drawn_by_layout": marked(
        "Places were not drawn at random (layout: {layout}), so a better place may have gone to one"
        " treatment."
    ),
    "places_by_hand": marked(
        "Places were given by hand (layout: {layout}); a choice can favour one treatment without"
        " being meant to."
    ),
    "draw_not_recorded": marked("Whether places were drawn at random is not recorded."),
    "draw_not_recorded_beside_layout": marked(
        "Whether places were drawn at random is not recorded, beside the layout (layout: {layout})."
    ),
    "places_drawn_somehow": marked("Places were drawn at random, but how is not recorded."),
    "places_drawn": marked("Places were drawn at random (layout: {layout})."),
    "no_places_recorded": marked(
        "Neither a block nor a position is recorded for all {number} {units}."
    ),
    "own_days_of_first_fill": marked(
        "{treatments} shared no day of first filling with another treatment ({days} in all), so "
        "treatment and day cannot be told apart."
    ),
    "own_days_of_harvest": marked(
        "{treatments} shared no harvest day with another treatment ({days} in all), so treatment "
        "and day cannot be told apart."
    ),
    "one_place_only": marked(
        "{treatments} stood in 1 place only, so treatment and place cannot be told apart."
    ),
    "own_blocks": marked(
        "{treatments} shared no block with another treatment ({blocks} in all), so treatment and"
        " block cannot be told apart."
    ),
    "blocks_with_every_treatment": marked("{number} of {blocks} held every treatment."),
    "own_positions": marked(
        "{treatments} shared no position with another treatment ({positions} in all), so treatment"
        " and place cannot be told apart."
    ),
    "own_positions_by_draw": marked(
        "{treatments} shared no position with another treatment ({positions} in all), though places"
        " were drawn at random, so treatment and place cannot be told apart."
    ),
    "own_group": marked(
        "{treatments} each stood as one group of {units} ({positions} in all), so treatment and"
        " place cannot be told apart."
    ),
    "own_group_by_draw": marked(
        "{treatments} each stood as one group of {units} ({positions} in all), though places were "
        "drawn at random, so treatment and place cannot be told apart."
    ),
    "among_one_another_from_to": marked(
        "{Units} of different treatments were mixed (positions {first} to {last})."
    ),
    "among_one_another": marked(
        "{Units} of different treatments were mixed (positions {positions})."
    ),
    # ---- light, air, solution ----
    "quantity_never_recorded": marked("{quantity} is not recorded for any treatment."),
    "quantity_not_recorded": marked("{quantity} is not recorded for {treatments}."),
    "quantity_apart": marked("{quantity} was {each}, {apart} apart."),
    "varied_on_purpose": marked("A difference in {compared} is part of what the trial compared."),
    "say_what_was_varied": marked(
        "If the trial compared {compared}, name it in What was varied on the sheet Trial; otherwise"
        " this may explain the difference."
    ),
    "photoperiods_differ": marked("Photoperiods differ, and with them mean light (PPFD): {each}."),
    "height_in_use_not_recorded": marked(
        "Light was read at several heights for {treatments}, and Light height on the sheet"
        " Treatments does not say which of them was in use."
    ),
    "height_in_use_not_measured": marked(
        "The height in use lies beyond the heights at which light was read for {treatments}."
    ),
    "no_map_of_light": marked("No map of {number} points or more is recorded for {treatments}."),
    "darkest_point": marked("The darkest point had this share of the mean light: {each}."),
    "share_over_points": marked("{share} ({points})"),
    "air_logged_together": marked(
        "Air temperature was logged for all treatments together (mean {mean}), so a difference"
        " between them is not known."
    ),
    # ---- the course of the trial ----
    "one_start": marked("The trial has one start for all, {day}."),
    "filled_from_to": marked(
        "{Units} were first filled from {first} to {last}; treatments lie {apart} apart on average."
    ),
    "filled_within_a_day": marked(
        "{Units} were first filled from {first} to {last}; treatments lie {apart} apart on average."
    ),
    "start_weights_alike": marked(
        "When treatments began, plants weighed on average {each} ({apart} apart)."
    ),
    "start_weights_apart": marked(
        "When treatments began, plants weighed on average {each} ({apart} apart), further than"
        " chance variation between {units} explains."
    ),
    "start_weights_by_chance": marked(
        "When treatments began, plants weighed on average {each} ({apart} apart), which chance"
        " variation between {units} may explain."
    ),
    "sowing_not_recorded": marked("The day of sowing is not recorded."),
    "all_sown": marked("All were sown on {day}."),
    "harvested_after_sowing": marked("All {units} were harvested on {day}, {days} after sowing."),
    "harvested_after_start": marked("All {units} were harvested on {day}, {days} after the start."),
    "last_picked_after_sowing": marked(
        "All {units} were picked last on {day}, {days} after sowing."
    ),
    "last_picked_after_start": marked(
        "All {units} were picked last on {day}, {days} after the start."
    ),
    "harvested_from_to": marked(
        "{Units} were harvested from {first} to {last}; treatments lie {apart} apart on average."
    ),
    "harvested_at_one_size": marked(
        "If each was harvested at one size, this difference is part of the result."
    ),
    "none_lost": marked("None of {plants} was lost ({share})."),
    "harvest_not_recorded": marked("No plant is recorded at the harvest, so losses are unknown."),
    "started_not_known": marked(
        "How many plants were started is not known, so losses are unknown."
    ),
    "plants_lost": marked("Plants lost: {each}, {points} percentage points apart."),
    "losses_differ": marked(
        "The survivors of a treatment with heavy losses are not a fair sample of it."
    ),
    "share_of_plants": marked("{share} ({number} of {total})"),
    "solution_known_for": marked(
        "What was filled in and what was left is known for {number} of {trays}."
    ),
    "least_solution_left": marked(
        "At the end every {unit} held {volume} or more, the least in {tray}."
    ),
    "emptied": marked("{Unit} {tray} was emptied on {day} (0 L left of what was put in)."),
    "took_its_first_fill": marked(
        "{Unit} {tray} took {volume} on {day}, as much as its first fill of {first_fill} or more,"
        " so it may have been empty."
    ),
    "more_ran_low": marked("{trays} ran low or empty too."),
    "ran_out": marked("{Unit} {tray} ran out or was emptied (0 L left at the end)."),
    "nearly_empty": marked(
        "{Unit} {tray} was nearly empty at the end ({volume} left of {first_fill})."
    ),
    "metered_days_alike": marked(
        "Meters ran for this share of the trial: {share} for each treatment."
    ),
    "metered_days": marked("Meters ran for this share of the trial: {each}."),
    "electricity_calculated": marked(
        "Electricity of {treatments} is calculated from power in W and hours, not counted"
        " ({share})."
    ),
    "electricity_not_metered": marked(
        "No meter counted the electricity of {treatments} ({share})."
    ),
    "shared_meter_counted_all": marked(
        "{meters} shared by all treatments ({names}) counted all of the electricity, which was"
        " given out by {units} and cannot be compared."
    ),
    "shared_meter_counted_a_part": marked(
        "{meters} shared by all treatments ({names}) counted a part of the electricity, which was"
        " given out by {units} and cannot be compared."
    ),
    "no_meter_but_devices": marked(
        "No meter was read: electricity is calculated from {devices}, power in W by hours of use."
    ),
    # ---- what the figures rest on ----
    "too_few_weighed": marked("{treatments} had fewer than 3 plants measured, too few to tell."),
    "no_plant_far": marked(
        "None of {plants} lies far from the rest of its treatment in {measure}."
    ),
    "one_plant_far": marked(
        "{number} of {plants} lies more than {limit} usual spreads from the middle of the"
        " treatment: {far}."
    ),
    "plants_far": marked(
        "{number} of {plants} lie more than {limit} usual spreads from the middle of the treatment:"
        " {far}."
    ),
    "plant_above": marked(
        "plant {plant} of {unit} {tray} ({treatment}, {weight}, {spreads} spreads above)"
    ),
    "plant_below": marked(
        "plant {plant} of {unit} {tray} ({treatment}, {weight}, {spreads} spreads below)"
    ),
    "more": marked("{number} more"),
    "flagged_and_kept": marked("Flagged, and kept in every figure."),
    "no_instrument": marked("No instrument is recorded for {kinds} of measurement."),
    "accuracy_known": marked(
        "Accuracy or calibration is recorded for {number} of {kinds} of measurement."
    ),
    "accuracy_known_but_for": marked(
        "Accuracy or calibration is recorded for {number} of {kinds} of measurement, not for"
        " {missing}."
    ),
    "own_instrument": marked(
        "Each treatment had its own {name} ({kind}, accuracy ±{accuracy}): errors do not cancel."
    ),
    "own_instrument_of_unknown_accuracy": marked(
        "Each treatment had its own {name} ({kind}, accuracy not recorded): errors do not cancel."
    ),
    "disclosure_not_stated": marked("Who supplied or paid for what is not stated."),
    "something_given": marked(
        'Something was given, lent or paid for, in the grower\'s words: "{words}".'
    ),
    "nothing_given": marked('Nothing was given, in the grower\'s words: "{words}"'),
    "gift_not_told": marked(
        'Whether something was given does not follow from the grower\'s words: "{words}"'
    ),
    "outside_published_ranges": marked(
        "Outside the range usual for leafy crops harvested whole, energy and light under lamps"
        " alone (common practice, gathered from published trials without one source): {beyond}."
    ),
    "beyond_published_range": marked("{measure} of {treatments} ({values}; usual {usual})"),
    "check_units": marked("Check units and decimal points."),
    "in_published_ranges": marked(
        "All lie in the ranges usual for leafy crops harvested whole, energy and light under lamps"
        " alone (common practice, gathered from published trials without one source): {usual}."
    ),
    "published_range": marked("{measure} ({usual})"),
    "no_range_for_picked_crop": marked(
        "Not judged: the usual ranges are those of leafy crops harvested whole, and this crop was"
        " picked on several days."
    ),
    "no_range_for_support_light": marked(
        "Not judged: the usual ranges are those of crops under lamps alone, and these lamps"
        " supported daylight for a few hours a day."
    ),
    # ---- what was recorded ----
    "span_of_readings": marked("{span} in {readings}"),
    "map_of_light": marked("{span}, mean {mean}, coefficient of variation {variation} ({points})"),
    "dark_map": marked("{span}, mean {mean} ({points})"),
    "device_of_power": marked("{device} {power}"),
    "rated_power": marked("{power} rated"),
    "quoted": marked('"{words}"'),
    "volumes_put_in": marked("{volume} put in, {volumes} recorded"),
    "plants_a_container": marked("{plants} a {unit}"),
    "plants_a_container_from_to": marked("{fewest} to {plants} a {unit}"),
    "from_day_to_day": marked("{first} to {last}"),
    "seen_on_day": marked('{day}: "{words}"'),
    "instrument": marked("{name} ({kind})"),
    "instrument_of_model": marked("{name} ({kind}) {model}"),
    "instrument_calibrated": marked("{name} ({kind}) {day}"),
    "instrument_accuracy": marked("{name} ({kind}) ±{accuracy}"),
    "no_blocks_by_layout": marked("none, by the layout"),
    "drawn": marked("drawn at random"),
    "not_drawn": marked("not drawn at random"),
    "drawn_by_layout": marked("drawn at random, {layout}"),
    "not_drawn_by_layout": marked("not drawn at random, {layout}"),
    "no_plant_left_out": marked("none of {plants}"),
    "plants_left_out": marked("{number} of {plants}: {lost}"),
    "plant_died": marked("{plant} dead"),
    "plant_died_why": marked("{plant} dead ({note})"),
    "plant_removed": marked("{plant} removed"),
    "plant_removed_why": marked("{plant} removed ({note})"),
    "tray_named": marked("{unit} {tray}"),
    "plant_of_tray": marked("plant {plant} of {unit} {tray}"),
    "number_of_plants_started": marked("how many plants were started"),
    "number_started": marked("how many were started"),
    # ---- several trials together, and why one of them has no part ----
    "too_few_to_pool": marked("pooling takes at least two trials"),
    "two_trials_only": marked(
        "two trials only, so the variation between trials is hardly known: take the pooled figure"
        " with caution"
    ),
    "interval_beyond_numbers": marked("the interval is too wide to compute"),
    "prediction_beyond_numbers": marked("the range for another trial is too wide to compute"),
    "nothing_recorded_to_pool": marked("it was not recorded"),
    "other_crop": marked("its crop differs from that of the others"),
    "other_treatments": marked("its treatments have other names than those of the others"),
    "trial_not_finished": marked("it is not finished"),
    "two_treatments_of_one_name": marked(
        "two of its treatments share a name, so they cannot be matched with those of the others"
    ),
    "no_log_ratio_of_zero": marked("a figure of 0 has no log ratio"),
    "no_spread_to_weigh_by": marked(
        "no variation between its {units}, so its weight cannot be computed"
    ),
}
# What is said in place of `TEXTS` where every treatment would be named, by the code.
OF_NO_TREATMENT: Final[Mapping[str, str]] = {
    "no_map_of_light": marked("No map of {number} points or more is recorded for any treatment."),
    "units_not_recorded": marked("How many lamps, tanks or tents a treatment had is not recorded."),
}
FOR_THE_AUTHOR: Final = frozenset(
    ("say_what_was_varied", "check_units")
)  # what only who typed the workbook can mend
OWN_OF_SEVERAL: Final = marked(
    "Each treatment had its own {instruments}, so an instrument's error can look like an effect."
)
OWN_INSTRUMENTS: Final[Mapping[str, str]] = {  # as a part of that sentence
    "own_instrument": marked("{name} ({kind}, ±{accuracy})"),
    "own_instrument_of_unknown_accuracy": marked("{name} ({kind}, accuracy not recorded)"),
}
IN_CLAUSES: Final = frozenset(("beyond", "lost"))  # lists whose members have commas of their own


@dataclass(frozen=True)
class Speaker:
    """What a text needs of a trial: the names of its treatments by code, its word for an
    experimental unit.
    """

    names: Mapping[str, str]
    unit: str

    def text(self, message: Message) -> str:
        """Return a message in the current language; raise KeyError for a code without a text."""
        if message.code in OF_NO_TREATMENT and self._names_all(message):
            return self.clause(OF_NO_TREATMENT[message.code], message)
        return self.clause(TEXTS[message.code], message)

    def _names_all(self, message: Message) -> bool:
        """Return whether a message names every treatment of the trial."""
        named = dict(message.values).get("treatments")
        if not isinstance(named, Several):
            return False
        codes = {one.code for one in named.members if isinstance(one, TreatmentName)}
        return codes == set(self.names)

    def clause(self, text: str, message: Message) -> str:
        """Return another text with the values of a message, such as a part of a sentence."""
        values = {name: self._value(name, value) for name, value in message.values}
        return say(text, **self._unit_words(), **values)

    def value(self, value: Value) -> str:
        """Return a value in the current language."""
        return _said(value, self)

    def listed(self, values: Iterable[Value]) -> str:
        """Return values as a list such as `a, b and c`."""
        return language.listed([self.value(value) for value in values])

    def _value(self, name: str, value: Value) -> str:
        if name in IN_CLAUSES and isinstance(value, Several):
            return "; ".join(self.value(member) for member in value.members)
        return self.value(value)

    def _unit_words(self) -> dict[str, str]:
        unit, units = terms.unit_word(self.unit), terms.unit_word(self.unit, 2)
        return {"unit": unit, "units": units, "Unit": _capital(unit), "Units": _capital(units)}


def speaker(trial: Trial) -> Speaker:
    """Return what says the messages of a trial."""
    return Speaker({treatment.code: treatment.name for treatment in trial.treatments}, trial.unit)


def text(trial: Trial, message: Message) -> str:
    """Return a message about a trial in the current language; raise KeyError for a code without a
    text.
    """
    return speaker(trial).text(message)


def texts(trial: Trial, messages: Iterable[Message]) -> str:
    """Return messages about a trial, a sentence each, one after another."""
    return " ".join(text(trial, message) for message in messages)


def published(trial: Trial, messages: Iterable[Message]) -> str:
    """Return messages about a trial as its readers see them: without advice that only its author
    can follow.
    """
    shown = [one for one in messages if one.code not in FOR_THE_AUTHOR]
    own = [one for one in shown if one.code in OWN_INSTRUMENTS]
    if len(own) < 2:
        return texts(trial, shown)
    said_by = speaker(trial)
    several = language.listed([said_by.clause(OWN_INSTRUMENTS[one.code], one) for one in own])
    rest = texts(trial, (one for one in shown if one not in own))
    return f"{say(OWN_OF_SEVERAL, instruments=several)} {rest}".strip()


def clauses(trial: Trial, messages: Iterable[Message]) -> str:
    """Return messages about a trial as parts of one sentence."""
    return "; ".join(text(trial, message) for message in messages)


def of_several_trials(message: Message) -> str:
    """Return a message about several trials together."""
    return Speaker({}, "tray").text(message)


def known_values(trial: Trial, values: Iterable[Value]) -> str:
    """Return what is known of an item: of all treatments together, or of each by its name.

    What is the same for all treatments is said once.
    """
    said_by = speaker(trial)
    whole: list[str] = []
    own: dict[str, list[str]] = {}
    for value in values:
        if isinstance(value, OfTreatment):
            own.setdefault(value.treatment, []).append(said_by.value(value.value))
        else:
            whole.append(said_by.value(value))
    by_treatment = {code: "; ".join(parts) for code, parts in own.items()}
    alike = set(by_treatment.values())
    if len(alike) == 1 and len(by_treatment) == len(trial.treatments):
        return "; ".join((*whole, *alike))
    return "; ".join(
        (*whole, *(f"{said_by.names[code]}: {said}" for code, said in by_treatment.items()))
    )


@singledispatch
def _said(value: Value, by: Speaker) -> str:
    raise TypeError(f"no words for a {type(value).__name__}")


@_said.register
def _(value: Amount, by: Speaker) -> str:
    return units.with_other(
        *(numbers.amount(size, unit) for size, unit in units.amounts(value.value, value.unit))
    )


@_said.register
def _(value: Span, by: Speaker) -> str:
    lows, highs = (units.amounts(one, value.unit) for one in (value.low, value.high))
    return units.with_other(
        *(
            numbers.reach(low, high, unit)
            for (low, _), (high, unit) in zip(lows, highs, strict=True)
        )
    )


@_said.register
def _(value: Share, by: Speaker) -> str:
    return numbers.part(value.value)


@_said.register
def _(value: Count, by: Speaker) -> str:
    if value.noun == "unit":
        noun = by.unit
    else:
        noun = value.noun
    return terms.counted(noun, value.number)


@_said.register
def _(value: Day, by: Speaker) -> str:
    return numbers.day(date.fromisoformat(value.on))


@_said.register
def _(value: Term, by: Speaker) -> str:
    return terms.term(value.key)


@_said.register
def _(value: TreatmentName, by: Speaker) -> str:
    return by.names[value.code]


@_said.register
def _(value: Quote, by: Speaker) -> str:
    return value.text


@_said.register
def _(value: Several, by: Speaker) -> str:
    return by.listed(value.members)


@_said.register
def _(value: OfTreatment, by: Speaker) -> str:
    return say("{value} for {name}", value=by.value(value.value), name=by.names[value.treatment])


@_said.register
def _(value: Message, by: Speaker) -> str:
    return by.text(value)


def _capital(word: str) -> str:
    return word[:1].upper() + word[1:]
