"""The sections of a report, in reading order; a section without data is not there."""

from dataclasses import dataclass

from reportgen import language
from reportgen.language import marked, percent, plural, say
from reportgen.metrics.basis import on_each_basis
from reportgen.metrics.blocks import is_blocked
from reportgen.metrics.energy import is_shared
from reportgen.metrics.measures import DECLARED
from reportgen.metrics.pickings import is_weighed
from reportgen.metrics.planning import variation_of
from reportgen.metrics.tariff import prices
from reportgen.metrics.totals import harvested_in, is_harvested, planted, weighs_fresh
from reportgen.model.document import Block, Bullets, Facts, Notice, Paragraph, Prose, Section, Subheading, Table
from reportgen.model.grouped import grouped
from reportgen.model.problem import Severity
from reportgen.model.results import MeasureResult, Results
from reportgen.model.trial import Treatment, Trial
from reportgen.report import (
    adjusted,
    figures,
    growth_over_time,
    interim,
    messages,
    money,
    numbers,
    own_price,
    robustness,
    tables,
    terms,
    wording,
)
from reportgen.report.factor_answer import reads_as_curve
from reportgen.report.key_figures import key_measures
from reportgen.stats.power import cv_of

GROWTH = ("fresh_weight", *on_each_basis("yield_per_plant_started", "tray_yield"), "survival")
WATER = ("water_use", *on_each_basis("water_per_gram", "yield_per_litre"), "evaporation", "transpiration")
SOLUTION = ("ec", "ph", "solution_temperature", "solution_temperature_logged")
ENERGY = (
    "energy_use",
    *on_each_basis(
        "energy_per_kg",
        "yield_per_kwh",
        "electricity_cost_per_gram",
        "yield_per_currency",
        "running_cost_per_gram",
    ),
)
LIGHT = ("ppfd", "ppfd_uniformity", "dli", "photons", *on_each_basis("yield_per_mol"), "canopy_efficacy")
CLIMATE = ("air_temperature", "relative_humidity", "vpd", "co2")
PLACES = {
    True: marked("Places were drawn at random."),
    False: marked("Places were not drawn at random."),
    None: marked("Whether places were drawn at random is not recorded."),
}
PLACES_BY_LAYOUT = {
    True: marked("Places were drawn at random ({layout})."),
    False: marked("Places were not drawn at random ({layout})."),
    None: marked("Whether places were drawn at random is not recorded ({layout})."),
}
LOST_COUNT_NOTHING = marked(
    "Of {started} plants started, {kept} were harvested; {lost}. Fresh weight counts harvested plants only; yield "
    "per plant started counts the lost ones as nothing."
)
PICKED_UNTIL_LOST = marked(
    "Of {started} plants started, {kept} stood to the last picking; {lost}. What a lost plant gave before counts in "
    "the yields."
)
SHARED_METER = marked("One meter served all treatments; its energy was given out in proportion to {units}.")


@dataclass(frozen=True)
class KeptWords:
    """How a report speaks of the plants that were not lost."""

    all_kept: str
    some_lost: str
    started_not_known: str


HARVESTED = KeptWords(
    marked("All {number} plants that were started were harvested."),
    marked("Of {started} plants started, {kept} were harvested; {lost}."),
    marked("{kept} plants were harvested; how many were started is not known."),
)
STANDING = KeptWords(  # where plants were measured or counted alive, and nothing was weighed
    marked("All {number} plants that were started stood to the end."),
    marked("Of {started} plants started, {kept} stood to the end; {lost}."),
    marked("{kept} plants stood to the end; how many were started is not known."),
)
PRICE_STEPS = (0.5, 0.75, 1.0, 1.5, 2.0)


def glance(trial: Trial, results: Results) -> Section:
    """Return what the trial found, at a glance, and what a reader must be warned of."""
    keys = key_measures(results)
    found = tables.measures_of(results, keys)
    if trial.interim:
        return Section("glance", say("At a glance"), (*_so_far(trial, results, found), *_warning(trial)))
    figures_and_ratios = tables.estimates(trial, results, found, "at-a-glance", say("Key figures of each treatment"))
    overview = figures.overview(trial, results, keys)
    if reads_as_curve(results):  # the curve compares doses, and the annex has the pairs
        figures_and_ratios, overview = figures_and_ratios[:1], ()
    secondary = (Paragraph(robustness.secondary(trial, results)),) if results.main_measure else ()
    blocks = (*overview, *secondary, *figures_and_ratios, *_warning(trial))
    return Section("glance", say("At a glance"), blocks)


