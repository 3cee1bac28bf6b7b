"""The sections of a report, in reading order; a section without data is not there."""

from reportgen.metrics.design import is_blocked
from reportgen.metrics.energy import is_shared
from reportgen.metrics.measures import DECLARED
from reportgen.metrics.planning import variation_of
from reportgen.metrics.price import Payback, costs_of_gram, equal_costs, paybacks
from reportgen.metrics.tariff import prices
from reportgen.metrics.totals import planted
from reportgen.model.document import Block, Bullets, Facts, Notice, Paragraph, Prose, Section, Subheading, Table
from reportgen.model.problem import Severity
from reportgen.model.results import MeasureResult, Results
from reportgen.model.trial import Treatment, Trial
from reportgen.report import figures, numbers, tables, wording

KEY_MEASURES = (
    "fresh_weight",
    "yield_per_plant_started",
    "water_per_gram",
    "energy_use",
    "energy_per_kg",
    "electricity_cost_per_gram",
)
GROWTH = ("fresh_weight", "yield_per_plant_started", "tray_yield", "survival")
WATER = ("water_use", "water_per_gram", "yield_per_litre", "evaporation", "transpiration")
SOLUTION = ("ec", "ph", "solution_temperature", "solution_temperature_logged")
ENERGY = (
    "energy_use",
    "energy_per_kg",
    "yield_per_kwh",
    "electricity_cost_per_gram",
    "yield_per_currency",
    "running_cost_per_gram",
)
LIGHT = ("ppfd", "ppfd_uniformity", "dli", "photons", "yield_per_mol", "canopy_efficacy")
CLIMATE = ("air_temperature", "relative_humidity", "vpd", "co2")
PLACES = {
    True: "Places were drawn at random",
    False: "Places were not drawn at random",
    None: "Whether places were drawn at random is not recorded",
}
PRICE_STEPS = (0.5, 0.75, 1.0, 1.5, 2.0)


def glance(trial: Trial, results: Results) -> Section:
    """Return what the trial found, at a glance, and what a reader must be warned of."""
    found = tables.measures_of(results, KEY_MEASURES)
    figures_and_ratios = tables.estimates(trial, found, "at-a-glance", "Key figures of each treatment")
    cautions = tuple(str(finding) for finding in trial.findings if finding.severity is Severity.CAUTION)
    warning = (Notice("Read with care: what the check of the workbook found", cautions),) if cautions else ()
    return Section(
        "glance", "At a glance", (*figures.overview(trial, results, KEY_MEASURES), *figures_and_ratios, *warning)
    )


def compared(trial: Trial, results: Results) -> Section:
    """Return what was compared and how places were given."""
    head = ("Treatment", "Code", wording.unit_of(trial, 2).capitalize(), "Plants started", "Plants harvested")
    rows = tuple(
        (
            wording.name_of(trial, count.treatment) + (" (reference)" if count.treatment == trial.reference else ""),
            count.treatment,
            str(count.trays),
            str(count.plants_started),
            str(count.plants_harvested),
        )
        for count in results.counts
    )
    table = Table(
        "treatments", "Treatments, and how much of each there was", head, rows, (False, False, True, True, True)
    )
    described = tuple(text for treatment in trial.treatments if (text := _described(treatment)))
    blocks: list[Block] = [Paragraph(_how_compared(trial)), table]
    blocks += [Bullets(described, "What each treatment was:")] if described else []
    blocks += [Facts(facts)] if (facts := _growing_facts(trial)) else []
    return Section("compared", "What was compared", (*blocks, *figures.layout(trial)))


def _described(treatment: Treatment) -> str:
    known = (
        treatment.description.rstrip("."),
        f"photoperiod {numbers.typed(treatment.photoperiod)} h" if treatment.photoperiod is not None else "",
        f"lit area {numbers.typed(treatment.canopy_area)} m² a tray" if treatment.canopy_area is not None else "",
        f"rated power {numbers.typed(treatment.rated_power)} W" if treatment.rated_power is not None else "",
        f"rated efficacy {numbers.typed(treatment.rated_efficacy)} µmol/J" if treatment.rated_efficacy else "",
        treatment.equipment.rstrip("."),
    )
    said = "; ".join(part for part in known if part)
    return f"{treatment.name}: {said}." if said else ""


def _how_compared(trial: Trial) -> str:
    word = wording.unit_of(trial)
    trays = numbers.count(len(planted(trial)), word)
    blocks = {tray.block for tray in planted(trial)}
    across = f" in {numbers.count(len(blocks), 'block')}" if is_blocked(trial) else ""
    places = PLACES[trial.about.randomised]
    layout = f" ({trial.about.layout})" if trial.about.layout else ""
    unit = (
        "The plant, each in a pot of its own, is the experimental unit."
        if trial.experimental_unit == "plant"
        else "The tray is the experimental unit: plants in one tray share solution and place, and are not replicates."
    )
    return f"{len(trial.treatments)} treatments were given to {trays}{across}. {places}{layout}. {unit}"


