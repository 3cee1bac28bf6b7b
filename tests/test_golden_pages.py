"""The words of the sample reports, in English and in Spanish, as they were last read through: a
file a section.

After a change of words that is meant: pytest tests/test_golden_pages.py --write-golden, then read
the difference.
"""

from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from reportgen import __version__, metrics, report
from reportgen.model.document import (
    Aside,
    Bullets,
    Columns,
    Facts,
    Figure,
    Links,
    Notice,
    OwnPrice,
    Paragraph,
    Photo,
    PhotoDay,
    Prose,
    Safety,
    Subheading,
    Table,
    TreatmentCards,
)
from tests.test_samples import NAMES, trial_of

FOLDER = Path(__file__).parent / "golden"
CASES = [(name, tag) for name in NAMES for tag in ("en", "es")]


@cache
def composed(name, tag):
    """Return a sample's report in a language; the digest of the workbook's file is none of its
    words.
    """
    sample = trial_of(name)
    of = replace(sample, about=replace(sample.about, language=tag), source_sha256="0" * 64)
    return report.compose(of, metrics.compute(of))


def table(block):
    return [
        f"table: {block.caption}",
        *(" | ".join(row) for row in (block.head, *block.rows)),
        block.note,
    ]


def pairs(items):
    return [": ".join(item) for item in items]


def cards(block):
    """Return what stands on the card of each treatment."""
    return [
        line
        for card in block.cards
        for line in (f"card: {card.name}", card.description, *pairs(card.facts), *_safety(card))
    ]


def _safety(card):
    """Return the cautions of a card behind what they are about."""
    if card.safety is None:
        return ()
    return (f"safety: {card.safety.title}", *card.safety.items)


def answer(of):
    """Return the rows of the answer box and how far to trust it."""
    rows = [
        " | ".join(
            (
                row.measure,
                row.unit,
                row.reference,
                one.name,
                one.figure,
                one.change,
                one.limits,
                one.word,
            )
        )
        for row in of.box.rows
        for one in row.changes
    ]
    trust = (*of.trust.marks, *of.trust.problems, *of.trust.sentences, of.trust.disclosure)
    return [*of.lead, *rows, of.box.note, *trust]


LINES = {  # of a block, as a reader has them
    Paragraph: lambda block: [block.text],
    Prose: lambda block: [block.by, block.markdown],
    Bullets: lambda block: [block.lead, *block.items],
    Notice: lambda block: [block.title, *block.items],
    Facts: lambda block: pairs(block.items),
    Table: table,
    Figure: lambda block: [f"figure: {block.title}", block.caption, block.alternative],
    TreatmentCards: cards,
    Safety: lambda block: [f"safety: {block.title}", *block.items],
    Aside: lambda block: [f"aside: {block.title}", *block.items],
    PhotoDay: lambda block: [
        block.day,
        *(line for photo in block.photos for line in LINES[Photo](photo)),
    ],
    Columns: lambda block: [line for one in block.blocks for line in LINES[type(one)](one)],
    Photo: lambda block: [f"photo: {block.caption}", block.alternative],
    Links: lambda block: pairs(block.items),
    Subheading: lambda block: [f"## {block.text}"],
    OwnPrice: lambda block: [block.price, block.currency, block.reference, *block.notes],
}


def words(title, blocks):
    """Return the text under a heading, a line a paragraph, item or row, with a blank line between
    blocks.
    """
    parts = [
        f"# {title}",
        *("\n".join(filter(None, LINES[type(block)](block))) for block in blocks),
    ]
    text = "\n\n".join(filter(None, parts)) + "\n"
    return text.replace(f"reportgen {__version__}", "reportgen VERSION")


def pages(name, tag):
    """Return the text of each part of a report by the name of its file."""
    of = composed(name, tag)
    head = [
        Paragraph(text)
        for text in (of.question, *of.answer, of.crop, of.byline, of.disclosure, of.description)
    ]
    found = {"head": words(of.title, [*head, of.facts, Paragraph(of.colophon)])}
    found["answer"] = words(of.headline, [Paragraph(text) for text in answer(of)])
    return found | {
        section.key: words(section.title, section.blocks) for section in of.all_sections
    }


def folder(name, tag):
    return FOLDER / f"{Path(name).stem}.{tag}"


@pytest.mark.parametrize(("name", "tag"), CASES)
def test_a_report_says_what_it_said_when_it_was_last_read_through(name, tag, request):
    found = pages(name, tag)
    if request.config.getoption("write_golden"):
        folder(name, tag).mkdir(parents=True, exist_ok=True)
        for key, text in found.items():
            (folder(name, tag) / f"{key}.txt").write_text(text, encoding="utf-8")
    known = {
        path.stem: path.read_text(encoding="utf-8") for path in folder(name, tag).glob("*.txt")
    }
    assert set(found) == set(known)
    for key, text in found.items():
        assert text == known[key], f"{name}, {tag}: {key}"