def _so_far(trial: Trial, results: Results, found: list[MeasureResult]) -> tuple[Block, ...]:
    """Return how much of an unfinished trial is recorded, and its figures so far."""
    caption = say("Figures of each treatment so far")
    known = tables.estimates(trial, results, found, "at-a-glance", caption) if found else ()
    return (interim.table(trial), *known)


def _warning(trial: Trial) -> tuple[Notice, ...]:
    """Return what a reader must be warned of."""
    found = grouped(finding for finding in trial.findings if finding.severity is Severity.CAUTION)
    cautions = tuple(map(str, found))
    lead = say("Read with care: what the check of the workbook found")
    if language.current().tag != language.ENGLISH.tag:
        lead = say("Read with care: what the check of the workbook found (in English, as the check prints it)")
    return (Notice(lead, cautions),) if cautions else ()


def compared(trial: Trial, results: Results) -> Section:
    """Return what was compared and how places were given."""
    table = _treatments(trial, results)
    described = tuple(text for treatment in trial.treatments if (text := _described(treatment)))
    blocks: list[Block] = [Paragraph(_how_compared(trial)), table]
    blocks += [Bullets(described, say("What each treatment was:"))] if described else []
    blocks += [Facts(facts)] if (facts := _growing_facts(trial)) else []
    return Section("compared", say("What was compared"), (*blocks, *figures.layout(trial)))


def _treatments(trial: Trial, results: Results) -> Table:
    """Return how much there was of each treatment; plants that are known of none have no column."""
    trays = wording.capital(wording.unit_of(trial, 2))
    columns: list[tuple[str, list[str]]] = [
        (say("Treatment"), [_name_in_list(trial, count.treatment) for count in results.counts]),
        (say("Code"), [count.treatment for count in results.counts]),
        (trays, [str(count.trays) for count in results.counts]),
    ]
    started = [count.plants_started for count in results.counts]
    harvested = [count.plants_harvested for count in results.counts]
    kept = say("Plants harvested") if is_harvested(trial) else say("Plants at the end")
    for head, numbers_of in ((say("Plants started"), started), (kept, harvested)):
        if any(number is not None for number in numbers_of):
            columns.append((head, [_plants_known(number) for number in numbers_of]))
    rows = tuple(zip(*(cells for _, cells in columns), strict=True))
    caption = say("Treatments, and how much of each there was")
    numeric = (False, False, *(True for _ in columns[2:]))
    return Table("treatments", caption, tuple(head for head, _ in columns), rows, numeric)


def _plants_known(number: int | None) -> str:
    return say("not known") if number is None else str(number)


def _name_in_list(trial: Trial, code: str) -> str:
    name = wording.name_of(trial, code)
    return say("{name} (reference)", name=name) if code == trial.reference else name


def _described(treatment: Treatment) -> str:
    known = (
        (marked("photoperiod {number} h"), treatment.photoperiod),
        (marked("lit area {number} m² a {unit}"), treatment.canopy_area),
        (marked("rated power {number} W"), treatment.rated_power),
        (marked("rated efficacy {number} µmol/J"), treatment.rated_efficacy or None),
    )
    typed = [
        say(message, number=numbers.typed(value), unit=terms.unit_word(language.container()))
        for message, value in known
        if value is not None
    ]
    said = "; ".join(
        part for part in (treatment.description.rstrip("."), *typed, treatment.equipment.rstrip(".")) if part
    )
    return f"{treatment.name}: {said}." if said else ""


def _how_compared(trial: Trial) -> str:
    unit = (
        say("The plant, each in a pot of its own, is the experimental unit.")
        if trial.experimental_unit == "plant"
        else say(
            "The tray is the experimental unit: plants in one tray share solution and place, and are not replicates."
        )
    )
    layout = trial.about.layout
    drawn = trial.about.randomised
    places = say(PLACES_BY_LAYOUT[drawn], layout=layout) if layout else say(PLACES[drawn])
    return f"{_given(trial)} {places} {unit}"


def _given(trial: Trial) -> str:
    """Return how many treatments were given to how many trays, and in how many blocks."""
    treatments, units = len(trial.treatments), wording.units_counted(trial, len(planted(trial)))
    if not is_blocked(trial):
        return say("{treatments} treatments were given to {units}.", treatments=treatments, units=units)
    return plural(
        "{treatments} treatments were given to {units} in {number} block.",
        "{treatments} treatments were given to {units} in {number} blocks.",
        len({tray.block for tray in planted(trial)}),
        treatments=treatments,
        units=units,
    )


