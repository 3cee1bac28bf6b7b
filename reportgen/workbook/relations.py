"""The third pass: relations between cells, rows and sheets, for values that passed alone."""

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from datetime import date
from typing import Final

from reportgen.language import listed, plural, say
from reportgen.model.problem import Problem, Severity
from reportgen.workbook.alike import codes_nearly_alike, codes_typed_otherwise
from reportgen.workbook.book import Book, flawed, in_year, rows_of, swap_hint, trial_row
from reportgen.workbook.energy import (
    gaps_at_resets,
    loads_beside_meters,
    loads_within_the_trial,
    meters_of_the_trial,
    paces_of_meters,
    tariff_of_the_whole_day,
)
from reportgen.workbook.factors import factors_are_complete, factors_can_be_analysed
from reportgen.workbook.light import heights_in_use, light_in_one_place
from reportgen.workbook.pickings import (
    every_picking_is_measured,
    grades_tell_culls,
    grades_throughout,
    has_weighed_pickings,
    one_source_of_yield,
    pickings_have_an_amount,
    pickings_of_every_tray,
    pickings_of_trays_with_plants,
    pickings_once,
)
from reportgen.workbook.recorded import (
    FRESH_WEIGHT,
    records_of_plants,
    something_measured,
    weight_in_use,
)
from reportgen.workbook.records import (
    dates_within_the_trial,
    equipment_with_its_use,
    growth_of_plants_seen_again,
    main_measure_is_known,
    one_produce_price,
    plants_are_known,
    resolutions_of_what_is_measured,
    trial_of_a_year_at_most,
    units_serve_trays,
)
from reportgen.workbook.references import codes
from reportgen.workbook.scores import scores_without_scale
from reportgen.workbook.shrinking import measures_that_shrink
from reportgen.workbook.sizes import (
    numbers_far_above_like_cells,
    sizes_of_plants,
    weights_in_kilograms,
)
from reportgen.workbook.slipped import slipped_numbers
from reportgen.workbook.table import INVALID, Row, Table, number_weighed
from reportgen.workbook.values import shown
from reportgen.workbook.wrong_dates import days_in_order, years_of_records, years_of_the_trial

Check = Callable[[Book], Iterator[Problem]]
BLOCKS_NAMED: Final = 4


def problems_of(book: Book) -> Iterator[Problem]:
    """Yield every problem in the relations of a workbook whose codes are resolved."""
    for check in CHECKS:
        yield from check(book)


def dates_in_order(book: Book) -> Iterator[Problem]:
    """Sowing, start and harvest follow one another."""
    trial = trial_row(book)
    sown, start, harvest = (trial.get(name) for name in ("Sown on", "Started on", "Harvested on"))
    if isinstance(start, date) and isinstance(harvest, date) and harvest <= start:
        yield _harvest_before_start(trial, harvest, start)
    if isinstance(sown, date) and isinstance(start, date) and sown > start:
        yield trial.error(
            "Sown on",
            say("sowing on {sown} is after the start on {start}", sown=sown, start=start),
            say("an earlier date"),
            say("{hint}Mend one of the two.", hint=swap_hint(sown, date.min, start)),
            code="sowing_after_start",
        )


def _year_hint(harvest: date, start: date) -> str:
    """Return a question where the harvest would follow the start with the year after."""
    moved = in_year(harvest, start.year + 1)
    if moved and harvest.year == start.year:
        return say("Is {moved} meant? ", moved=moved)
    return ""


def two_treatments(book: Book) -> Iterator[Problem]:
    """A comparison needs two treatments."""
    if flawed(book, "Treatments", "Treatment") or flawed(book, "Trays", "Treatment"):
        return
    found = set(codes(book["Treatments"]))
    if len(found) < 2:
        yield Problem(
            Severity.ERROR,
            book["Treatments"].title,
            book["Treatments"].where("Treatment"),
            plural("{number} treatment", "{number} treatments", len(found)),
            say("two treatments or more"),
            say("Add a row for each treatment that was compared."),
            code="too_few_treatments",
        )


def trays_for_each_treatment(book: Book) -> Iterator[Problem]:
    """Each treatment was given to a tray with plants."""
    if flawed(book, "Trays", "Treatment", "Plants started", "Tray"):
        return
    grown = {
        row.text("Treatment") for row in rows_of(book, "Trays") if row.get("Plants started") != 0
    }
    for row in rows_of(book, "Treatments"):
        code = row.text("Treatment")
        if code and code not in grown:
            yield row.error(
                "Treatment",
                say('no tray with plants has the treatment "{code}"', code=code),
                say("a tray at least"),
                say(
                    "Add its trays to the sheet {trays}, or delete the treatment.",
                    trays=row.sheet("Trays"),
                ),
                code="treatment_without_tray",
            )


