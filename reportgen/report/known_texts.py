"""The English texts that come with the numbers, as messages for the catalogues.

Where a text has figures or names in it, its message has placeholders in their stead, named by what they hold (see
`calculated.FIELDS`); a figure behind the name tells two of one kind apart.
"""

from typing import Final

from reportgen.language import marked, marked_plural

WORDS: Final = {"tray": marked_plural("tray", "trays"), "pot": marked_plural("pot", "pots")}
COUNTED: Final = {
    "tray": marked_plural("{number} tray", "{number} trays"),
    "pot": marked_plural("{number} pot", "{number} pots"),
    "plant": marked_plural("{number} plant", "{number} plants"),
    "day": marked_plural("{number} day", "{number} days"),
    "block": marked_plural("{number} block", "{number} blocks"),
    "position": marked_plural("{number} position", "{number} positions"),
    "point": marked_plural("{number} point", "{number} points"),
    "reading": marked_plural("{number} reading", "{number} readings"),
    "device": marked_plural("{number} device", "{number} devices"),
    "volume": marked_plural("{number} volume", "{number} volumes"),
    "kind": marked_plural("{number} kind", "{number} kinds"),
    "meter": marked_plural("{number} meter", "{number} meters"),
    "gap": marked_plural("{number} gap", "{number} gaps"),
    "other cost": marked_plural("{number} other cost", "{number} other costs"),
    "more tray": marked_plural("{number} more tray", "{number} more trays"),
    "more pot": marked_plural("{number} more pot", "{number} more pots"),
    "plant without a row": marked_plural("{number} plant without a row", "{number} plants without a row"),
}
LABELS: Final = (  # of measures, and of traits that the workbook declares
    marked("Fresh weight"),
    marked("Yield per plant started"),
    marked("Yield"),
    marked("Survival"),
    marked("Dry matter"),
    marked("Water use"),
    marked("Water per gram"),
    marked("Yield per litre"),
    marked("Energy use"),
    marked("Energy per kilogram"),
    marked("Yield per kilowatt-hour"),
    marked("Electricity cost per gram"),
    marked("Yield per unit of electricity cost"),
    marked("Running cost per gram"),
    marked("Yield per mole of photons"),
    marked("Transpiration"),
    marked("EC of the solution"),
    marked("pH of the solution"),
    marked("Temperature of the solution"),
    marked("PPFD"),
    marked("Uniformity of PPFD"),
    marked("Daily light integral"),
    marked("Photons on the canopy"),
    marked("Canopy efficacy"),
    marked("Evaporation"),
    marked("Air temperature"),
    marked("Relative humidity"),
    marked("Vapour pressure deficit"),
    marked("CO2 in the air"),
    marked("Logged temperature of the solution"),
    marked("Dry weight"),
    marked("Height"),
    marked("Leaves"),
    marked("Canopy cover"),
)
GROWTH_RATE: Final = marked("Relative growth rate ({trait})")
UNITS: Final = (
    marked("g/plant"),
    marked("g/tray"),
    marked("L/tray"),
    marked("kWh/tray"),
    marked("mol/tray"),
    marked("oz/plant"),
    marked("oz/tray"),
    marked("US gal/tray"),
    marked("pH units"),
)
MEASURED: Final = (
    marked("weight"),
    marked("volume"),
    marked("energy"),
    marked("light"),
    marked("air temperature"),
    marked("humidity"),
    marked("EC"),
    marked("pH"),
)
COSTS: Final = (marked("electricity"), marked("water"))
FACTORS: Final = (
    marked("Light better used: yield per mole of photons"),
    marked("More light from the electricity: photons per kWh"),
    marked("More grown: yield of a tray"),
    marked("Less electricity: 1 / energy use"),
    marked("Cheaper electricity: 1 / price"),
)
CHECKS: Final = (
    marked("Replication"),
    marked("Places drawn at random"),
    marked("Treatments told from places and days"),
    marked("Light matched"),
    marked("Light even"),
    marked("Temperature matched"),
    marked("Same start"),
    marked("Same age at harvest"),
    marked("Losses"),
    marked("Solution never ran out"),
    marked("EC matched"),
    marked("pH matched"),
    marked("Meters span the trial"),
    marked("Figures in published ranges"),
    marked("Plants far from the rest"),
    marked("Instruments"),
    marked("Disclosure"),
)
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
POOLING: Final = (  # notes of several trials together, and why one of them has no part
    marked("two trials only: how trials differ is hardly known, so take the pooled figure with caution"),
    marked("the interval is wider than a number can say"),
    marked("the range for another trial is wider than a number can say"),
    marked("nothing of it was recorded"),
    marked("a figure of 0 has no log ratio"),
    marked("the {units} show no spread, so nothing tells how much this trial weighs"),
    marked("its crop is not that of the others"),
    marked("its treatments are not called as those of the others are"),
    marked("two of its treatments have one name, so they cannot be matched with the others'"),
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
QUANTITIES: Final = (
    marked("Mean light (PPFD)"),
    marked("Light of a day (DLI)"),
    marked("Mean air temperature"),
    marked("Mean EC"),
    marked("Mean pH"),
)
COMPARED: Final = (marked("light"), marked("temperature"), marked("EC"), marked("pH"))
RANGES: Final = (
    marked("yield per litre"),
    marked("energy per kilogram"),
    marked("yield per mole of photons"),
)
FINDINGS: Final = (
    marked("Each treatment was given to {trays}."),
    marked("Treatments were given to {each}."),
    marked("One {unit} cannot show how much {units} treated alike differ by chance."),
    marked("With {number} or more, chance could be told apart better."),
    marked(
        "The plant is named as what was treated, yet {number} of {trays} held several plants, up to {number2}; plants "
        "that share a pot share its fate, and are not replicates."
    ),
    marked(
        '{name} had one lamp over its {trays} ("{text}"), so this lamp and its place cannot be told from the treatment.'
    ),
    marked(
        '{name} had one lamp over its {trays} ("{text}"), so this lamp and its place cannot be told from the '
        "treatment, unless it lit all treatments."
    ),
    marked("Places were not drawn at random, so a better place may have gone to one treatment."),
    marked("Places were not drawn at random (layout: {text}), so a better place may have gone to one treatment."),
    marked("Places were given by hand (layout: {text}); a choice can favour one treatment without being meant to."),
    marked("Whether places were drawn at random is not recorded."),
    marked("Whether places were drawn at random is not recorded, beside the layout (layout: {text})."),
    marked("Places were drawn at random, but how is not recorded."),
    marked("Places were drawn at random (layout: {text})."),
    marked("Neither a block nor a position is recorded for all {number} {units}."),
    marked(
        "{names} shared no day with another treatment on which {units} were first filled ({days} in all), so day and "
        "treatment cannot be told apart."
    ),
    marked(
        "{names} shared no day with another treatment on which {units} were harvested ({days} in all), so day and "
        "treatment cannot be told apart."
    ),
    marked("{names} stood in 1 place only, so place and treatment cannot be told apart."),
    marked("{names} shared no block with another treatment, of {blocks}, so block and treatment cannot be told apart."),
    marked("{number} of {blocks} held every treatment."),
    marked(
        "{names} shared no position with another treatment ({positions} in all), so place and treatment cannot be told "
        "apart."
    ),
    marked(
        "{names} shared no position with another treatment ({positions} in all), though places were drawn at random, "
        "so place and treatment cannot be told apart."
    ),
    marked(
        "{names} stood each as one group of {units} ({positions} in all), so place and treatment cannot be told apart."
    ),
    marked(
        "{names} stood each as one group of {units} ({positions} in all), though places were drawn at random, so place "
        "and treatment cannot be told apart."
    ),
    marked("{Units} of different treatments stood among one another (positions {text} to {text2})."),
    marked("{Units} of different treatments stood among one another (positions {text} and {text2})."),
    marked("{Units} of different treatments stood among one another (positions {text})."),
    marked("{quantity} is not recorded for {names}."),
    marked("{quantity} was {each}, {percent} apart."),
    marked("{quantity} was {each}, {amount} apart."),
    marked("If {compared} is what was compared, this difference is the treatment."),
    marked("Photoperiods differ, and with them mean light (PPFD): {each}."),
    marked("No map of {number} points or more is recorded for {names}."),
    marked("The darkest point had this share of the mean light: {each}."),
    marked(
        "Air temperature was logged for all treatments together (mean {number} °C), so a difference between them is "
        "not known."
    ),
    marked("The trial has one start for all, {day}."),
    marked("{Units} were first filled from {day} to {day2}; treatments lie {number} d apart on average."),
    marked("The day of sowing is not recorded."),
    marked("All were sown on {day}."),
    marked("All {units} were harvested on {day}, {days} after sowing."),
    marked("All {units} were harvested on {day}, {days} after the start."),
    marked("{Units} were harvested from {day} to {day2}; treatments lie {number} d apart on average."),
    marked("If each was harvested at one size, this difference is part of the result."),
    marked("None of {plants} was lost ({percent})."),
    marked("How many plants were started is not known, so nothing tells how many were lost."),
    marked("Plants lost: {each}, {number} percentage points apart."),
    marked("What was filled in and what was left is known for {number} of {trays}."),
    marked("At the end every {unit} held {number} L or more, the least in {text}."),
    marked("{Unit} {text} was emptied on {day} (0 L left of what was put in)."),
    marked(
        "{Unit} {text} took {number} L on {day}, as much as its first fill of {number2} L or more, so it may have been "
        "empty."
    ),
    marked("{moretrays} ran low or empty too."),
    marked("{Unit} {text} ran out or was emptied (0 L left at the end)."),
    marked("{Unit} {text} was nearly empty at the end ({number} L left of {number2} L)."),
    marked("Meters counted this share of the trial's days: {percent} for each treatment."),
    marked("Meters counted this share of the trial's days: {each}."),
    marked("Electricity of {names} is calculated from power in W and hours, not counted ({percent})."),
    marked("No meter counted the electricity of {names} ({percent})."),
    marked(
        "{meters} shared by all treatments ({text}) counted all of the electricity, which was given out by {units} and "
        "cannot be compared."
    ),
    marked(
        "{meters} shared by all treatments ({text}) counted a part of the electricity, which was given out by {units} "
        "and cannot be compared."
    ),
    marked("No meter was read: electricity is calculated from {devices}, power in W by hours of use."),
    marked("No electricity meter was read ({percent} of the trial's days)."),
    marked("{names} had fewer than 3 plants weighed, too few to tell."),
    marked("None of {plants} lies far from the rest of its treatment in fresh weight."),
    marked("{number} of {plants} lies more than {number2} usual spreads from the middle of the treatment: {far}."),
    marked("{number} of {plants} lie more than {number2} usual spreads from the middle of the treatment: {far}."),
    marked("Flagged, and kept in every figure."),
    marked("No instrument is recorded for {kinds} of measurement."),
    marked("Accuracy or calibration is recorded for {number} of {kinds} of measurement."),
    marked("Accuracy or calibration is recorded for {number} of {kinds} of measurement, not for {measured}."),
    marked("Each treatment had its own {text} ({measured}, accuracy ±{percent}): errors do not cancel."),
    marked("Each treatment had its own {text} ({measured}, accuracy not recorded): errors do not cancel."),
    marked("Who supplied or paid for what is not stated."),
    marked('Something was given, lent or paid for, in the grower\'s words: "{quote}".'),
    marked('Nothing was given, in the grower\'s words: "{quote}"'),
    marked('Whether something was given does not follow from the grower\'s words: "{quote}"'),
    marked("Outside the range of published trials: {beyond}."),
    marked("Check units and decimal points."),
    marked("All lie where published trials found theirs: {usual}."),
)
FAR: Final = (
    marked("plant {text} of {unit} {text2} ({name}, {amount}, {number} spreads above)"),
    marked("plant {text} of {unit} {text2} ({name}, {amount}, {number} spreads below)"),
    marked("{number} more"),
)
BEYOND: Final = (
    marked("{range} of {names} ({amounts}; usual {number} to {amount})"),
    marked("{range} ({number} to {amount})"),
)
MISSING: Final = (
    marked("plant {text} of {unit} {text2}"),
    marked("{unit} {text}"),
)
VALUES: Final = (
    marked("{percent} ({number} of {number2})"),
    marked("{percent} ({points})"),
    marked("{number} to {amount} in {readings}"),
    marked("{amount} in {readings}"),
    marked("{number} to {amount}, mean {amount2}, coefficient of variation {percent} ({points})"),
    marked("{amount}, mean {amount2}, coefficient of variation {percent} ({points})"),
    marked("{number} to {amount}, mean {amount2} ({points})"),
    marked("{amount}, mean {amount2} ({points})"),
    marked("{number} W rated"),
    marked("{number} L put in, {volumes} recorded"),
    marked("{plants} a {unit}"),
    marked("{number} to {plants} a {unit}"),
    marked("how many plants were started"),
    marked("how many were started"),
    marked("{number} plants/m²"),
    marked("{number} to {number2} plants/m²"),
    marked("{day} to {day2}"),
    marked('{day}: "{quote}"'),
    marked("none, by the layout"),
    marked("drawn at random"),
    marked("not drawn at random"),
    marked("drawn at random, {quote}"),
    marked("not drawn at random, {quote}"),
    marked("none of {plants}"),
    marked("{number} of {plants}: {lost}"),
    marked("{text} dead"),
    marked("{text} dead ({quote})"),
    marked("{text} removed"),
    marked("{text} removed ({quote})"),
    marked("plant"),
)
ITEMS: Final = (
    marked("Light at the canopy (PPFD, 400 to 700 nm)"),
    marked("Days on which light was measured"),
    marked("Evenness of light: lowest, mean, highest, coefficient of variation"),
    marked("Hours of light a day"),
    marked("Light of a day (DLI)"),
    marked("Lamps and other equipment"),
    marked("Spectrum, or red to far-red ratio"),
    marked("Distance of lamps to the canopy"),
    marked("Power of the equipment"),
    marked("CO2, or that it was not controlled"),
    marked("Air speed"),
    marked("Dissolved oxygen"),
    marked("Composition of the solution"),
    marked("Volumes put in and taken out"),
    marked("Kind of container or growing system"),
    marked("Volume of a container"),
    marked("Plants in a container"),
    marked("Spacing"),
    marked("Cultivar"),
    marked("Source of seed"),
    marked("Day of sowing"),
    marked("Day of transplanting"),
    marked("Day of harvest"),
    marked("Instruments: what was measured with what"),
    marked("Instruments: day of calibration"),
    marked("Instruments: accuracy"),
    marked("Experimental unit: what the treatment was given to"),
    marked("Replicates of each treatment"),
    marked("Blocks"),
    marked("Randomisation"),
    marked("Plants left out, and why"),
)
PLACES: Final = (  # sheets and columns keep the names that they have in the workbook
    marked("Light, column PPFD"),
    marked("Light, column Date"),
    marked("Light, column PPFD, 3 points or more on a day"),
    marked("Treatments, column Photoperiod"),
    marked("Light, column PPFD, and Treatments, column Photoperiod"),
    marked("Treatments, column Equipment"),
    marked("Treatments, column Description"),
    marked("Treatments, column Rated power, or Loads, column Power"),
    marked("Climate, column Air temperature"),
    marked("Climate, column Relative humidity"),
    marked("Climate, column CO2, or Observations, column Observation"),
    marked("Observations, column Observation"),
    marked("Solution, column Temperature"),
    marked("Solution, column EC"),
    marked("Solution, column pH"),
    marked("Trial, field Nutrient recipe"),
    marked("Solution, column Volume, from fill to remaining"),
    marked("Trial, field Growing system"),
    marked("Trays, column Plants started"),
    marked("Treatments, column Canopy area"),
    marked("Trial, field Cultivar"),
    marked("Trial, field Cultivar, or Observations, column Observation"),
    marked("Trial, field Sown on"),
    marked("Trial, field Harvested on"),
    marked("Instruments, column Instrument"),
    marked("Instruments, column Calibrated on"),
    marked("Instruments, column Accuracy"),
    marked("Trial, field Experimental unit"),
    marked("Trays, a row each"),
    marked("Trays, column Block, or Trial, field Layout"),
    marked("Trial, field Randomised"),
    marked("Plants, a row for each lost plant, columns Status and Note"),
)
MISSING_FOR: Final = marked("{place} (missing for {missing})")
