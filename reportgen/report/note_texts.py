"""The texts of notes on figures, and of the methods by which they were made, by code."""

from collections.abc import Mapping
from typing import Final

from reportgen.language import marked

METHODS: Final[Mapping[str, str]] = {
    # ---- figures of a treatment ----
    "ratio_of_totals": marked("ratio of totals"),
    "mean_of_units": marked("mean of the {units}"),
    "t_interval_of_scores": marked("t interval of the {unit} scores"),
    "paired_fieller": marked("paired Fieller interval of the ratio of totals"),
    "marginal_mean": marked("estimated marginal mean"),
    "own_spread": marked("t interval of the {units}' logarithms"),
    "pooled_spread": marked("t interval of the {units}' logarithms, one variance for all treatments"),
    "clustered_plants": marked("Wilson interval of plants, widened for {units} that share a fate"),
    # ---- comparisons ----
    "log_ratio": marked("ratio on the log scale"),
    "fieller_ratio": marked("Fieller ratio"),
    "fieller_plug_in": marked("Fieller ratio (plug-in correlation) with {freedom} degrees of freedom"),
    "t_difference": marked("t difference with {freedom} degrees of freedom"),
    "welch_difference": marked("Welch difference with {freedom} degrees of freedom"),
    "ratio_and_difference_of_figures": marked("ratio and difference of the two figures"),
    "difference_of_figures": marked("difference of the two figures"),
    "pooled_variance": marked("one residual variance for all treatments"),
    "additive_model": marked("additive model treatment + block, one residual variance"),
    "separate_variances": marked("separate variances, Satterthwaite degrees of freedom"),
    "simultaneous": marked("simultaneous for {comparisons}"),
    "games_howell": marked("Games-Howell at {level}"),
    "tukey_kramer": marked("Tukey-Kramer at {level}"),
    "blocks_ignored": marked("blocks ignored"),
    # ---- instruments, light, climate ----
    "both_types": marked("type B uncertainty of the instruments added (JCGM 100 G.4, never narrower than without)"),
    "instruments_alone": marked("instrument: type B uncertainty only (JCGM 100)"),
    "the_reading": marked("the reading"),
    "time_weighted_mean": marked("time-weighted mean of {readings}"),
    "mean_of_map": marked("mean of the map"),
    "minimum_by_mean_of_map": marked("minimum / mean of the map"),
    "mean_over_dates": marked("mean over {dates}"),
    "times_photoperiod": marked("x photoperiod"),
    "times_days_and_area": marked("x days x canopy area"),
    "light_by_power": marked("PPFD x area / mean power while lit"),
}
NOTES: Final[Mapping[str, str]] = {
    # ---- what units allow ----
    "no_unit": marked("no {unit} with data"),
    "zero_denominator": marked("the denominators of the {units} add up to zero, so there is no ratio"),
    "one_unit": marked(
        "one {unit} only, so the spread between {units} is not known and neither interval nor test is possible"
    ),
    "measurements_are_no_replicates": marked("several measurements within one {unit} are no replicates"),
    "alike": marked("all {units} gave the same figure, so they say nothing of the spread"),
    "units_left_out": marked("{units_left_out} without data left out"),
    "no_figure": marked("one of the two has no figure, so there is nothing to compare"),
    "one_unit_compared": marked(
        "one of the two has one {unit} only, so its spread between {units} is not known and neither interval nor test "
        "is possible"
    ),
    "both_alike": marked("the {units} of each of the two all gave the same figure, so they say nothing of the spread"),
    "one_alike": marked("the {units} of one of the two all gave the same figure"),
    "alike_compared": marked(
        "the {units} of one of the two all gave the same figure, so its variance cannot be estimated and the "
        "comparison has no simultaneous interval"
    ),
    "spread_of_the_other": marked("the interval rests on the spread of the other"),
    "zero_reference": marked("the reference is zero, so there is no ratio"),
    "unbounded_above": marked("the ratio cannot be bounded above by these {units}"),
    "unbounded_below": marked("the ratio cannot be bounded below by these {units}"),
    "unbounded": marked("the ratio cannot be bounded by these {units}"),
    "no_spread_of_ratio": marked("these {units} say nothing of the spread of the ratio"),
    "not_connected": marked("treatments cannot be told from blocks, so a mean free of the blocks cannot be estimated"),
    "no_residual": marked("no degrees of freedom are left for the residual variance, so it cannot be estimated"),
    "no_residual_spread": marked("the {units} show no residual spread, so they say nothing of it"),
    "not_all_positive": marked(
        "a {unit} gave nothing or less than nothing, so the ratio is not on the log scale; its interval is Fieller's"
    ),
    "adjusted_for_blocks": marked("adjusted for blocks, because not every block held each treatment equally often"),
    "spreads_differ": marked(
        "the numbers of {units} and their spreads both differ twofold or more, where no interval is sure to keep its "
        "level"
    ),
    "letters_contradict": marked(
        "no letters: the test of all pairs and the intervals shown do not agree on every treatment"
    ),
    "simultaneous_omitted": marked("simultaneous intervals omitted: instrument error not included"),
    "cut_at_possible": marked("interval cut at what is possible"),
    "ratio_cut_at_zero": marked("interval of the ratio cut at 0"),
    "no_ratio": marked("its zero is a convention, so only the difference has a meaning"),
    # ---- survival ----
    "no_plants": marked("no plants were started"),
    "dispersion_unseen": marked("the {units} do not show how much they differ, so plants count as independent"),
    "one_cluster": marked("one {unit} a treatment, so plants count as independent, which makes the interval too short"),
    # ---- plants' own spread ----
    "plants_own_spread": marked(
        "plants' own spread: standard deviation {spread} over {plants}, from {lowest} to {highest}, which describes "
        "these plants, not the treatment"
    ),
    "plants_own_survival": marked(
        "plants' own spread: {low} to {high} ({level} Wilson interval on {plants}), which describes these plants, not "
        "the treatment"
    ),
    # ---- instruments ----
    "instrument_only": marked("the interval is that of the instruments and says nothing of the spread between {units}"),
    # ---- energy ----
    "energy_is_one_figure": marked(
        "energy is one metered figure for the treatment, so the interval tells of the trays' weights only"
    ),
    "energy_is_one_figure_by_instruments": marked(
        "energy is one metered figure for the treatment, so the interval tells of the trays' weights and of the "
        "instruments only"
    ),
    "energy_use_is_one_figure": marked(
        "one metered figure for the treatment, so this trial cannot tell how sure it is"
    ),
    "energy_use_is_one_figure_by_meter": marked(
        "one metered figure for the treatment, so the interval tells of the meter only"
    ),
    "energy_calculated": marked(
        "energy is calculated from the power of devices, not metered, and one figure for the treatment, so the "
        "interval tells of the trays' weights only"
    ),
    "energy_calculated_by_scale": marked(
        "energy is calculated from the power of devices, not metered, and one figure for the treatment, so the "
        "interval tells of the trays' weights and of the scale only"
    ),
    "energy_use_calculated": marked(
        "calculated from the power of devices, not metered, and one figure for the treatment, so this trial cannot "
        "tell how sure it is"
    ),
    "energy_calculated_in_part": marked("energy is calculated from the power of devices, not metered"),
    "energy_of_one_not_known": marked("the energy of one of the two is not known for the whole trial"),
    "energy_partly_shared": marked("part of the energy is from a meter shared by all treatments, given out by trays"),
    "no_meter_counted": marked("no meter counted its energy"),
    "energy_shared": marked(
        "a meter shared by all treatments, its energy given out by trays, so this trial cannot compare energy use"
    ),
    "metered_in_part": marked("metered for {share} of the trial, so its energy is not known"),
    # ---- costs ----
    "counts_costs": marked("counts {costs}"),
    "water_left_out": marked("water is not counted: it has no price"),
    "no_electricity_cost": marked("the cost of its electricity is not known for the whole trial"),
    "no_water_cost": marked("the water of none of its trays is known"),
    "no_hours": marked("the hours of use of what it used are not given"),
    "costs_are_one_figure": marked(
        "electricity and other costs are one figure for the treatment, so the interval tells of the trays' weights only"
    ),
    "costs_are_one_figure_but_water": marked(
        "electricity and other costs are one figure for the treatment, so the interval tells of the trays' weights and "
        "water only"
    ),
    # ---- climate, light, solution ----
    "not_logged": marked("it was not logged for it"),
    "shared_air": marked("logged for all treatments together, so this trial cannot compare it"),
    "one_reading": marked("one reading only"),
    "one_log": marked("one log for the treatment, so this trial cannot tell how sure it is"),
    "gaps_left_out": marked(
        "{gaps} of more than {steps} times the usual step (our own limit), {hours} together, left out"
    ),
    "one_map": marked("one map of the light, so this trial cannot tell how sure it is"),
    "maps_of_dates": marked(
        "maps of {dates}, each counted alike, of the same places, so this trial cannot tell how sure it is"
    ),
    "no_map": marked("no light was measured for it"),
    "one_point": marked("light was measured at one point only, which tells nothing of how even it is"),
    "no_photoperiod": marked("its photoperiod is not given"),
    "no_area": marked("its canopy area is not given"),
    "no_energy": marked("its energy is not known by itself for the whole trial"),
    "all_electricity": marked("all electricity of the treatment counted, whatever it was for"),
    "calculated_electricity": marked("its energy is calculated from the power of devices, not metered"),
    "light_is_one_figure": marked(
        "light is one figure for the treatment, so the interval tells of the trays' weights only"
    ),
    "time_weighted": marked("mean over time of each tray's readings, by the trapezoidal rule"),
    "arithmetic_ph": marked("arithmetic mean of pH, not of acidity"),
    "no_control": marked("no tray without plants tells its evaporation"),
    "evaporation_taken_off": marked("evaporation by {trays} without plants taken off"),
    "evaporation_not_in_interval": marked("the interval does not hold how sure that evaporation is"),
}