def pots_where_plants_are_units(book: Book) -> Iterator[Problem]:
    """With the plant as experimental unit a row of Trays is one pot, so several plants in it count
    as one.
    """
    if trial_row(book).get("Experimental unit") != "plant":
        return
    for row in rows_of(book, "Trays"):
        started = row.number_in("Plants started") or 0
        if started > 1:
            yield row.caution(
                "Plants started",
                say("{started} plants share one pot", started=f"{started:g}"),
                say("one plant a row where the plant is the experimental unit"),
                say(
                    "They count as one unit; give each plant that was treated on its own a row of its"
                    " own."
                ),
                code="plants_share_pot",
            )


def _harvest_before_start(trial: Row, harvest: date, start: date) -> Problem:
    hint = swap_hint(harvest, start, date.max) or _year_hint(harvest, start)
    return trial.error(
        "Harvested on",
        say(
            "harvest on {harvest} is not after the start on {start}",
            harvest=harvest,
            start=start,
        ),
        say("a later date"),
        say("{hint}Mend one of the two.", hint=hint),
        code="harvest_before_start",
    )


def status_and_weight_agree(book: Book) -> Iterator[Problem]:
    """A harvested plant has a weight where others have, and a lost one has none.

    No weight is needed where pickings were weighed.
    """
    weight = weight_in_use(book)
    if not weight:
        return
    is_needed = weight == FRESH_WEIGHT and not has_weighed_pickings(book)
    for row in rows_of(book, "Plants"):
        status = row.raw("Status") or "harvested"
        value = row.raw(weight)
        if is_needed and status == "harvested" and value is None:
            yield _weight_missing(row, weight)
        if status in ("dead", "removed") and isinstance(value, float):
            yield _weight_of_lost_plant(row, weight, value)


def _weight_missing(row: Row, weight: str) -> Problem:
    return row.error(
        weight,
        say("{weight} is not filled in yet", weight=row.called(weight)),
        say("a weight, or the status {lost}", lost=_lost(row)),
        say(
            "Type the weight, or write in {status} what became of the plant.",
            status=row.called("Status"),
        ),
        code="weight_missing",
    )


def _weight_of_lost_plant(row: Row, weight: str, value: float) -> Problem:
    return row.error(
        weight,
        say(
            "a plant that is {status} has a {weight} of {value} g",
            status=row.word(row.text("Status")),
            weight=row.called(weight).casefold(),
            value=f"{value:g}",
        ),
        say("no weight"),
        say(
            "Clear the weight, or change the status to {harvested}.",
            harvested=row.word("harvested"),
        ),
        code="weight_of_lost_plant",
    )


def _lost(row: Row) -> str:
    """Return the words for a plant that was lost."""
    return say("{dead} or {removed}", dead=row.word("dead"), removed=row.word("removed"))


def weights_of_some_plant(book: Book) -> Iterator[Problem]:
    """A weight is of one plant at least."""
    weight = weight_in_use(book)
    for row in rows_of(book, "Plants"):
        value = row.number_in(weight)
        if row.number_in("Plants weighed") == 0 and value:
            yield row.error(
                "Plants weighed",
                say(
                    "no plant was weighed, and the {weight} is {value} g",
                    weight=row.called(weight).casefold(),
                    value=f"{value:g}",
                ),
                say("how many plants were weighed together"),
                say("Type their number, or clear the weight."),
                code="weight_of_no_plant",
            )


def light_of_own_treatment(book: Book) -> Iterator[Problem]:
    """A reading at a tray's place is of the treatment that the tray has."""
    treatments = {row.text("Tray"): row.text("Treatment") for row in rows_of(book, "Trays")}
    for row in rows_of(book, "Light"):
        tray, treatment = row.text("Tray"), row.text("Treatment")
        own = treatments.get(tray, "")
        if tray and treatment and own and own != treatment:
            yield row.error(
                "Tray",
                say(
                    'tray "{tray}" has the treatment "{own}", and the reading is of "{treatment}"',
                    tray=shown(tray),
                    own=shown(own),
                    treatment=shown(treatment),
                ),
                say("a tray of the reading's treatment"),
                say("Correct the tray or the treatment."),
                code="tray_of_other_treatment",
            )


def dry_below_fresh(book: Book) -> Iterator[Problem]:
    """No plant is heavier dry than fresh."""
    for row in rows_of(book, "Plants"):
        fresh, dry = row.number_in("Fresh weight"), row.number_in("Dry weight")
        if fresh is not None and dry is not None and dry > fresh:
            yield row.caution(
                "Dry weight",
                say(
                    "dry weight {dry} g is above fresh weight {fresh} g",
                    dry=f"{dry:g}",
                    fresh=f"{fresh:g}",
                ),
                say("less than the fresh weight"),
                say("Check both weights and their units; they were used as they stand."),
                code="dry_above_fresh",
            )