def _growing_facts(trial: Trial) -> tuple[tuple[str, str], ...]:
    known = (
        ("Growing system", trial.about.growing_system),
        ("Nutrient recipe", trial.about.nutrient_recipe),
        ("Sown on", numbers.day(trial.sown_on) if trial.sown_on else ""),
    )
    return tuple((term, text) for term, text in known if text)


def growth(trial: Trial, results: Results) -> Section | None:
    """Return how the plants grew, and which were lost."""
    weight = wording.result_of(results, "fresh_weight")
    if weight is None:
        return None
    traits = tuple(result.measure.key for result in results.measures if result.measure.key not in DECLARED)
    found = tables.measures_of(results, (*GROWTH, "dry_matter", *traits))
    return Section(
        "growth",
        "Growth",
        (
            *figures.plants(trial, weight),
            tables.estimates(trial, found, "growth-figures", "Growth of each treatment")[0],
            *tables.comparisons(trial, found, "growth-comparisons", "Comparisons of growth with the reference"),
            Paragraph(_losses(trial)),
            *_variation(trial),
            *_plants_spread(trial, results),
            *figures.growth_curves(trial),
        ),
    )


def _losses(trial: Trial) -> str:
    started = sum(tray.plants_started for tray in trial.trays)
    kept = sum(plant.status == "harvested" for plant in trial.plants)
    dead = sum(plant.status == "dead" for plant in trial.plants)
    removed = sum(plant.status == "removed" for plant in trial.plants)
    if kept == started:
        return f"All {started} plants that were started were harvested."
    parts = tuple(
        f"{number} {one if number == 1 else many}"
        for number, one, many in (
            (dead, "died", "died"),
            (removed, "was removed", "were removed"),
            (started - kept - dead - removed, "is not accounted for", "are not accounted for"),
        )
        if number
    )
    return (
        f"Of {started} plants started, {kept} were harvested; {numbers.listed(parts)}. Fresh weight counts harvested "
        "plants only; yield per plant started counts the lost ones as nothing."
    )


def _variation(trial: Trial) -> tuple[Block, ...]:
    """Return how much weights vary between trays and within them, as the next trial's plan needs it."""
    found = variation_of(trial)
    if found is None:
        return ()
    word = wording.unit_of(trial)
    between, within = (f"{100 * part**0.5:.3g}{numbers.PER_CENT}" for part in (found.between, found.within))
    return (
        Paragraph(
            f"Apart from the treatments, fresh weights varied by {between} between {word}s and by {within} between "
            f"plants in a {word} (coefficients of variation, from the nested analysis of variance)."
        ),
    )


def _plants_spread(trial: Trial, results: Results) -> tuple[Block, ...]:
    """Return the plants' own spread where it is all that a single tray can show."""
    said = tuple(
        f"{result.measure.label}, {wording.name_of(trial, code)}: {estimate.note.split('own spread: ')[1]}."
        for result in results.measures
        if result.measure.key != "survival"
        for code, estimate in result.estimates
        if "own spread: " in estimate.note
    )
    lead = f"With one {trial.unit} of a treatment, only the spread of its plants can be shown:"
    return (Bullets(said, lead),) if said else ()


def water(trial: Trial, results: Results) -> Section | None:
    """Return the water that was used, and the solution over time."""
    found = tables.measures_of(results, WATER)
    if not found:
        return None
    return Section(
        "water",
        "Water",
        (
            *figures.water_events(trial),
            tables.estimates(trial, found, "water-figures", "Water use of each treatment")[0],
            *tables.comparisons(trial, found, "water-comparisons", "Comparisons of water use with the reference"),
            *figures.weight_and_water(trial),
            *_solution(trial, results),
        ),
    )


def _solution(trial: Trial, results: Results) -> tuple[Block, ...]:
    """Return EC, pH and temperature of the solution over time, and their means."""
    found = tables.measures_of(results, SOLUTION)
    means = tables.estimates(trial, found, "solution-figures", "The solution of each treatment, over time")[:1]
    return (*figures.solution(trial), *(means if found else ()))


