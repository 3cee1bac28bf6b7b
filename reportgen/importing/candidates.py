"""The readings of each table that are left, computed to their figures."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Final

from reportgen.importing.memory import Memory
from reportgen.importing.model.claims import Reading
from reportgen.importing.model.layouts import NOTHING, Covers, Dimension, Layout, Occasions, Values
from reportgen.importing.model.questions import Figures, Summary
from reportgen.importing.model.settings import Settings
from reportgen.importing.model.tables import Table
from reportgen.importing.questions import Candidate, Part
from reportgen.importing.questions.beside import apart_from_codes, coded
from reportgen.importing.questions.describe import WEIGHTS
from reportgen.importing.questions.measures import declared_unit, measure_key, with_answers
from reportgen.importing.questions.namesakes import meaning, namesakes
from reportgen.importing.questions.situation import has_open_quantity, value_columns
from reportgen.importing.questions.structure import CROPS, lacks_treatment, pinned, pins
from reportgen.importing.trial_book import codes_of
from reportgen.importing.words import says

# what no yield depends on: readings that differ only in these are not asked
CONDITIONS: Final = (
    "air_temperature",
    "relative_humidity",
    "co2",
    "solution_temperature",
    "temperature",
    "ph",
    "ec",
    "ppfd",
)
LOGS_OF_CONDITIONS: Final = ("Climate", "Light")
WEIGHED: Final = ("fresh_weight", "dry_weight")  # keys of their figures
WITHIN: Final = 4.0  # points of score: readings further behind the best one are not asked
AGREEMENT: Final = 3.0  # points for the treatments of other tables, and against different ones
SEVERAL: Final = ".parts"
MOST: Final = 24  # candidates of one table that are computed


def parts(memory: Memory, settings: Settings, skipped: Collection[str] = ()) -> tuple[Part, ...]:
    """Return the tables with what is settled or left of each, tables of plants first.

    `skipped` are the keys of questions that their owner does not answer now.
    """
    settled: list[Part] = []
    open_parts: list[tuple[Part, list[Candidate]]] = []
    for table in memory.found(settings).tables:
        layouts = [layout for layout in settings.layouts if layout.table == table.key]
        is_settled = bool(layouts) and f"{table.key}{SEVERAL}" not in settings.answers
        if is_settled:
            settled.extend(_settled(table, layouts, settings.answers))
        elif not table.is_key and not table.is_fields:
            own_settled, own_open = _in_parts(memory, settings, table, layouts)
            settled.extend(own_settled)
            open_parts.extend(own_open)
    open_parts.sort(key=lambda entry: _plants_first(entry[1]))
    return _computed(memory, settings, settled, open_parts, skipped)


def with_several(settings: Settings, parts_now: Sequence[Part]) -> Settings:
    """Return settings that remember which tables have a settled part and an open one."""
    answers = {key: text for key, text in settings.answers.items() if not key.endswith(SEVERAL)}
    settled: set[str] = set()
    unsettled: set[str] = set()
    for part in parts_now:
        if part.layout is None:
            unsettled.add(part.table.key)
        else:
            settled.add(part.table.key)
    for key in dict.fromkeys(part.table.key for part in parts_now):
        if key in settled and key in unsettled:
            answers[f"{key}{SEVERAL}"] = "open"
    return replace(settings, answers=answers)


def _plants_first(options: Sequence[Candidate]) -> tuple[int, float]:
    return _rank(options[0].layout.gives), -options[0].score


def _rank(gives: str) -> int:
    order = ("Plants", "Harvests", "Growth")
    if gives in order:
        return order.index(gives)
    return len(order)


def _settled(table: Table, layouts: Sequence[Layout], answers: Mapping[str, str]) -> list[Part]:
    settled: list[Part] = []
    for index, layout in enumerate(layouts):
        part = _part(table, layout, index)
        settled.append(replace(part, layout=with_answers(layout, part, answers)))
    return settled


def _part(table: Table, layout: Layout, index: int) -> Part:
    """Return the part of a table by its index: the first has the key of the table."""
    if index == 0:
        return Part(table.key, table)
    return Part(f"{table.key} {layout.gives}", table)


def _in_parts(
    memory: Memory, settings: Settings, table: Table, layouts: Sequence[Layout]
) -> tuple[list[Part], list[tuple[Part, list[Candidate]]]]:
    """Return the settled and the open parts of a table.

    Columns that give different sheets are read side by side.
    """
    groups = list(memory.readings(table, settings))
    groups.sort(key=lambda group: _rank(group[0].layout.gives))
    settled: list[Part] = []
    open_parts: list[tuple[Part, list[Candidate]]] = []
    for index, group in enumerate(groups):
        part = _part(table, group[0].layout, index)
        layout = _layout_of_group(layouts, group)
        if layout is not None:
            settled.append(replace(part, layout=with_answers(layout, part, settings.answers)))
            continue
        options = _options(memory, settings, part, group)
        options = _with_codes(memory, settings, table, options)
        if options:
            open_parts.append((part, options))
    return settled, open_parts


def _layout_of_group(layouts: Sequence[Layout], group: Sequence[Reading]) -> Layout | None:
    """Return the settled layout that takes columns of a group of readings, None without one."""
    columns = set().union(*(value_columns(reading.layout) for reading in group))
    for layout in layouts:
        if layout.gives == NOTHING or columns & value_columns(layout):
            return layout
    return None


def _with_codes(
    memory: Memory, settings: Settings, table: Table, options: list[Candidate]
) -> list[Candidate]:
    """Return candidates with the codes of the trial workbook, if the files lie beside one."""
    book = memory.book()
    if book is None:
        return options
    sheets = memory.sheets(settings.conventions)
    return coded(options, table, book, sheets, memory.found(settings))


def _options(
    memory: Memory, settings: Settings, part: Part, group: Iterable[Reading]
) -> list[Candidate]:
    """Return the readings with their owner's answers, best first.

    If some agree with the answers as they are, only those.
    """
    options: list[Candidate] = []
    agreeing: list[Candidate] = []
    answered = pins(part.key, settings.answers)
    sheets = memory.sheets(settings.conventions)
    for reading in group:
        if reading.layout.gives == NOTHING:
            options.append(Candidate(reading.layout, reading.score, {}))
            continue
        changed = pinned(reading.layout, part.table, answered, sheets)
        layout = with_answers(changed, part, settings.answers)
        if not layout.values:
            continue
        candidate = Candidate(layout, reading.score, {})
        options.append(candidate)
        if changed == reading.layout:
            agreeing.append(candidate)
    if answered and agreeing:
        options = agreeing
    return _likely(options)


def _likely(options: Sequence[Candidate]) -> list[Candidate]:
    """Return the candidates that are near enough to the best one to be computed, best first."""
    plausible = [option for option in options if not _has_repeated_quantity(option.layout)]
    ordered = sorted(plausible or options, key=lambda option: -option.score)
    if not ordered:
        return []
    least = ordered[0].score - WITHIN - 2 * AGREEMENT
    near = [option for option in ordered if option.score >= least]
    return near[:MOST]


def _has_repeated_quantity(layout: Layout) -> bool:
    """Tell whether two columns of plants have one quantity: then their values overlap."""
    names = [values.quantity for values in layout.values]
    return layout.gives == "Plants" and len(set(names)) < len(names)


def _computed(
    memory: Memory,
    settings: Settings,
    settled: list[Part],
    open_parts: Sequence[tuple[Part, list[Candidate]]],
    skipped: Collection[str],
) -> tuple[Part, ...]:
    """Return all parts, each open one with the candidates whose figures differ.

    Each part is judged beside the layouts of those before it.
    """
    layouts = [part.layout for part in settled if part.layout is not None]
    parts = list(settled)
    for open_part, options in open_parts:
        part = replace(open_part, options=tuple(options))
        if not _awaits_quantity(part, skipped):
            part = _with_figures(memory, replace(settings, layouts=tuple(layouts)), part)
        parts.append(part)
        layouts.append(part.options[0].layout)
    return tuple(parts)


def _with_figures(memory: Memory, settings: Settings, part: Part) -> Part:
    """Return a part with its distinct candidates, settled where nothing is left to ask."""
    answers = settings.answers
    is_untouched = not pins(part.key, answers) and not _is_checked(part, answers)
    if is_untouched and _are_alike(part.options, part.table):
        return replace(part, layout=part.options[0].layout)
    judged = _judged(memory, settings, part, part.options)
    whole = _of_whole_units(memory, settings, part, judged[0])
    groups = _distinct([*judged, *whole])
    if memory.book() is not None:
        groups = apart_from_codes(groups)
    part = replace(part, options=tuple(groups))
    if _is_asked(memory, settings, part):
        return part
    return replace(part, layout=groups[0].layout)


def _is_asked(memory: Memory, settings: Settings, part: Part) -> bool:
    """Tell whether the owner decides what a part is."""
    if len(part.options) > 1 or _is_checked(part, settings.answers):
        return True
    if memory.book() is not None:
        return False
    layout = part.options[0].layout
    return lacks_treatment(layout, settings.layouts, part.key, settings.answers)


def _are_alike(options: Sequence[Candidate], table: Table) -> bool:
    """Tell whether the choice changes no figure that is asked about.

    A long log is not computed for it.
    """
    first = options[0].layout
    if len(options) == 1:
        return not _has_unnamed_plants(first, table)
    if first.gives == NOTHING:
        return False
    treatments = {repr(option.layout.dimensions.get(Dimension.TREATMENT)) for option in options}
    kinds = {option.layout.gives for option in options}
    return kinds <= {*LOGS_OF_CONDITIONS, NOTHING} and len(treatments) == 1


def _of_whole_units(
    memory: Memory, settings: Settings, part: Part, best: Candidate
) -> list[Candidate]:
    """Return the best candidate with whole trays for plants, if weights may be of either.

    Several weights of a tray, of no plant and no day, may be parts of it that add up. Whether a
    weight is of a plant or of all plants of a tray changes what the report is of, though no total.
    """
    is_answered = "covers" in pins(part.key, settings.answers)
    is_open = not is_answered and _has_unnamed_plants(best.layout, part.table)
    if not is_open or not _has_weights(best):
        return []
    whole = _with_units(best.layout)
    if not _has_one_value_a_unit(best):
        if not _may_add_up(whole):
            return []
        whole = replace(whole, occasions=Occasions.PICKINGS)
    figures = memory.figures(replace(settings, layouts=(*settings.layouts, _for_comparison(whole))))
    new = {key: figures[key] for key in figures if key not in best.gives}
    return [replace(best, layout=whole, gives=new)]


def _may_add_up(layout: Layout) -> bool:
    """Tell whether several weights of a tray may be parts of one: one column, without days."""
    has_days = bool(layout.occasions) or Dimension.OCCASION in layout.dimensions
    return not has_days and len(layout.values) <= 1


def _with_units(layout: Layout) -> Layout:
    """Return a layout whose values are of whole trays."""
    values = tuple(replace(each, covers=Covers.UNIT) for each in layout.values)
    return replace(layout, values=values)


def _of_trays_where_picked(layout: Layout, table: Table) -> Layout:
    """Return a layout whose pickings are of whole trays, unless they are named as of plants.

    The yield of a tray is the same; only the number of plants is, which nobody told.
    """
    is_picked = layout.occasions in (Occasions.PICKINGS, Occasions.RUNNING)
    if is_picked and _has_unnamed_plants(layout, table):
        return _with_units(layout)
    return layout


def _has_unnamed_plants(layout: Layout, table: Table) -> bool:
    """Tell whether weights are read as of single plants, and no label, count or header says so."""
    if layout.gives not in ("Plants", "Harvests"):
        return False
    has_units_alone = (
        Dimension.UNIT in layout.dimensions and Dimension.PLANT not in layout.dimensions
    )
    if not has_units_alone or _names_a_plant(layout, table):
        return False
    weights = [values for values in layout.values if values.quantity in WEIGHTS]
    return bool(weights) and all(map(_is_of_unnamed_plants, weights))


def _names_a_plant(layout: Layout, table: Table) -> bool:
    """Tell whether a carrier of labels or a column of the table has a word for a plant."""
    names = [column.name for column in table.columns]
    for source in layout.dimensions.values():
        names.extend(carrier.name for carrier in source.carriers)
    return any(says(name, "plant") for name in names)


def _is_of_unnamed_plants(values: Values) -> bool:
    """Tell whether values are read as of one plant each, without a count or a header for it."""
    if values.covers is not Covers.PLANT or values.count:
        return False
    return not any(says(name, "per_plant", "plant") for name in values.columns)


def _has_weights(option: Candidate) -> bool:
    return any(key in option.gives for key in WEIGHED)


def _has_one_value_a_unit(option: Candidate) -> bool:
    for key in WEIGHED:
        for figures in option.gives.get(key, {}).values():
            if figures.units != figures.n:
                return False
    return True


def _awaits_quantity(part: Part, skipped: Collection[str]) -> bool:
    """Tell whether a quantity or its unit is asked before figures can be shown."""
    layout = part.options[0].layout
    for values in layout.values:
        lacks_unit = declared_unit(layout.gives, values.quantity) and not values.unit
        if lacks_unit and measure_key(part, values) not in skipped:
            return True
    return has_open_quantity(part)


def _is_checked(part: Part, answers: Mapping[str, str]) -> bool:
    """Tell whether the owner refused all choices: then what is read is shown once more."""
    if answers.get(f"{part.key}.as_read") == "yes":
        return False
    own = [text for key, text in answers.items() if key.startswith(f"{part.key}.")]
    return "none of these" in own


def _judged(
    memory: Memory, settings: Settings, part: Part, options: Sequence[Candidate]
) -> list[Candidate]:
    """Return candidates with their figures; those with the treatments of other tables first."""
    treatments = _known_treatments(memory, settings)
    spread = WITHIN
    if treatments:
        spread += 2 * AGREEMENT
    judged: list[Candidate] = []
    quantities: set[str] = set()
    for option in options:
        if option.score < options[0].score - spread:
            continue
        if option.layout.gives == NOTHING:
            judged.append(replace(option, gives=memory.figures(settings)))
            continue
        renamed = _with_known_names(memory, settings, option.layout)
        picked = _of_trays_where_picked(renamed, part.table)
        layout = _for_comparison(picked)
        gives = memory.figures(replace(settings, layouts=(*settings.layouts, layout)))
        alone = memory.figures(replace(settings, layouts=(layout,)))
        quantities.update(alone)
        score = option.score + _agreement(treatments, set(_treatments(alone)))
        judged.append(Candidate(picked, score, gives))
    judged.sort(key=lambda option: -option.score)
    least = judged[0].score - WITHIN
    return [_with_own(option, quantities) for option in judged if option.score >= least]


def _known_treatments(memory: Memory, settings: Settings) -> set[str]:
    """Return the treatments of the settled tables and of the trial workbook, in small letters."""
    treatments = set(_treatments(memory.figures(settings)))
    book = memory.book()
    if book is not None:
        treatments.update(codes_of(book, Dimension.TREATMENT))
    return treatments


def _with_known_names(memory: Memory, settings: Settings, layout: Layout) -> Layout:
    """Return a layout of a log whose labels mean treatments of the trays that share a word."""
    if layout.gives in CROPS or Dimension.TREATMENT not in layout.dimensions:
        return layout
    crops = tuple(each for each in settings.layouts if each.gives in CROPS)
    alone = replace(settings, layouts=(_for_comparison(layout),))
    own = _names(memory.figures(alone))
    matches = namesakes(own, _names(memory.figures(replace(settings, layouts=crops))))
    if matches:
        return meaning(layout, matches)
    return layout


def _names(summary: Summary) -> tuple[str, ...]:
    """Return the names of all treatments that have figures."""
    names: dict[str, None] = {}
    for figures in summary.values():
        names.update(dict.fromkeys(figures))
    return tuple(name for name in names if name)


def _with_own(option: Candidate, quantities: set[str]) -> Candidate:
    """Return a candidate with the figures of those quantities alone that its table may hold."""
    gives = {name: figures for name, figures in option.gives.items() if name in quantities}
    return replace(option, gives=gives)


def _agreement(treatments: set[str], own: set[str]) -> float:
    if not treatments or not own:
        return 0.0
    if own <= treatments or _are_finer(own, treatments):
        return AGREEMENT
    if own & treatments:
        return 0.0
    return -AGREEMENT


def _are_finer(own: set[str], treatments: set[str]) -> bool:
    """Tell whether treatments are known ones with a level of a second factor.

    `red low` and `red high` are of `red`. A word that all of them have is no level:
    `Reading red`, `Reading blue`.
    """
    words_of_known = [set(name.split()) for name in treatments]
    words_of_own = [set(name.split()) for name in own]
    in_all = set.intersection(*words_of_own)
    return all(_is_finer(words, words_of_known, in_all) for words in words_of_own)


def _is_finer(words: set[str], words_of_known: Sequence[set[str]], in_all: set[str]) -> bool:
    """Tell whether words are those of a known treatment and one more that not all have."""
    for treatment in words_of_known:
        further = words - treatment
        if treatment < words and further - in_all:
            return True
    return False


def _treatments(summary: Summary) -> list[str]:
    names: list[str] = []
    for figures in summary.values():
        names.extend(name.casefold() for name in figures)
    return names


def _for_comparison(layout: Layout) -> Layout:
    """Return a layout with only those values whose figures differ between readings.

    Further measures have the same labels. Values without a unit get the declared one, for
    comparing only.
    """
    compared = [each for each in layout.values if declared_unit(layout.gives, each.quantity)]
    values = []
    for each in compared or layout.values[:1]:
        unit = each.unit or declared_unit(layout.gives, each.quantity)
        values.append(replace(each, unit=unit))
    return replace(layout, values=tuple(values))


def _distinct(options: Sequence[Candidate]) -> list[Candidate]:
    """Return the best candidate of each set of figures.

    Whether treatments go by a whole label or by a part of it is not asked: they go by the whole
    one, which is what their owner calls them, unless the part alone is how other tables name them.
    """
    groups: dict[object, Candidate] = {}
    for option in options:
        key = _treatment_source(option.layout), _figures_key(option.gives)
        first = groups.setdefault(key, option)
        is_as_likely = option.score > first.score - AGREEMENT
        if is_as_likely and _is_by_part(first.layout) and not _is_by_part(option.layout):
            groups[key] = option
    by_names: dict[object, Candidate] = {}
    for option in groups.values():
        by_names.setdefault(_names_key(option.gives), option)
    return list(by_names.values())


def _treatment_source(layout: Layout) -> tuple[object, ...]:
    """Return the carriers of the treatment, a part of a label as the whole label."""
    source = layout.dimensions.get(Dimension.TREATMENT)
    if source is None:
        return (layout.gives,)
    whole = dict.fromkeys(replace(carrier, part=0) for carrier in source.carriers)
    return layout.gives, tuple(whole), source.lookup


def _is_by_part(layout: Layout) -> bool:
    source = layout.dimensions.get(Dimension.TREATMENT)
    return source is not None and any(carrier.part for carrier in source.carriers)


def _figures_key(summary: Summary) -> tuple[object, ...]:
    """Return the figures of all treatments, without their names."""
    entries: list[tuple[object, ...]] = []
    for quantity, figures in sorted(summary.items()):
        if quantity in CONDITIONS:
            continue
        rounded = sorted(_rounded(each) for each in figures.values())
        entries.append((quantity, *rounded))
    return tuple(entries)


def _names_key(summary: Summary) -> tuple[object, ...]:
    """Return the figures of all treatments by name; `red low` is `low red`."""
    entries: list[tuple[object, ...]] = []
    for quantity, figures in sorted(summary.items()):
        if quantity in CONDITIONS:
            continue
        named = [(sorted(name.split()), *_rounded(each)) for name, each in figures.items()]
        for words, *rounded in sorted(named):
            entries.append((quantity, tuple(words), *rounded))
    return tuple(entries)


def _rounded(figures: Figures) -> tuple[int, int, str, str, str, int]:
    total = f"{figures.total:.9g}"
    mean = f"{figures.mean:.9g}"
    return figures.units, figures.n, total, mean, figures.unit, figures.lost