def blocks_that_hold_treatments(book: Book) -> Iterator[Problem]:
    """Blocks are given for every tray, and hold more than one treatment."""
    if flawed(book, "Trays", "Block", "Treatment", "Plants started"):
        return
    if "Block" not in book["Trays"].letters:
        return
    blocks: dict[str, set[str]] = defaultdict(set)
    for row in rows_of(book, "Trays"):
        if row.get("Plants started") != 0:
            blocks[row.text("Block")].add(row.text("Treatment"))
    treatments = set[str]().union(*blocks.values())
    if set(blocks) == {""} or (len(treatments) < 2 and "" not in blocks):
        return
    found, advice, code = _fault_of_blocks(book, blocks)
    if found:
        expected = say("a block for every tray, each block with a tray of every treatment")
        table = book["Trays"]
        yield Problem(
            Severity.CAUTION, table.title, table.where("Block"), found, expected, advice, code=code
        )


def _fault_of_blocks(book: Book, held: Mapping[str, set[str]]) -> tuple[str, str, str]:
    """Return what is wrong with the blocks, what to do, and its code; empty where all is well.

    held: the treatments of each block.
    """
    alone = _blocks_of_one_treatment(book["Trays"], held)
    unused = say("The blocks were not used. Fill them in, or leave the column blank.")
    if "" in held:
        return say("some trays have a block and some have none"), unused, "blocks_incomplete"
    if len(alone) == len(held):
        said = say(
            "no block holds more than one treatment, so places and treatments cannot be told apart"
        )
        return said, unused, "block_of_one_treatment"
    if not alone or flawed(
        book, "Plants", "Tray"
    ):  # a tray that is missing from the list may be in that block
        return "", "", ""
    named = listed(list(map(_quoted, alone[:BLOCKS_NAMED])))
    advice = say(
        "Check the blocks of these trays: as they stand they bring nothing to a"
        " comparison within blocks."
    )
    return (
        plural(
            "{named} holds one treatment only",
            "{named} hold one treatment only",
            len(alone),
            named=named,
        ),
        advice,
        "block_of_one_treatment",
    )


def _blocks_of_one_treatment(table: Table, held: Mapping[str, set[str]]) -> list[str]:
    """Return the blocks that hold one treatment, without those whose code is probably a slip, as
    another check says.
    """
    alone = [block for block, treatments in held.items() if len(treatments) == 1]
    slips = codes_nearly_alike(table, "Block")
    told = {*slips, *slips.values()}
    if len(alone) == len(held):
        return alone
    return [block for block in alone if block not in told]


def _quoted(block: str) -> str:
    return f'"{shown(block)}"'


def plants_of_each_tray(book: Book) -> Iterator[Problem]:
    """The plants on the sheet Plants are those that each tray was started with."""
    if flawed(book, "Plants", "Tray", "Plant"):
        return
    numbers: dict[str, int] = defaultdict(int)
    weighed_together: set[str] = set()
    for row in rows_of(book, "Plants"):
        tray = row.text("Tray")
        numbers[tray] += number_weighed(row)
        if row.get("Plants weighed") is not None:
            weighed_together.add(tray)
    for row in rows_of(book, "Trays"):
        started = row.number_in("Plants started")
        tray = row.text("Tray")
        if started is None or not tray:
            continue
        lacks_some = 0 < numbers[tray] < started
        if not (lacks_some and tray in weighed_together):
            yield from _plants_of_tray(row, int(started), numbers[tray])


def plants_started(book: Book) -> Iterator[Problem]:
    """The plants of each tray at the start are known, where plants were weighed or are counted."""
    if flawed(book, "Trays", "Tray", "Treatment", "Plants started") or not records_of_plants(book):
        return
    trays = book["Trays"]
    has_column = "Plants started" in trays.letters
    if not has_column and not weight_in_use(book):
        return
    untold = [row for row in trays.rows() if row.get("Plants started") is None]
    if untold:
        cell = ""
        if has_column:
            cell = untold[0].cell("Plants started")
        yield Problem(
            Severity.CAUTION,
            trays.title,
            cell,
            plural(
                "it is not known how many plants {number} tray was started with",
                "it is not known how many plants {number} trays were started with",
                len(untold),
            ),
            say("the number of plants of every tray"),
            say(
                "Survival and yield per plant started are not known there. Fill it in where you"
                " know it."
            ),
            code="started_not_known",
        )


