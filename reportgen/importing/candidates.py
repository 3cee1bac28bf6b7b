"""The readings of each table that are left, computed to their figures."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Final

from reportgen.importing.memory import Memory
from reportgen.importing.model.claims import Reading
from reportgen.importing.model.layouts import NOTHING, Covers, Dimension, Layout, Occasions
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

CONDITIONS: Final = (  # what no yield depends on: readings that differ in these alone are not asked
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
WITHIN: Final = 4.0  # points of score: readings that are further behind the best one are not asked
AGREEMENT: Final = (
    3.0  # points for the very treatments of other tables, and against others than these
)
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
        is_known = bool(layouts) and f"{table.key}{SEVERAL}" not in settings.answers
        if is_known:
            settled.extend(_settled(table, layouts, settings.answers))
        elif not table.is_key and not table.is_fields:
            known, still_open = _in_parts(memory, settings, table, layouts)
            settled.extend(known)
            open_parts.extend(still_open)
    open_parts.sort(key=lambda entry: _plants_first(entry[1]))
    return _computed(memory, settings, settled, open_parts, skipped)


def with_several(settings: Settings, made: Sequence[Part]) -> Settings:
    """Return settings that remember which tables have a settled part and an open one."""
    answers = {key: text for key, text in settings.answers.items() if not key.endswith(SEVERAL)}
    for part in made:
        tables = [other.layout is None for other in made if other.table.key == part.table.key]
        if any(tables) and not all(tables):
            answers[f"{part.table.key}{SEVERAL}"] = "open"
    return replace(settings, answers=answers)


def _plants_first(options: Sequence[Candidate]) -> tuple[int, float]:
    return _rank(options[0].layout.gives), -options[0].score


def _rank(gives: str) -> int:
    order = ("Plants", "Harvests", "Growth")
    if gives in order:
        return order.index(gives)
    return len(order)


def _settled(table: Table, layouts: Sequence[Layout], answers: Mapping[str, str]) -> list[Part]:
    made: list[Part] = []
    for layout in layouts:
        if not made:
            part = Part(table.key, table)
        else:
            part = Part(f"{table.key} {layout.gives}", table)
        made.append(replace(part, layout=with_answers(layout, part, answers)))
    return made


def _in_parts(
    memory: Memory, settings: Settings, table: Table, layouts: Sequence[Layout]
) -> tuple[list[Part], list[tuple[Part, list[Candidate]]]]:
    """Return the parts of a table, settled and open: columns that give different sheets are read
    side by side.
    """
    groups = sorted(
        memory.readings(table, settings), key=lambda group: _rank(group[0].layout.gives)
    )
    settled: list[Part] = []
    open_parts: list[tuple[Part, list[Candidate]]] = []
    for index, group in enumerate(groups):
        if index == 0:
            key = table.key
        else:
            key = f"{table.key} {group[0].layout.gives}"
        part = Part(key, table)
        columns = set().union(*(value_columns(reading.layout) for reading in group))
        known = [
            layout
            for layout in layouts
            if columns & value_columns(layout) or layout.gives == NOTHING
        ]
        if known:
            settled.append(replace(part, layout=with_answers(known[0], part, settings.answers)))
            continue
        options = _options(memory, settings, part, group)
        book = memory.book()
        if book is not None:
            sheets, found = memory.sheets(settings.conventions), memory.found(settings)
            options = coded(options, table, book, sheets, found)
        if options:
            open_parts.append((part, options))
    return settled, open_parts


def _options(
    memory: Memory, settings: Settings, part: Part, group: Iterable[Reading]
) -> list[Candidate]:
    """Return the readings as their owner's answers leave them; where some agree with these, only
    those.
    """
    options: list[Candidate] = []
    agreeing: list[Candidate] = []
    said = pins(part.key, settings.answers)
    for reading in group:
        layout = reading.layout
        if layout.gives != NOTHING:
            changed = pinned(layout, part.table, said, memory.sheets(settings.conventions))
            layout = with_answers(changed, part, settings.answers)
            if layout.values and changed == reading.layout:
                agreeing.append(Candidate(layout, reading.score, {}))
        if layout.values or layout.gives == NOTHING:
            options.append(Candidate(layout, reading.score, {}))
    options = agreeing if said and agreeing else options
    options = [option for option in options if not _is_taken_twice(option.layout)] or options
    options.sort(key=lambda option: -option.score)
    if not options:
        return []
    least = options[0].score - WITHIN - 2 * AGREEMENT
    kept = [option for option in options if option.score >= least]
    return kept[:MOST]


def _is_taken_twice(layout: Layout) -> bool:
    """Tell whether two columns of plants apart from each other are the same quantity: they lie over
    one another.
    """
    names = [values.quantity for values in layout.values]
    return layout.gives == "Plants" and len(set(names)) < len(names)


def _computed(
    memory: Memory,
    settings: Settings,
    settled: list[Part],
    open_parts: Sequence[tuple[Part, list[Candidate]]],
    skipped: Collection[str],
) -> tuple[Part, ...]:
    layouts = [part.layout for part in settled if part.layout is not None]
    made = list(settled)
    for part, options in open_parts:
        if _awaits_quantity(replace(part, options=tuple(options)), skipped):
            made.append(replace(part, options=tuple(options)))
            layouts.append(options[0].layout)
            continue
        is_changed = bool(pins(part.key, settings.answers))
        if (
            _are_alike(options, part.table)
            and not is_changed
            and not _is_checked(part, settings.answers)
        ):
            only = options[0].layout
            made.append(replace(part, options=tuple(options), layout=only))
            layouts.append(only)
            continue
        judged = _judged(memory, replace(settings, layouts=tuple(layouts)), part, options)
        whole = _of_whole_units(memory, replace(settings, layouts=tuple(layouts)), part, judged[0])
        groups = _distinct([*judged, *whole])
        if memory.book() is not None:
            groups = apart_from_codes(groups)
        is_asked = len(groups) > 1 or _is_checked(part, settings.answers)
        if memory.book() is None:
            is_asked = is_asked or lacks_treatment(
                groups[0].layout, layouts, part.key, settings.answers
            )
        if is_asked:
            layout = None
        else:
            layout = groups[0].layout
        made.append(replace(part, options=tuple(groups), layout=layout))
        layouts.append(groups[0].layout)
    return tuple(made)


def _are_alike(options: Sequence[Candidate], table: Table) -> bool:
    """Tell whether no figure that is asked about depends on the choice: a long log is not computed
    for it.
    """
    if len(options) == 1:
        return not _has_untold_plants(options[0].layout, table)
    treatments = {repr(option.layout.dimensions.get(Dimension.TREATMENT)) for option in options}
    kinds = {option.layout.gives for option in options}
    return (
        options[0].layout.gives != NOTHING
        and kinds <= {*LOGS_OF_CONDITIONS, NOTHING}
        and len(treatments) == 1
    )


def _of_whole_units(
    memory: Memory, settings: Settings, part: Part, best: Candidate
) -> list[Candidate]:
    """Return the best candidate with whole trays in place of plants, where nothing says which of
    both a weight is of.

    Several weights of a tray, of no plant and no day, may be parts of it that add up. Whether a
    weight is of a plant or of all plants of a tray changes what the report is of, though no total.
    """
    layout = best.layout
    is_said = "covers" in pins(part.key, settings.answers)
    if is_said or not _has_untold_plants(layout, part.table) or not _has_weights(best):
        return []
    values = tuple(replace(each, covers=Covers.UNIT) for each in layout.values)
    whole = replace(layout, values=values)
    if not _has_one_value_a_unit(best):
        if layout.occasions or len(values) > 1 or Dimension.OCCASION in layout.dimensions:
            return []
        whole = replace(whole, occasions=Occasions.PICKINGS)
    gives = memory.figures(replace(settings, layouts=(*settings.layouts, _for_comparison(whole))))
    return [
        replace(
            best, layout=whole, gives={key: gives[key] for key in gives if key not in best.gives}
        )
    ]


def _of_trays_where_picked(layout: Layout, table: Table) -> Layout:
    """Return a layout whose pickings are of whole trays where nothing says that they are of plants.

    The yield of a tray is the same; only the number of plants is, which nobody told.
    """
    if layout.occasions not in (Occasions.PICKINGS, Occasions.RUNNING) or not _has_untold_plants(
        layout, table
    ):
        return layout
    return replace(
        layout, values=tuple(replace(each, covers=Covers.UNIT) for each in layout.values)
    )


def _has_untold_plants(layout: Layout, table: Table) -> bool:
    """Tell whether weights are taken for those of single plants, and neither a label, a count nor a
    header says it.
    """
    if layout.gives not in ("Plants", "Harvests") or Dimension.UNIT not in layout.dimensions:
        return False
    carriers = [carrier for source in layout.dimensions.values() for carrier in source.carriers]
    names = (*(carrier.name for carrier in carriers), *(column.name for column in table.columns))
    if Dimension.PLANT in layout.dimensions or any(says(name, "plant") for name in names):
        return False
    weighed = [each for each in layout.values if each.quantity in WEIGHTS]
    untold = [each for each in weighed if each.covers is Covers.PLANT and not each.count]
    said = [name for each in untold for name in each.columns if says(name, "per_plant", "plant")]
    return bool(untold) and len(untold) == len(weighed) and not said


def _has_weights(option: Candidate) -> bool:
    return any(key in option.gives for key in WEIGHED)


def _has_one_value_a_unit(option: Candidate) -> bool:
    figures = [each for key in WEIGHED for each in option.gives.get(key, {}).values()]
    return all(each.units == each.n for each in figures)


def _awaits_quantity(part: Part, skipped: Collection[str]) -> bool:
    """Tell whether what the values of a table are, or their unit, is asked before figures can be
    shown.
    """
    layout = part.options[0].layout
    for values in layout.values:
        is_asked = declared_unit(layout.gives, values.quantity) and not values.unit
        if is_asked and measure_key(part, values) not in skipped:
            return True
    return has_open_quantity(part)


def _is_checked(part: Part, answers: Mapping[str, str]) -> bool:
    """Tell whether the owner named something himself: then what is read of it is shown once more."""
    if answers.get(f"{part.key}.as_read") == "yes":
        return False
    return any(
        key.startswith(f"{part.key}.") and text == "none of these" for key, text in answers.items()
    )


def _judged(
    memory: Memory, settings: Settings, part: Part, options: Sequence[Candidate]
) -> list[Candidate]:
    """Return candidates with their figures, readings whose treatments other tables have first."""
    known = set(_treatments(memory.figures(settings)))
    book = memory.book()
    if book is not None:
        known.update(codes_of(book, Dimension.TREATMENT))
    judged: list[Candidate] = []
    quantities: set[str] = set()
    if known:
        spread = 2 * AGREEMENT
    else:
        spread = 0.0
    likely = [option for option in options if option.score >= options[0].score - WITHIN - spread]
    for option in likely:
        if option.layout.gives == NOTHING:
            judged.append(replace(option, gives=memory.figures(settings)))
            continue
        real = _of_trays_where_picked(
            _with_known_names(memory, settings, option.layout), part.table
        )
        layout = _for_comparison(real)
        gives = memory.figures(replace(settings, layouts=(*settings.layouts, layout)))
        alone = memory.figures(replace(settings, layouts=(layout,)))
        quantities.update(alone)
        score = option.score + _agreement(known, set(_treatments(alone)))
        judged.append(Candidate(real, score, gives))
    judged.sort(key=lambda option: -option.score)
    least = judged[0].score - WITHIN
    return [_with_own(option, quantities) for option in judged if option.score >= least]


def _with_known_names(memory: Memory, settings: Settings, layout: Layout) -> Layout:
    """Return a layout of a log in which labels mean the treatments of the trays, where a word of
    each tells which.
    """
    if layout.gives in CROPS or Dimension.TREATMENT not in layout.dimensions:
        return layout
    crops = tuple(each for each in settings.layouts if each.gives in CROPS)
    alone = replace(settings, layouts=(_for_comparison(layout),))
    own = _names(memory.figures(alone))
    meant = namesakes(own, _names(memory.figures(replace(settings, layouts=crops))))
    if meant:
        return meaning(layout, meant)
    return layout


def _names(summary: Summary) -> tuple[str, ...]:
    """Return the names of all treatments that have figures."""
    names = [name for figures in summary.values() for name in figures if name]
    return tuple(dict.fromkeys(names))


def _with_own(option: Candidate, quantities: set[str]) -> Candidate:
    """Return a candidate with the figures of those quantities alone that its table may hold."""
    gives = {name: figures for name, figures in option.gives.items() if name in quantities}
    return replace(option, gives=gives)


def _agreement(known: set[str], own: set[str]) -> float:
    if not known or not own:
        return 0.0
    if own <= known or _are_finer(own, known):
        return AGREEMENT
    if own & known:
        return 0.0
    return -AGREEMENT


def _are_finer(own: set[str], known: set[str]) -> bool:
    """Tell whether treatments are known ones with a level of a second factor, as `red low` and `red
    high` are of `red`.

    A word that all of them have is no level: `Reading red`, `Reading blue`.
    """
    words_of_known = [set(name.split()) for name in known]
    words_of_own = [set(name.split()) for name in own]
    in_all = set.intersection(*words_of_own)
    return all(_is_finer(words, words_of_known, in_all) for words in words_of_own)


def _is_finer(words: set[str], words_of_known: Sequence[set[str]], in_all: set[str]) -> bool:
    """Tell whether the words of a treatment are those of a known one and others, which not all
    treatments have.
    """
    for known in words_of_known:
        further = words - known
        if known < words and further - in_all:
            return True
    return False


def _treatments(summary: Summary) -> list[str]:
    return [name.casefold() for figures in summary.values() for name in figures]


def _for_comparison(layout: Layout) -> Layout:
    """Return a layout with those values alone whose figures tell readings apart, each with a unit.

    Further measures stand on the same labels; values without a unit get that of the declaration,
    for comparing only.
    """
    units = {
        values.quantity: declared_unit(layout.gives, values.quantity) for values in layout.values
    }
    kept = [values for values in layout.values if units[values.quantity]] or layout.values[:1]
    values = tuple(replace(each, unit=each.unit or units[each.quantity]) for each in kept)
    return replace(layout, values=values)


def _distinct(options: Sequence[Candidate]) -> list[Candidate]:
    """Return the best candidate of each set of figures.

    Whether treatments go by a whole label or by a part of it is not asked: they go by the whole
    one, which is what their owner calls them, unless the part alone is how other tables name them.
    """
    groups: dict[object, Candidate] = {}
    for option in options:
        key = _where_treatments_stand(option.layout), _figures_key(option.gives)
        held = groups.setdefault(key, option)
        is_as_likely = option.score > held.score - AGREEMENT
        if is_as_likely and _is_by_part(held.layout) and not _is_by_part(option.layout):
            groups[key] = option
    by_names = {_names_key(option.gives): option for option in reversed(groups.values())}
    return [option for option in groups.values() if by_names[_names_key(option.gives)] is option]


def _is_by_part(layout: Layout) -> bool:
    source = layout.dimensions.get(Dimension.TREATMENT)
    return source is not None and any(carrier.part for carrier in source.carriers)


def _where_treatments_stand(layout: Layout) -> tuple[object, ...]:
    """Return the carriers of the treatment, those of a part as the whole label."""
    source = layout.dimensions.get(Dimension.TREATMENT)
    if source is None:
        return (layout.gives,)
    whole = dict.fromkeys(replace(carrier, part=0) for carrier in source.carriers)
    return layout.gives, tuple(whole), source.lookup


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
    """Return the figures of all treatments by name."""
    entries: list[tuple[object, ...]] = []
    for quantity, figures in sorted(summary.items()):
        if quantity in CONDITIONS:
            continue
        named = [
            (sorted(name.split()), *_rounded(each)) for name, each in figures.items()
        ]  # `red low` is `low red`
        entries.extend((quantity, tuple(words), *rounded) for words, *rounded in sorted(named))
    return tuple(entries)


def _rounded(figures: Figures) -> tuple[int, int, str, str, str, int]:
    total = f"{figures.total:.9g}"
    mean = f"{figures.mean:.9g}"
    return figures.units, figures.n, total, mean, figures.unit, figures.lost