def _growing_facts(trial: Trial) -> tuple[tuple[str, str], ...]:
    known = (
        (say("Growing system"), trial.about.growing_system),
        (say("Nutrient recipe"), trial.about.nutrient_recipe),
        (say("Sown on"), numbers.day(trial.sown_on) if trial.sown_on else ""),
    )
    return tuple((term, text) for term, text in known if text)


def growth(trial: Trial, results: Results) -> Section | None:
    """Return how the plants grew, and which were lost."""
    others = [result.measure for result in results.measures if result.measure.key not in DECLARED]
    traits = tuple(measure.key for measure in others if not measure.grade)
    yields = ("survival",) if is_weighed(trial) else GROWTH  # what was picked has a section of its own
    found = tables.measures_of(results, (*yields, "dry_matter", *traits))
    if not found:
        return None
    return Section(
        "growth",
        say("Growth"),
        (
            *figures.plants(trial, results),
            tables.estimates(trial, results, found, "growth-figures", say("Growth of each treatment"))[0],
            *tables.comparisons(trial, found, "growth-comparisons", say("Comparisons of growth with the reference")),
            *adjusted.blocks(trial, results),
            *_losses(trial),
            *_variation(trial),
            *_plants_spread(trial, results),
            *growth_over_time.blocks(trial, results),
        ),
    )


def _losses(trial: Trial) -> tuple[Block, ...]:
    """Return how many plants were lost, where plants are recorded."""
    return (Paragraph(_lost(trial)),) if trial.plants else ()


def _lost(trial: Trial) -> str:
    words = HARVESTED if is_harvested(trial) else STANDING
    started = sum(tray.plants_started for tray in trial.trays)
    kept = sum(harvested_in(plant) for plant in trial.plants)
    if not all(tray.started_known for tray in trial.trays):
        return say(words.started_not_known, kept=kept)
    dead = sum(plant.status == "dead" for plant in trial.plants)
    removed = sum(plant.status == "removed" for plant in trial.plants)
    if kept == started:
        return say(words.all_kept, number=started)
    unseen = 0 if trial.interim else started - kept - dead - removed
    parts = (
        plural("{number} died", "{number} died", dead) if dead else "",
        plural("{number} was removed", "{number} were removed", removed) if removed else "",
        plural("{number} is not accounted for", "{number} are not accounted for", unseen) if unseen else "",
    )
    lost = numbers.listed(tuple(part for part in parts if part))
    if trial.interim:
        return interim.harvested(trial, kept, lost)
    message = words.some_lost
    if is_weighed(trial):
        message = PICKED_UNTIL_LOST
    elif weighs_fresh(trial):
        message = LOST_COUNT_NOTHING
    return say(message, started=started, kept=kept, lost=lost)


def _variation(trial: Trial) -> tuple[Block, ...]:
    """Return how much weights vary between trays and within them, as the next trial's plan needs it."""
    found = None if trial.interim else variation_of(trial, blocked=False)
    if found is None or not found.spread.degrees_within:
        return ()
    variances = {"between": found.spread.between, "within": found.spread.within}
    parts = {name: percent(numbers.three_digits(100 * cv_of(variance))) for name, variance in variances.items()}
    message = marked(
        "Apart from the treatments, fresh weights varied by {between} between {units} and by {within} between plants "
        "in a {unit} (coefficients of variation, from the nested analysis of variance)."
    )
    words = {"unit": wording.unit_of(trial), "units": wording.unit_of(trial, 2)}
    return (Paragraph(say(message, **parts, **words)),)


def _plants_spread(trial: Trial, results: Results) -> tuple[Block, ...]:
    """Return the plants' own spread where it is all that a single tray can show."""
    found: list[str] = []
    for result in results.measures:
        for code, estimate in result.estimates:
            for note in estimate.notes:
                if note.code == "plants_own_spread":
                    label, name = terms.label(result.measure), wording.name_of(trial, code)
                    found.append(f"{label}, {name}: {messages.text(trial, note)}.")
    lead = say(
        "With one {unit} of a treatment, only the spread of its plants can be shown:", unit=wording.unit_of(trial)
    )
    return (Bullets(tuple(found), lead),) if found else ()