def _plants_of_tray(row: Row, started: int, seen: int) -> Iterator[Problem]:
    tray = row.text("Tray")
    if started and not seen:
        yield row.error(
            "Tray",
            say(
                'no plant of tray "{tray}" is on the sheet {plants}',
                tray=tray,
                plants=row.sheet("Plants"),
            ),
            _plants(started),
            say("Add them, lost ones with the status {lost}.", lost=_lost(row)),
            code="tray_without_plants",
        )
    elif seen > started:
        yield row.error(
            "Plants started",
            say(
                'tray "{tray}" has {plants} on the sheet {sheet}, {started} started',
                tray=tray,
                plants=_plants(seen),
                sheet=row.sheet("Plants"),
                started=started,
            ),
            say("{plants} at most", plants=_plants(started)),
            say("Mend the number started, or delete the rows that are not of this tray."),
            code="more_plants_than_started",
        )
    elif seen < started:
        yield row.caution(
            "Plants started",
            say(
                'tray "{tray}" has {plants} on the sheet {sheet}, {started} started',
                tray=tray,
                plants=_plants(seen),
                sheet=row.sheet("Plants"),
                started=started,
            ),
            say("a row for every plant"),
            say(
                "The others count as lost; give each a row with the status {lost}.", lost=_lost(row)
            ),
            code="fewer_plants_than_started",
        )


def _plants(number: int) -> str:
    return plural("{number} plant", "{number} plants", number)


def solution_of_each_tray(book: Book) -> Iterator[Problem]:
    """Each tray's water budget has a beginning and an end, and no more came out than went in."""
    if flawed(book, "Solution", "Tray", "Event", "Volume"):
        return
    volumes: dict[str, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    for row in rows_of(book, "Solution"):
        volumes[row.text("Tray")][row.text("Event")] += row.number_in("Volume") or 0.0
    for row in rows_of(book, "Trays"):
        if row.text("Tray") and row.raw("Plants started") is not INVALID:
            yield from _solution_of_tray(row, volumes[row.text("Tray")])


def _solution_of_tray(row: Row, volumes: Mapping[str, float]) -> Iterator[Problem]:
    tray = row.text("Tray")
    is_counted = "used" in volumes and "fill" not in volumes
    lacking = [event for event in ("fill", "remaining") if event not in volumes and not is_counted]
    given = volumes.get("fill", 0) + volumes.get("top-up", 0) + volumes.get("used", 0)
    taken = volumes.get("sample", 0) + volumes.get("drain", 0) + volumes.get("remaining", 0)
    if lacking:
        yield row.caution(
            "Tray",
            say(
                'tray "{tray}" has no {lacking} on the sheet {solution}',
                tray=tray,
                lacking=say(" and no ").join(map(row.word, lacking)),
                solution=row.sheet("Solution"),
            ),
            say("what went in and what was left"),
            say(
                "Its water use is not known, and it is left out of the water figures. Add the"
                " missing rows."
            ),
            code="solution_incomplete",
        )
    elif taken > given * (1 + 1e-9):
        yield row.error(
            "Tray",
            say(
                'more solution came out of tray "{tray}" than went in: {taken} L of {given} L',
                tray=tray,
                taken=f"{taken:.6g}",
                given=f"{given:.6g}",
            ),
            say("less than went in"),
            say(
                "Look for a missing {fill} or {top_up} on the sheet {solution}, or a volume in"
                " another unit.",
                fill=row.word("fill"),
                top_up=row.word("top-up"),
                solution=row.sheet("Solution"),
            ),
            code="more_out_than_in",
        )


CHECKS: Final[tuple[Check, ...]] = (
    something_measured,
    dates_in_order,
    two_treatments,
    trays_for_each_treatment,
    factors_are_complete,
    factors_can_be_analysed,
    pots_where_plants_are_units,
    status_and_weight_agree,
    weights_of_some_plant,
    slipped_numbers,
    measures_that_shrink,
    sizes_of_plants,
    numbers_far_above_like_cells,
    weights_in_kilograms,
    dry_below_fresh,
    light_of_own_treatment,
    codes_typed_otherwise,
    blocks_that_hold_treatments,
    plants_of_each_tray,
    plants_started,
    pickings_have_an_amount,
    every_picking_is_measured,
    pickings_of_every_tray,
    pickings_of_trays_with_plants,
    pickings_once,
    one_source_of_yield,
    grades_throughout,
    grades_tell_culls,
    solution_of_each_tray,
    dates_within_the_trial,
    trial_of_a_year_at_most,
    years_of_the_trial,
    years_of_records,
    days_in_order,
    meters_of_the_trial,
    paces_of_meters,
    gaps_at_resets,
    loads_beside_meters,
    loads_within_the_trial,
    tariff_of_the_whole_day,
    plants_are_known,
    growth_of_plants_seen_again,
    scores_without_scale,
    light_in_one_place,
    heights_in_use,
    equipment_with_its_use,
    main_measure_is_known,
    one_produce_price,
    units_serve_trays,
    resolutions_of_what_is_measured,
)