def energy(trial: Trial, results: Results) -> Section | None:
    """Return the electricity that was used, and what it cost."""
    found = tables.measures_of(results, ENERGY)
    if not found:
        return None
    cost = wording.result_of(results, "electricity_cost_per_gram")
    blocks: list[Block] = [*figures.energy(trial)]
    if is_shared(trial):
        blocks.append(Paragraph("One meter served all treatments; its energy was given out in proportion to trays."))
    blocks.append(tables.estimates(trial, found, "energy-figures", "Electricity of each treatment")[0])
    blocks += tables.comparisons(trial, found, "energy-comparisons", "Comparisons of electricity with the reference")
    if cost is not None:
        blocks += [Subheading("Cost"), *_tariff(trial), *figures.estimates(trial, cost)]
        blocks += figures.cost_parts(trial, results)
        blocks += [*(() if trial.tariff else figures.cost_against_price(trial, results)), *_price_words(trial, results)]
        if trial.electricity_price and not trial.tariff:
            blocks.append(_at_other_prices(trial, cost, trial.electricity_price))
    return Section("energy", "Energy and cost", tuple(blocks))


def _tariff(trial: Trial) -> tuple[Block, ...]:
    """Return what each treatment paid for a kilowatt-hour, where prices go by the time of day."""
    if not trial.tariff:
        return ()
    said = numbers.listed(
        tuple(
            f"{numbers.plain(price)} {trial.currency}/kWh for {wording.name_of(trial, code)}"
            for code, price in prices(trial).items()
        )
    )
    return (
        Paragraph(f"Electricity has prices by the time of day. Its mean price over the hours of light was {said}."),
    )


def _price_words(trial: Trial, results: Results) -> tuple[Block, ...]:
    """Return at which prices treatments cost the same, and when dearer equipment has paid for itself."""
    measures = figures.by_key(results)
    equal = () if trial.tariff else equal_costs(costs_of_gram(trial, measures))
    said = [
        f"At {numbers.plain(one.price)} {trial.currency}/kWh a gram costs {wording.name_of(trial, one.below)} and "
        f"{wording.name_of(trial, one.above)} the same; cheaper electricity favours "
        f"{wording.name_of(trial, one.below)}."
        for one in equal
    ]
    said += [_payback(trial, one) for one in paybacks(trial, measures)]
    lead = "At other prices, as the trays measured, without their uncertainty:"
    return (Bullets(tuple(said), lead),) if said else ()


def _payback(trial: Trial, payback: Payback) -> str:
    name, reference = wording.name_of(trial, payback.treatment), wording.name_of(trial, trial.reference)
    word = wording.unit_of(trial)
    extra = f"{numbers.plain(payback.extra)} {trial.currency} a {word}"
    dearer = f"The equipment of {name} cost {extra} more than that of {reference}"
    if payback.days is None:
        return f"{dearer}, and its harvest cost no less to run, so it does not pay for itself."
    saving = f"{dearer}. Its harvest cost {numbers.plain(payback.saving)} {trial.currency} a {word} and day less to run"
    if payback.days > payback.lasts:
        return (
            f"{saving}, which would pay for it in {numbers.plain(payback.days)} days of growing: longer than the "
            f"{numbers.plain(payback.lasts)} days that it lasts."
        )
    days = numbers.plain(payback.days)
    return f"{saving}, so it pays for itself in {days} days of growing (simple payback, without interest)."


def light_and_climate(trial: Trial, results: Results) -> Section | None:
    """Return the light and the air that plants had."""
    light, climate = tables.measures_of(results, LIGHT), tables.measures_of(results, CLIMATE)
    if not light and not climate:
        return None
    blocks: list[Block] = [*figures.light_map(trial, results)]
    if light:
        blocks += tables.estimates(trial, light, "light-figures", "Light of each treatment")
    blocks += figures.climate(trial, results)
    if climate:
        blocks += tables.estimates(trial, climate, "climate-figures", "Air of each treatment, mean over time")[:1]
    return Section("light-and-climate", "Light and climate", tuple(blocks))


def _at_other_prices(trial: Trial, cost: MeasureResult, price: float) -> Table:
    """Return the cost per gram at a few prices: it is in proportion to the price."""
    rows = tuple(
        (
            numbers.typed(step * price) + (" (this trial's)" if step == 1 else ""),
            *(numbers.plain(None if each.value is None else step * each.value) for _, each in cost.estimates),
        )
        for step in PRICE_STEPS
    )
    head = (
        f"Price ({trial.currency}/kWh)",
        *(f"{treatment.name} ({trial.currency}/g)" for treatment in trial.treatments),
    )
    caption = "Electricity cost per gram at other prices of electricity"
    return Table("prices", caption, head, rows, (False, *(True for _ in head[1:])))


def own_words(trial: Trial) -> Section | None:
    """Return what the grower says of the trial."""
    by = trial.about.author or "the grower"
    blocks = tuple(Prose(text, by) for text in (trial.about.summary, trial.about.conclusion) if text)
    return Section("own-words", "In the grower's words", blocks) if blocks else None
