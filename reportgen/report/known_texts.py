"""The English notes and methods that come with the numbers, as messages for the catalogues.

Where a text has figures or names in it, its message has placeholders in their stead, named by what they hold (see
`calculated.FIELDS`); a figure behind the name tells two of one kind apart.
"""

from typing import Final

from reportgen.language import marked

METHODS: Final = (
    marked("ratio of totals"),
    marked("mean of the {units}"),
    marked("t interval of the {unit} scores"),
    marked("paired Fieller interval of the ratio of totals"),
    marked("estimated marginal mean, pooled residual variance"),
    marked("estimated marginal mean, additive model treatment + block, pooled residual variance"),
    marked("ratio and difference of the two figures"),
    marked("difference of the two figures"),
    marked("Fieller ratio and t difference, pooled residual variance"),
    marked("Fieller ratio and t difference, additive model treatment + block, pooled residual variance"),
    marked("t difference, pooled residual variance"),
    marked("t difference, additive model treatment + block, pooled residual variance"),
    marked("Fieller ratio, separate variances, Satterthwaite degrees of freedom"),
    marked("Welch difference"),
    marked("ratio and p value turned round from"),
    marked("instrument: type B uncertainty only"),
    marked("blocks ignored"),
    marked("type B uncertainty of the instruments added"),
    marked("the reading"),
    marked("time-weighted mean of {readings}"),
    marked("mean of the map"),
    marked("minimum / mean of the map"),
    marked("mean over {number} dates: mean of the map"),
    marked("mean over {number} dates: minimum / mean of the map"),
    marked("mean of the map x photoperiod"),
    marked("mean of the map x photoperiod x days x canopy area"),
    marked("mean over {number} dates: mean of the map x photoperiod"),
    marked("mean over {number} dates: mean of the map x photoperiod x days x canopy area"),
    marked("PPFD x area / mean power while lit"),
    marked("Games-Howell at {number}"),
    marked("Tukey-Kramer at {number}, pooled residual variance"),
    marked("Tukey-Kramer at {number}, additive model treatment + block, pooled residual variance"),
)
OWN_SPREADS: Final = (
    marked(
        "standard deviation {number} over {plants}, from {number2} to {number3}, which describes these plants, not the "
        "treatment"
    ),
    marked(
        "{percent} to {percent2} ({percent3} Wilson interval on {plants}), which describes these plants, not the "
        "treatment"
    ),
)
NOTES: Final = (
    marked("no {unit} with data"),
    marked("the denominators of the {units} add up to zero, so there is no ratio"),
    marked("one {unit} only, so the spread between {units} is not known and neither interval nor test is possible"),
    marked("several measurements within one {unit} are no replicates"),
    marked("all {units} gave the same figure, so they say nothing of the spread"),
    marked("{trays} without data left out"),
    marked("blocks ignored"),
    marked("interval cut at what is possible"),
    marked("interval of the ratio cut at 0"),
    marked("one of the two has no figure, so there is nothing to compare"),
    marked(
        "one of the two has one {unit} only, so its spread between {units} is not known and neither interval nor test "
        "is possible"
    ),
    marked("the {units} of each of the two all gave the same figure, so they say nothing of the spread"),
    marked("the {units} of one of the two all gave the same figure"),
    marked(
        "the {units} of one of the two all gave the same figure, so its variance cannot be estimated and the "
        "comparison has no simultaneous interval"
    ),
    marked("the interval rests on the spread of the other"),
    marked("the reference is zero, so there is no ratio"),
    marked("the ratio is zero, so it cannot be turned round"),
    marked("the interval that is turned round holds zero, so the ratio cannot be bounded"),
    marked("turned round from a ratio without limits: {note}"),
    marked("the ratio cannot be bounded above by these {units}"),
    marked("the ratio cannot be bounded below by these {units}"),
    marked("the ratio cannot be bounded by these {units}"),
    marked("these {units} say nothing of the spread of the ratio"),
    marked("treatments cannot be told from blocks, so a mean free of the blocks cannot be estimated"),
    marked("no degrees of freedom are left for the residual variance, so it cannot be estimated"),
    marked("the {units} show no residual spread, so they say nothing of it"),
    marked("intervals that hold together are left out, as they would not hold the instruments' uncertainty"),
    marked("the interval is that of the instruments and says nothing of the spread between {units}"),
    marked("its zero is a convention, so only the difference has a meaning"),
    marked("energy is one metered figure for the treatment, so the interval tells of the trays' weights only"),
    marked(
        "energy is one metered figure for the treatment, so the interval tells of the trays' weights and of the "
        "instruments only"
    ),
    marked("one metered figure for the treatment, so this trial cannot tell how sure it is"),
    marked("one metered figure for the treatment, so the interval tells of the meter only"),
    marked(
        "energy is calculated from the power of devices, not metered, and one figure for the treatment, so the "
        "interval tells of the trays' weights only"
    ),
    marked(
        "energy is calculated from the power of devices, not metered, and one figure for the treatment, so the "
        "interval tells of the trays' weights and of the scale only"
    ),
    marked(
        "calculated from the power of devices, not metered, and one figure for the treatment, so this trial cannot "
        "tell how sure it is"
    ),
    marked("energy is calculated from the power of devices, not metered"),
    marked("the energy of one of the two is not known for the whole trial"),
    marked("part of the energy is from a meter shared by all treatments, given out by trays"),
    marked("no meter counted its energy"),
    marked("a meter shared by all treatments, its energy given out by trays, so this trial cannot compare energy use"),
    marked("metered for {percent} of the trial, so its energy is not known"),
    marked("counts {costs}"),
    marked("water is not counted: it has no price"),
    marked("the cost of its electricity is not known for the whole trial"),
    marked("the water of none of its trays is known"),
    marked("the hours of use of what it used are not given"),
    marked(
        "electricity and other costs are one figure for the treatment, so the interval tells of the trays' weights only"
    ),
    marked(
        "electricity and other costs are one figure for the treatment, so the interval tells of the trays' weights and "
        "water only"
    ),
    marked("it was not logged for it"),
    marked("logged for all treatments together, so this trial cannot compare it"),
    marked("one reading only"),
    marked("one log for the treatment, so this trial cannot tell how sure it is"),
    marked("{gaps} of more than {number} times the usual step (our own limit), {number2} h together, left out"),
    marked("one map of the light, so this trial cannot tell how sure it is"),
    marked("maps of {number} dates, each counted alike, of the same places, so this trial cannot tell how sure it is"),
    marked("no light was measured for it"),
    marked("light was measured at one point only, which tells nothing of how even it is"),
    marked("its photoperiod is not given"),
    marked("its canopy area is not given"),
    marked("its energy is not known by itself for the whole trial"),
    marked("all electricity of the treatment counted, whatever it was for"),
    marked("its energy is calculated from the power of devices, not metered"),
    marked("light is one figure for the treatment, so the interval tells of the trays' weights only"),
    marked("mean over time of each tray's readings, by the trapezoidal rule"),
    marked("arithmetic mean of pH, not of acidity"),
    marked("no tray without plants tells its evaporation"),
    marked("evaporation by {trays} without plants taken off"),
    marked("the interval does not hold how sure that evaporation is"),
)
