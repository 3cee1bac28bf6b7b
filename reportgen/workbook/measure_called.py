"""The measure that a grower names: in the language of a workbook, or in that of a report."""

from collections.abc import Iterator, Sequence
from gettext import NullTranslations

from reportgen import language
from reportgen.model.measure_names import LAST_MEASURED, MEASURE_NAMES, SHORT_NAMES, measure_key
from reportgen.workbook.declaration import GROWTH, PLANTS
from reportgen.workbook.headers import folded, read_header
from reportgen.workbook.vocabulary import columns_by_name, vocabularies


def key_of_measure(name: str, traits: Sequence[tuple[str, str]]) -> str:
    """Return the key of the measure called `name`, empty where there is none.

    traits: the key and the label of each further measurement of plants.
    """
    names = (name, *_in_english(read_header(name, 1, 1).name))
    for each_name in names:
        key = measure_key(each_name, traits)
        if key:
            return key
    return ""


def _in_english(name: str) -> Iterator[str]:
    """Yield the English names of a column of plants or a measure that is named in any language."""
    for sheet in (PLANTS, GROWTH):
        column = columns_by_name(sheet).get(folded(name))
        if column:
            yield column.name
    labels = (*MEASURE_NAMES.values(), *SHORT_NAMES.values())
    for words in vocabularies():
        texts = language.of(words.tag).texts
        yield from _last_measured(name, texts)
        for label in labels:
            if folded(texts.gettext(label)) == folded(name):
                yield label


def _last_measured(name: str, texts: NullTranslations) -> Iterator[str]:
    """Yield the English name of a trait's last measurement that is named in a language."""
    template = language.OF_TRAITS[LAST_MEASURED]
    for column in GROWTH.columns:
        if not column.trait:
            continue
        called = texts.gettext(template).format(trait=texts.gettext(column.name))
        if folded(called) == folded(name):
            yield template.format(trait=column.name)
