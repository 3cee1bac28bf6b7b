"""The texts of findings and notes about a trial, by their codes."""

from collections.abc import Mapping
from typing import Final

from reportgen.language import marked
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
    "more_ran_low": marked("{trays} ran low or may have been empty too."),
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