def water(trial: Trial, results: Results) -> Section | None:
    """Return the water that was used, and the solution over time."""
    found = tables.measures_of(results, WATER)
    if not found and not (trial.interim and trial.solution):
        return None
    return Section(
        "water",
        say("Water"),
        (
            *figures.water_events(trial),
            tables.estimates(trial, results, found, "water-figures", say("Water use of each treatment"))[0],
            *tables.comparisons(trial, found, "water-comparisons", say("Comparisons of water use with the reference")),
            *figures.weight_and_water(trial),
            *_solution(trial, results),
        ),
    )


def _solution(trial: Trial, results: Results) -> tuple[Block, ...]:
    """Return EC, pH and temperature of the solution over time, and their means."""
    found = tables.measures_of(results, SOLUTION)
    means = tables.estimates(
        trial, results, found, "solution-figures", say("The solution of each treatment, over time")
    )[:1]
    return (*figures.solution(trial), *(means if found else ()))


def energy(trial: Trial, results: Results) -> Section | None:
    """Return the electricity that was used, and what it cost."""
    found = tables.measures_of(results, ENERGY)
    if not found and not (trial.interim and trial.meter):
        return None
    cost = wording.result_of(results, "electricity_cost_per_gram")
    blocks: list[Block] = [*figures.energy(trial)]
    if is_shared(trial):
        blocks.append(Paragraph(terms.of_container(SHARED_METER)))
    blocks.append(tables.estimates(trial, results, found, "energy-figures", say("Electricity of each treatment"))[0])
    blocks += tables.comparisons(
        trial, found, "energy-comparisons", say("Comparisons of electricity with the reference")
    )
    if cost is not None:
        blocks += [Subheading(say("Cost")), *_tariff(trial), *figures.estimates(trial, cost)]
        blocks += figures.cost_parts(trial, results)
        blocks += () if trial.tariff else figures.cost_against_price(trial, results)
        blocks += money.other_prices(trial, results)
        if trial.electricity_price and not trial.tariff:
            blocks += [
                _at_other_prices(trial, cost, trial.electricity_price),
            ]
            blocks += () if trial.interim else own_price.block(trial, results)
    blocks += money.budget(trial, results)
    return Section("energy", say("Energy and cost"), tuple(blocks))


def _tariff(trial: Trial) -> tuple[Block, ...]:
    """Return what each treatment paid for a kilowatt-hour, where prices go by the time of day."""
    if not trial.tariff:
        return ()
    message = marked("{price} {currency}/kWh for {name}")
    said = numbers.listed(
        tuple(
            say(message, price=numbers.plain(price), currency=trial.currency, name=wording.name_of(trial, code))
            for code, price in prices(trial).items()
        )
    )
    return (
        Paragraph(
            say(
                "Electricity has prices by the time of day. Its mean price over the hours of light was {prices}.",
                prices=said,
            )
        ),
    )


def light_and_climate(trial: Trial, results: Results) -> Section | None:
    """Return the light and the air that plants had."""
    light, climate = tables.measures_of(results, LIGHT), tables.measures_of(results, CLIMATE)
    if not light and not climate:
        return None
    blocks: list[Block] = [*figures.light_map(trial, results)]
    if light:
        blocks += tables.estimates(trial, results, light, "light-figures", say("Light of each treatment"))
    blocks += figures.climate(trial, results)
    if climate:
        blocks += tables.estimates(
            trial, results, climate, "climate-figures", say("Air of each treatment, mean over time")
        )[:1]
    return Section("light-and-climate", say("Light and climate"), tuple(blocks))


def _at_other_prices(trial: Trial, cost: MeasureResult, price: float) -> Table:
    """Return the cost per gram at a few prices: it is in proportion to the price."""
    rows = tuple(
        (
            _price_in_list(numbers.typed(step * price), step == 1),
            *(numbers.plain(None if each.value is None else step * each.value) for _, each in cost.estimates),
        )
        for step in PRICE_STEPS
    )
    head = (
        say("Price ({currency}/kWh)", currency=trial.currency),
        *(f"{treatment.name} ({trial.currency}/g)" for treatment in trial.treatments),
    )
    caption = say("Electricity cost per gram of fresh weight at other prices of electricity")
    return Table("prices", caption, head, rows, (False, *(True for _ in head[1:])))


def _price_in_list(price: str, is_own: bool) -> str:
    return say("{price} (this trial's)", price=price) if is_own else price


def own_words(trial: Trial) -> Section | None:
    """Return what the grower says of the trial."""
    by = trial.about.author or say("the grower")
    blocks = tuple(Prose(text, by) for text in (trial.about.summary, trial.about.conclusion) if text)
    return Section("own-words", say("In the grower's words"), blocks) if blocks else None
