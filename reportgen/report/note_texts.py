"""The texts of notes on figures, and of the methods by which they were made, by code."""

from collections.abc import Mapping
from typing import Final

from reportgen.language import marked

METHODS: Final[Mapping[str, str]] = {
    # ---- figures of a treatment ----
    "ratio_of_totals": marked("ratio of totals"),
    "mean_of_units": marked("mean of the {units}"),
    "t_interval_of_scores": marked("Student's t interval of the {unit} scores"),
    "paired_fieller": marked("paired Fieller interval of the ratio of totals"),
    "marginal_mean": marked("estimated marginal mean"),
    "own_spread": marked("Student's t interval on the log scale"),
    "pooled_spread": marked(
        "Student's t interval on the log scale, one variance for all treatments"
    ),
    "spread_of_main_plots": marked(
        "Student's t interval of the main plots' means on the log scale"
    ),
    "pooled_spread_of_main_plots": marked(
        "Student's t interval of the main plots' means on the log scale, one variance for all"
        " treatments"
    ),
    "clustered_plants": marked("Wilson interval, widened for plants that share a {unit}"),
    "independent_plants": marked("Wilson interval, one plant in each {unit}"),
    # ---- comparisons ----
    "log_ratio": marked("ratio on the log scale"),
    "fieller_ratio": marked("Fieller ratio"),
    "fieller_plug_in": marked(
        "Fieller ratio (plug-in correlation) with {freedom} degrees of freedom"
    ),
    "t_difference": marked("Student's t difference with {freedom} degrees of freedom"),
    "welch_difference": marked("Welch difference with {freedom} degrees of freedom"),
    "ratio_and_difference_of_figures": marked("ratio and difference of the two figures"),
    "difference_of_figures": marked("difference of the two figures"),
    "pooled_variance": marked("one residual variance for all treatments"),
    "additive_model": marked("additive model treatment + block, one residual variance"),
    "covariance_model": marked("analysis of covariance on the log scale, one residual variance"),
    "separate_variances": marked("separate variances, Satterthwaite degrees of freedom"),
    "simultaneous": marked("simultaneous for {comparisons}"),
    "games_howell": marked("Games-Howell at {level}"),
    "tukey_kramer": marked("Tukey-Kramer at {level}"),
    "blocks_ignored": marked("blocks ignored"),
    # ---- scores ----
    "rank_test": marked(
        "Wilcoxon-Mann-Whitney test of the {units}' medians, within blocks where there are blocks"
    ),
    "exact_permutation": marked("exact by permutation"),
    "normal_approximation": marked("normal approximation, ties counted"),
    "holm": marked(
        "p values by Holm's method and limits by Bonferroni's for all comparisons together"
    ),
    "relative_effect_limits": marked(
        "Newcombe's limits of the chance of the higher score (method 5)"
    ),
    "two_factor_model": marked(
        "two factors and their interaction by least squares on the log scale, each combination"
        " counting alike"
    ),
    "dose_model": marked(
        "straight line and parabola through the doses by least squares on the log scale"
    ),
    "split_plot_model": marked("split-plot, errors of main plots and of {units} apart"),
    "one_plot_model": marked(
        "one main plot for each level of a factor, the other factor judged within main plots"
    ),
    # ---- instruments, light, climate ----
    "both_types": marked(
        "type B uncertainty of the instruments added (JCGM 100 G.4, never narrower than without)"
    ),
    "instruments_alone": marked("type B uncertainty of the instrument only (JCGM 100)"),
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
    "zero_denominator": marked(
        "the denominators of the {units} add up to zero, so there is no ratio"
    ),
    "one_unit": marked(
        "one {unit} only, so the variation between {units} is unknown and no interval or test is"
        " possible"
    ),
    "measurements_are_no_replicates": marked(
        "several measurements within one {unit} are not independent"
    ),
    "alike": marked("no variation between the {units}"),
    "units_left_out": marked("{units_left_out} without data left out"),
    "no_figure": marked("one of the two treatments has no value to compare"),
    "one_unit_compared": marked(
        "one of the two treatments has one {unit} only, so its variation between {units} is unknown"
        " and no interval or test is possible"
    ),
    "one_unit_each": marked(
        "each of the two treatments has one {unit} only, so the variation between {units} is"
        " unknown and no interval or test is possible"
    ),
    "both_alike": marked("no variation within either group"),
    "one_alike": marked("no variation within one of the two groups"),
    "alike_compared": marked(
        "no variation within one of the two groups, so its variance cannot be estimated and the "
        "comparison has no simultaneous interval"
    ),
    "spread_of_the_other": marked("the interval rests on the variation within the other"),
    "zero_reference": marked("the reference is zero, so there is no ratio"),
    "unbounded_above": marked("these {units} set no upper limit to the ratio"),
    "unbounded_below": marked("these {units} set no lower limit to the ratio"),
    "unbounded": marked("these {units} set no limits to the ratio"),
    "no_spread_of_ratio": marked("no variation of the ratio between these {units}"),
    "not_connected": marked(
        "treatments and blocks cannot be told apart, so no mean adjusted for blocks can be"
        " estimated"
    ),
    "no_residual": marked("no degrees of freedom are left to estimate the residual variance"),
    "no_residual_spread": marked("no residual variation between the {units}"),
    "not_all_positive": marked(
        "one {unit} or more had a value of zero or below, so Fieller's interval replaces the log"
        " scale"
    ),
    "adjusted_for_blocks": marked(
        "adjusted for blocks, because not every block held each treatment equally often"
    ),
    "spreads_differ": marked(
        "number of {units} and standard deviation both differ twofold or more between treatments,"
        " so the true level of the interval may be lower"
    ),
    "letters_contradict": marked(
        "no letters: the test of all pairs and the intervals shown disagree on at least one"
        " treatment"
    ),
    "main_plots_unbalanced": marked(
        "{units} of one main plot are not independent, and without a balanced set of main plots"
        " their errors cannot be told apart"
    ),
    "one_main_plot": marked(
        "all {units} of a treatment stood in one main plot, so nothing shows how main plots differ"
    ),
    # ---- factors and doses ----
    "too_many_factors": marked(
        "{factors} are more factors than the two that can be analysed together."
    ),
    "levels_repeated": marked(
        "{treatments} have the same level of each factor, so something that is no factor differs"
        " between them. Add it as a factor."
    ),
    "factors_confounded": marked(
        "{first} and {second} changed together, so neither can be told from the other. What is"
        " missing: {missing}."
    ),
    "combinations_missing": marked(
        "Not every combination of levels was grown, so whether one factor's effect depends on the"
        " other is unknown. What is missing: {missing}."
    ),
    "levels_together": marked("{first} {level} with {second} {other}"),
    "main_plots_incomplete": marked(
        "The main plot is recorded for some {units} only. What is missing: Main plot on the sheet"
        " Trays for {missing}."
    ),
    "main_plots_of_treatments": marked(
        "Each main plot had one treatment alone, so its {units} are not independent, and no factor"
        " was varied within it."
    ),
    "split_plot_unbalanced": marked(
        "Main plots had {main} as a whole and {sub} within, but not each level equally often, so"
        " the errors of main plots and of {units} cannot be told apart."
    ),
    "factors_not_positive": marked("a {unit} had a value of zero or below"),
    "factors_without_spread": marked(
        "the {units} with a value leave a combination of levels empty, or no variation to test by"
    ),
    "cut_at_possible": marked("interval cut at the possible range"),
    "ratio_cut_at_zero": marked("interval of the ratio cut at 0"),
    "never_picked": marked("{trays} gave nothing until the end and had no first picking"),
    "no_ratio": marked("interval scale, so only the difference has a meaning"),
    # ---- growth ----
    "no_single_rate": marked(
        "growth was not even, so no single rate holds; the rates by period do"
    ),
    "evenness_untested": marked(
        "too few {units} to test whether growth was even, so only the rates by period are given"
    ),
    "rate_of_two_days": marked(
        "measured on two days only, so nothing shows whether growth was even between them"
    ),
    # ---- adjusted for a covariate ----
    "covariate_differs": marked(
        "what is adjusted for differs between treatments, so the adjustment reaches beyond values"
        " that all of them had"
    ),
    "slopes_differ": marked(
        "what is adjusted for does not act alike in all treatments, so one adjusted ratio does not"
        " hold for every value"
    ),
    "few_freedoms": marked(
        "few {units} are left to judge by, so the adjusted interval rests on little"
    ),
    "without_covariate": marked("{trays} without that value left out"),
    "cannot_adjust": marked(
        "too few {units} with that value, or no variation of it within treatments, so nothing can"
        " be adjusted"
    ),
    "varied_not_recorded": marked(
        "what was varied is not recorded, so light may be the treatment itself"
    ),
    "light_was_varied": marked(
        "light is what was varied, so adjusting for it would take away what it did"
    ),
    # ---- scores ----
    "no_units_to_rank": marked("no {units} of the two were scored side by side"),
    "too_few_units_to_rank": marked(
        "even if every {unit} of one scored above every {unit} of the other, the chance of that"
        " without a difference would be {smallest}, not {alpha} or less; it takes {needed} a"
        " treatment"
    ),
    "limit_set_by_test": marked("the limit on the side of no difference is set by the exact test"),
    "too_few_units_for_limits": marked("an interval takes {needed} a treatment"),
    # ---- survival ----
    "no_plants": marked("no plants were started"),
    "dispersion_unseen": marked(
        "variation between {units} cannot be estimated, so plants count as independent"
    ),
    "one_cluster": marked(
        "one {unit} per treatment, so plants count as independent and the interval is too narrow"
    ),
    # ---- plants' own spread ----
    "plants_own_spread": marked(
        "plants' own spread: {spread} over {plants}, from {lowest} to {highest}, which describes "
        "these plants, not the treatment"
    ),
    "plants_own_survival": marked(
        "plants' own spread: {low} to {high} ({level} Wilson interval on {plants}), which describes"
        " these plants, not the treatment"
    ),
    # ---- instruments ----
    "instrument_only": marked(
        "the interval covers instrument error only, not the variation between {units}"
    ),
    # ---- energy ----
    "energy_is_one_figure": marked(
        "energy is one metered figure per treatment, so the interval covers the variation of"
        " weights only"
    ),
    "energy_is_one_figure_by_instruments": marked(
        "energy is one metered figure per treatment, so the interval covers the variation of"
        " weights and instrument error only"
    ),
    "energy_use_is_one_figure": marked("one metered figure per treatment, uncertainty unknown"),
    "energy_use_is_one_figure_by_meter": marked(
        "one metered figure per treatment, so the margin covers meter error only"
    ),
    "energy_calculated": marked(
        "energy is calculated from the power of devices, not metered, as one figure per treatment,"
        " so the interval covers the variation of weights only"
    ),
    "energy_calculated_by_scale": marked(
        "energy is calculated from the power of devices, not metered, as one figure per treatment,"
        " so the interval covers the variation of weights and the scale's error only"
    ),
    "energy_use_calculated": marked(
        "calculated from the power of devices, not metered, as one figure per treatment,"
        " uncertainty unknown"
    ),
    "energy_calculated_in_part": marked(
        "energy is calculated from the power of devices, not metered"
    ),
    "energy_of_one_not_known": marked(
        "the energy of one of the two is not known for the whole trial"
    ),
    "energy_partly_shared": marked(
        "part of the energy comes from a meter shared by all treatments and is allotted by {units}"
    ),
    "no_meter_counted": marked("no meter counted its energy"),
    "energy_shared": marked(
        "all treatments shared one meter and its energy is allotted by {units}, so this trial"
        " cannot compare energy use"
    ),
    "metered_in_part": marked("metered for {share} of the trial only, so its energy is unknown"),
    # ---- costs ----
    "counts_costs": marked("counts {costs}"),
    "water_left_out": marked("water is not counted: it has no price"),
    "no_electricity_cost": marked("the cost of its electricity is not known for the whole trial"),
    "no_water_cost": marked("water use is unknown for all of its {units}"),
    "no_hours": marked("the hours of use of its equipment are not given"),
    "costs_are_one_figure": marked(
        "electricity and other costs are one figure per treatment, so the interval covers the"
        " variation of weights only"
    ),
    "costs_are_one_figure_but_water": marked(
        "electricity and other costs are one figure per treatment, so the interval covers the "
        "variation of weights and water only"
    ),
    # ---- climate, light, solution ----
    "not_logged": marked("not logged for this treatment"),
    "shared_air": marked("logged for all treatments together, so this trial cannot compare it"),
    "one_reading": marked("one reading only"),
    "one_log": marked("single logger, uncertainty unknown"),
    "gaps_left_out": marked(
        "{gaps} of more than {steps} times the usual step (our own limit) left out, {hours} in all"
    ),
    "one_map": marked("single light map, uncertainty unknown"),
    "maps_of_dates": marked(
        "maps of {dates} at the same places, equally weighted, uncertainty unknown"
    ),
    "no_map": marked("light not measured for this treatment"),
    "light_height_not_known": marked(
        "light was read at several heights, and which of them was in use is not recorded"
    ),
    "light_height_not_measured": marked(
        "the height in use lies beyond the heights at which light was read"
    ),
    "light_interpolated": marked(
        "interpolated between the heights at which light was read, on the logarithmic scale"
    ),
    "light_survey_left_out": marked("readings of dates with several heights left out"),
    "one_point": marked("light measured at one point only, so its uniformity is unknown"),
    "no_photoperiod": marked("photoperiod not given"),
    "no_area": marked("canopy area not given"),
    "no_energy": marked("its own energy is not known for the whole trial"),
    "all_electricity": marked("all electricity of the treatment counted, whatever it was for"),
    "calculated_electricity": marked(
        "its energy is calculated from the power of devices, not metered"
    ),
    "light_is_one_figure": marked(
        "light is one figure per treatment, so the interval covers the variation of weights only"
    ),
    "time_weighted": marked("mean over time of each {unit}'s readings, by the trapezoidal rule"),
    "arithmetic_ph": marked("arithmetic mean of pH, not of acidity"),
    "no_control": marked("no {unit} without plants, so evaporation is unknown"),
    "evaporation_taken_off": marked("evaporation from {trays} without plants subtracted"),
    "evaporation_not_in_interval": marked(
        "the interval does not include the uncertainty of that evaporation"
    ),
}
