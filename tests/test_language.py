"""The report's language: catalogues complete, numbers and dates as the language writes them, no
English left over.
"""

import ast
import gettext
import json
import re
from dataclasses import replace
from datetime import date
from functools import cache
from io import BytesIO
from pathlib import Path

import lxml.html
import pikepdf
import pytest
from babel.messages.extract import extract_from_dir
from babel.messages.mofile import read_mo, write_mo
from babel.messages.pofile import read_po

from reportgen import language, metrics, report
from reportgen.language import Language
from reportgen.metrics.pooled import pooled_comparisons
from reportgen.metrics.to_pool import to_pool
from reportgen.model.document import Figure, Links, Prose, Table
from reportgen.model.message import Amount, Count, OfTreatment, Quote, Several, Share, Term, message
from reportgen.model.results import Comparison
from reportgen.model.settings import Settings
from reportgen.render import linked, page, pdf, post, report_files, site_files, templates
from reportgen.render.pdf import attachments
from reportgen.report import messages as words
from reportgen.report import numbers, pooled_texts, references, wording
from tests import workbooks
from tests.test_metrics_pooled import named, of_row, of_scores, three
from tests.test_samples import trial_of
from tests.trials import WEIGHTS, plants, readings, trial

SAMPLES = ("pak-choi-root-warmth.xlsx", "basil-day-length.xlsx", "tomate-cereza-luz-de-apoyo.xlsx")
KEYWORDS = {
    "say": None,
    "say_as": ((1, "c"), 2),
    "marked": None,
    "plural": (1, 2),
    "marked_plural": (1, 2),
}
MAPS = {"reportgen": "babel.cfg", "terminal": "terminal.cfg"}
PLACEHOLDER = re.compile(r"\{\w+\}")
BRACKETED = re.compile(
    r"⟦[^⟦⟧]*(?:⟧|$)|^[^⟦⟧]*⟧"
)  # a line or a link may begin or end within a piece
PACKAGE = Path(language.__file__).parent


def mapped(path):
    """Return the map of extraction of a file: patterns as seen from the package, and methods."""
    sections = re.findall(r"^\[(\w+): (.+)\]$", path.read_text("utf-8"), re.MULTILINE)
    return [(pattern.removeprefix("reportgen/"), method) for method, pattern in sections]


@cache
def messages(domain):
    """Return every message of a domain, with its context: of reports and templates, or of
    commands.
    """
    python = [one for one in mapped(language.FOLDER / MAPS[domain]) if one[1] != "jinja2"]
    found = [*extract_from_dir(PACKAGE, python, {}, KEYWORDS)]
    if domain == "reportgen":
        html = [("**.html", "jinja2.ext:babel_extract")]
        found += extract_from_dir(templates.folder(), html, {}, KEYWORDS)
    return {(context, message) for *_, message, _, context in found}


def catalogues():
    return sorted(language.FOLDER.glob("*/LC_MESSAGES/*.po"))


def catalogue(path):
    with path.open("rb") as file:
        return read_po(file, locale=path.parts[-3])


def forms(text):
    return (text,) if isinstance(text, str) else tuple(text)


def placeholders(message):
    return frozenset(name.casefold() for name in PLACEHOLDER.findall(message))


@pytest.mark.parametrize("path", catalogues(), ids=lambda path: f"{path.parts[-3]}-{path.stem}")
class TestCatalogue:
    def test_every_message_is_translated_and_none_is_left_over(self, path):
        known = {
            (one.context, one.id) for one in catalogue(path) if one.id and all(forms(one.string))
        }
        assert known == messages(path.stem)

    def test_placeholders_are_the_same_in_both_languages(self, path):
        # `{Treated}` is `{treated}` with a capital: which of them a sentence needs is a matter of
        # its language.
        for one in catalogue(path):
            wanted = placeholders(forms(one.id)[-1])
            assert {placeholders(form) for form in forms(one.string)[1:] or forms(one.string)} == {
                wanted
            }, one.id

    def test_a_sentence_is_translated_by_a_sentence_and_a_label_by_a_label(self, path):
        for one in catalogue(path):
            for text in forms(one.string) if one.id else ():
                said = forms(one.id)[0]
                ends = [each[-1] if each[-1] in ".:;" else "" for each in (said, text)]
                assert ends[0] == ends[1], said

    def test_what_the_program_reads_is_what_the_translator_wrote(self, path):
        compiled = BytesIO()
        write_mo(compiled, catalogue(path))
        compiled.seek(0)
        with path.with_suffix(".mo").open("rb") as held:
            known, wanted = (read_mo(file) for file in (held, compiled))
        # The head, under the empty message, names the version of the library that wrote it.
        read, written = (
            {(one.context, *forms(one.id)): tuple(forms(one.string)) for one in both if one.id}
            for both in (known, wanted)
        )
        assert read == written
        assert len(read) > 100


class Bracketed(gettext.NullTranslations):
    """A language that puts every piece of a message that some catalogue has in brackets."""

    known = frozenset(
        (context, form)
        for context, message in messages("reportgen") | messages("terminal")
        for form in forms(message)
    )

    def gettext(self, message):
        return self._of(None, message)

    def pgettext(self, context, message):
        return self._of(context, message)

    def ngettext(self, one, many, count):
        return self._of(None, one if count == 1 else many)

    def _of(self, context, message):
        if (context, message) not in self.known:
            return message
        parts = re.split(r"(\{\w+\})", message)
        return "".join(part if part.startswith("{") else f"⟦{part}⟧" * bool(part) for part in parts)


BRACKETS = Language("en-x-brackets", Bracketed(), "es")


@pytest.fixture(name="bracketed")
def _bracketed(monkeypatch):
    """Let every report be composed in brackets; samples are read before, as they name their main
    measure in Spanish.
    """
    for name in SAMPLES:
        trial_of(name)
    monkeypatch.setattr(language, "of", lambda tag: BRACKETS)


def cases(tmp_path):
    path = workbooks.write(workbooks.whole(), tmp_path / "whole.xlsx")
    samples = [trial_of(name) for name in SAMPLES]
    one_tray = trial(
        trays=tuple(tray for tray in trial().trays if tray.code in ("A1", "B1")),
        plants=plants({tray: WEIGHTS[tray] for tray in ("A1", "B1")}),
        solution=(),
        meter=(),
    )
    others = [
        trial(),
        trial(plants=plants(WEIGHTS | {"B1": (26.0, None, 31.0)})),
        trial(plants=plants(WEIGHTS | {"B1": (26.0, 28.0, 90.0)})),
        trial(meter=readings(None, 20.0)),
        trial(meter=readings("half", 12.0)),
        trial(experimental_unit="plant"),
        one_tray,
    ]
    return [workbooks.trial(path), *samples, *others]


OF_CHARTS = ("title", "subtitle", "text", "labelExpr")  # where Vega-Lite has words
UNSEEN = ("config", "name", "kind", "side", "fill", "pale")  # in its data every other text is drawn


def texts_of_chart(node, key="", in_data=False):
    """Return the texts that a Vega-Lite chart draws, lines that were broken as one."""
    if key == "labelExpr":
        yield from re.findall(r'"([^"]*)"', node.replace('", "', " "))
    elif key in OF_CHARTS and isinstance(node, list):
        yield " ".join(node)
    elif isinstance(node, str) and (in_data or key in OF_CHARTS):
        yield node
    else:
        for name, child in parts_of_chart(node, key):
            yield from texts_of_chart(child, name, in_data or (name == "values" and key == "data"))


def parts_of_chart(node, key):
    if isinstance(node, list):
        return [(key, child) for child in node]
    named = node.items() if isinstance(node, dict) else ()
    return [
        (name, child)
        for name, child in named
        if name not in UNSEEN and (key, name) != ("encoding", "text")
    ]


def texts_of(block):
    """Return every text of a block that a reader sees, the grower's prose left out."""
    if isinstance(block, Prose):
        return [block.by]
    if isinstance(block, Figure):
        lines = " ".join(
            texts_of_chart(json.loads(block.spec))
        )  # a text may go over several lines of a drawing
        return [block.title, block.caption, block.alternative, lines]
    if isinstance(block, Links):
        return [about for _, _, about in block.items]
    return [
        text
        for name, value in vars(block).items()
        if name not in ("key", "numeric")
        for text in texts_in(value)
    ]


def texts_in(value):
    if isinstance(value, tuple):
        return [text for one in value for text in texts_in(one)]
    return [value] if isinstance(value, str) else []


def own_words(of):
    """Return what the grower wrote, and what is a name, longest first."""
    about = of.about
    said = [getattr(about, name) for name in vars(about) if isinstance(getattr(about, name), str)]
    said += [
        text
        for one in of.treatments
        for text in (one.name, one.code, one.description, one.equipment)
    ]
    said += [text for one in of.factors for text in (one.name, *one.levels)]
    said += [text for one in of.trays for text in (one.code, one.block, one.position, one.note)]
    said += [one.text for one in of.observations]
    said += [text for one in of.instruments for text in (one.name, one.model)]
    said += [text for one in of.plants for text in (one.note, f"{one.tray} {one.code}")]
    said += [trait.label for trait in (*of.traits, *of.growth_traits)] + [
        trait.unit for trait in of.traits
    ]
    said += (
        [cost.item for cost in of.costs]
        + [reading.meter for reading in of.meter]
        + [table.name for table in of.data]
    )
    said += [str(finding) for finding in of.findings] + [of.source_sha256, of.currency]
    cited = (*references.REFERENCES, *references.OF_SEVERAL, *references.OF_FACTORS.values())
    said += [source for _, source in (*cited, references.OF_INSTRUMENTS, references.OF_VAPOUR)]
    said += [event.note for event in of.solution]
    said += [one.grade for one in of.pickings]
    said = [
        part
        for text in said
        for part in {text, text.rstrip("."), *re.split(r"(?<=[.;])\s+|\n+", text)}
    ]
    said += [part.rstrip(".;") for part in said]
    return sorted({text for text in said if text}, key=len, reverse=True)


# Symbols of units are the same in every language (SI brochure, 9th edition, section 5.2).
UNITS = re.compile(
    r"\b(?:mL|kWh|kWh/kg|kg|mol|µmol|mmol|mS|kPa|ppm|cm|mm|oz|lb|g|L|W|h|d|m|J|K|s|p|EC|pH|PPFD)(?=\b|/|²|2)|°C|°F|reportgen"
    r"|US gal|US fl oz|(?<=\()in(?=\))|(?<=\d )in\b"
)


LETTERS = re.compile(r"(?<=[)%\d])\s[a-z]{1,3}$")  # those of treatments that a table tells apart


def left_over(text, known):
    """Return the words of a text that are in no brackets and are neither the grower's nor symbols."""
    rest = BRACKETED.sub(" ", LETTERS.sub("", text).replace("\n", " "))
    for own in known:
        if own.lower() not in rest.lower():
            continue  # spares the regular expression, which costs a hundred times as much
        rest = re.sub(rf"(?<![^\W\d_]){re.escape(own)}(?![^\W\d_])", " ", rest, flags=re.IGNORECASE)
    return re.findall(r"[^\W\d_]{2,}", UNITS.sub(" ", rest))


SPANISH = re.compile(
    r"\b(?:de|y|ene|feb|mar|abr|may|jun|jul|ago|sept|oct|nov|dic|enero|febrero|marzo|abril|mayo|junio|julio|agosto|septiembre|octubre|noviembre|diciembre)\b"
)


def test_no_text_of_a_report_is_left_in_english(bracketed, tmp_path):
    left = {}
    for of in cases(tmp_path):
        made = report.compose(of, metrics.compute(of))
        known = [SPANISH.sub(" ", plain(own)) for own in own_words(of)]
        blocks = [
            made.headline,
            *made.lead,
            *made.answer,
            made.byline,
            made.disclosure,
            made.colophon,
        ]
        blocks += [*texts_of(made.facts), *texts_of(made.box), *texts_of(made.trust)]
        for section in made.all_sections:
            blocks += [
                section.title,
                *(text for block in section.blocks for text in texts_of(block)),
            ]
        for text in blocks:
            found = left_over(SPANISH.sub(" ", plain(text)), known)
            if found:
                left[text] = found
    assert not left, "\n".join(f"{found}: {text}" for text, found in left.items())


def groups():
    """Return trials of one comparison: told apart or not, pooled or not, turned round, and left out
    with reasons.
    """
    single = of_scores(5, {"half": [20.0], "full": [25.0]})
    alike = of_scores(6, {"half": [20.0, 21.0], "full": [20.0, 21.0]})
    flat = of_scores(7, {"half": [20.0, 20.0], "full": [25.0, 25.0]})
    far = [
        of_scores(place, {"half": [10.0, 10.1], "full": full}, confidence_level=0.999)
        for place, full in ((1, [10.0, 10.2]), (2, [60.0, 61.0]))
    ]
    lost = replace(
        of_row(3), about=replace(of_row(3).about, crop="basil"), plants=of_row(3).plants[1:]
    )
    twice = replace(
        of_row(4),
        treatments=tuple(replace(one, name="Half strength") for one in of_row(4).treatments),
    )
    return [
        [of_row(place) for place in (1, 2, 3, 4)],
        [of_row(1), of_row(2, swapped=True)],
        [of_row(3), of_row(4)],
        [of_row(1), lost, single, flat, of_row(2)],
        [of_row(1), single],
        [single, replace(single, slug="round-6", source_sha256="6" * 64)],
        [alike, replace(alike, slug="round-8", source_sha256="8" * 64)],
        [of_row(1), of_row(2), named(of_row(3), "strength", "A", "B"), twice],
        [named(of_row(1), "x"), named(of_row(2), "x"), named(three(3), "x"), named(three(4), "x")],
        far,
    ]


def test_no_text_of_what_trials_tell_together_is_left_in_english(bracketed):
    left = {}
    for group in groups():
        computed = [(of, metrics.compute(of)) for of in group]
        site = report.collect("Trials", (), pooled_comparisons(to_pool(*one) for one in computed))
        assert site.sections
        known = [own for of in group for own in own_words(of)] + [
            source for _, source in pooled_texts.REFERENCES
        ]
        known = sorted({*known, *(of.slug for of in group)}, key=len, reverse=True)
        for section in site.sections:
            for text in (
                section.title,
                *(text for block in section.blocks for text in texts_of(block)),
            ):
                found = left_over(SPANISH.sub(" ", text), known)
                if found:
                    left[text] = found
    assert not left, "\n".join(f"{found}: {text}" for text, found in left.items())


def test_the_list_of_trials_is_in_the_language_of_its_reports_or_of_its_site(bracketed):
    of = trial()
    made = report.compose(of, metrics.compute(of))
    body = lxml.html.fromstring(site_files(report.collect("", (made,)))["index.html"]).find("body")
    assert body.findtext("a") == "⟦Skip to the trials⟧"


@pytest.mark.parametrize(
    ("tags", "of_site", "expected"),
    [
        (("es", "es"), "en", "es"),
        (("en", "es"), "es", "es"),
        (("en", "es"), "fr", "en"),
        ((), "es-MX", "es-MX"),
    ],
)
def test_a_site_of_several_languages_takes_that_of_its_settings(tags, of_site, expected):
    made = composed(trial())
    reports = tuple(
        replace(made, slug=f"trial-{place}", language=tag) for place, tag in enumerate(tags)
    )
    site = report.collect("", reports, tag=of_site)
    assert site.language == expected
    assert f'<html lang="{expected}">' in site_files(site)["index.html"].decode()


def test_no_text_of_the_pdf_is_left_in_english(bracketed, monkeypatch):
    of = trial()
    made = report.compose(of, metrics.compute(of), Settings(address="https://example.org"))
    monkeypatch.setattr(attachments, "LARGEST", 2000)
    paper = report_files(made, source=("trial.xlsx", b"PK"))[f"{made.slug}/report.pdf"]
    with pikepdf.open(BytesIO(paper)) as opened:
        described = [str(one.Desc) for one in opened.Root.AF]
    assert described
    assert [text for text in described if left_over(text, [])] == []
    with language.using(BRACKETS):
        attached = attachments.choose(made, ("trial.xlsx", b"PK"))
        body = lxml.html.fromstring(
            pdf.markup(made, "https://example.org/trial/index.html", attached)
        ).find("body")
    assert len(attached.sentences) == 2
    known = [
        *own_words(of),
        *attached.files,
        *attached.too_large,
        "https://example.org/trial/index.html",
    ]
    known += [name.rpartition("/")[2] for name in attached.files] + [
        "results.json",
        "CITATION.cff",
        "datapackage.json",
    ]
    texts = [
        *body.itertext("a", "p", "h1", "h2", "strong"),
        *body.xpath("//div[@class='web']/img/@alt"),
    ]
    known = sorted(known, key=len, reverse=True)
    assert [text for text in texts if left_over(SPANISH.sub(" ", text), known)] == []


def test_what_machines_read_of_a_report_is_in_its_language(bracketed):
    of = trial()
    made = report.compose(of, metrics.compute(of))
    with language.using(BRACKETS):
        said = linked.description(made, made.dataset)
    assert left_over(SPANISH.sub(" ", said), own_words(of)) == []


def test_no_text_of_a_page_is_left_in_english(bracketed):
    of = trial()
    made = report.compose(of, metrics.compute(of))
    figures = {
        block.key: ""
        for section in made.all_sections
        for block in section.blocks
        if isinstance(block, Figure)
    }
    body = lxml.html.fromstring(page.render(made, figures)[f"{made.slug}/index.html"]).find("body")
    known = [*own_words(of), "results.json", "CITATION.cff", "datapackage.json"]
    texts = [*body.itertext("a", "p", "h1", "h2", "strong"), *body.xpath("//*/@aria-label")]
    assert [text for text in texts if left_over(SPANISH.sub(" ", text), known)] == []


def test_no_word_of_a_post_is_left_in_english(bracketed):
    of = trial()
    made = report.compose(of, metrics.compute(of))
    files = post.render(made, address="https://example.org")
    found = lxml.html.fromstring(files[f"{made.slug}/post.html"].decode())
    said = found.itertext("a", "p", "h2", "strong", "li")
    texts = [text for text in said if not text.startswith("https://")]
    known = [*own_words(of), made.title]
    assert len(texts) > 20
    assert [text for text in texts if left_over(SPANISH.sub(" ", text), known)] == []


def test_the_search_for_english_finds_it():
    assert left_over("⟦gave ⟧12 g of Half", ["Half"]) == ["of"]
    chart = {
        "layer": [
            {
                "encoding": {"x": {"title": ["Two", "lines"]}},
                "data": {"values": [{"label": "Total"}]},
            }
        ]
    }
    assert list(texts_of_chart(chart)) == ["Two lines", "Total"]


def test_no_message_stands_within_an_f_string_where_extraction_does_not_see_it():
    for path in PACKAGE.rglob("*.py"):
        strings = (
            node
            for node in ast.walk(ast.parse(path.read_text("utf-8")))
            if isinstance(node, ast.JoinedStr)
        )
        calls = (
            node for string in strings for node in ast.walk(string) if isinstance(node, ast.Call)
        )
        hidden = [call for call in calls if getattr(call.func, "id", "") in KEYWORDS and call.args]
        assert not any(isinstance(call.args[0], ast.Constant) for call in hidden), path


def spanish(of, tag="es"):
    return replace(of, about=replace(of.about, language=tag))


def composed(of):
    return report.compose(of, metrics.compute(of))


def plain(text):
    return text.replace("\u00a0", " ")


def test_a_report_in_spanish_has_its_words_its_decimal_comma_and_its_dates():
    made = composed(spanish(trial()))
    assert made.language == "es"
    assert plain(made.answer[0]).startswith(
        "Con full strength se obtuvo un 30 % más de peso fresco por planta que con half strength:"
        " 28,2 frente a 21,8 g/planta (intervalo del 95 %: de "
    )
    # Common practice: dates in Spanish join their parts with `de` (Ortografía de la lengua
    # española, 2010).
    assert (
        dict(made.facts.items)["Fechas"] == "del 1 de abril de 2026 al 6 de mayo de 2026 (35 días)"
    )
    tables = (
        block for section in made.annex for block in section.blocks if isinstance(block, Table)
    )
    table = next(one for one in tables if one.key == "comparisons")
    assert re.search(r"\d,\d", table.rows[1][1])
    assert not re.search(r"\d\.\d", " ".join(cell for row in table.rows for cell in row))


# Decimal and group signs of the Unicode CLDR: Spain 1234,5 and 12.345; Mexico 1234.5 and 12,345.
@pytest.mark.parametrize(
    ("tag", "small", "large", "percent"),
    [
        ("en", "1234.5", "12\u202f345", "5%"),
        ("es", "1234,5", "12.345", "5\u00a0%"),
        ("es-MX", "1234.5", "12,345", "5%"),
    ],
)
def test_numbers_have_the_signs_of_the_language_and_its_region(tag, small, large, percent):
    with language.using(language.of(tag)):
        assert numbers.fixed(1234.5, 1) == small
        assert numbers.fixed(12345.0, 0) == large
        assert numbers.share(5.0, 0.0, 100.0) == percent


def test_charts_write_numbers_along_their_axes_as_the_language_does():
    def locales(of):
        blocks = (block for section in composed(of).all_sections for block in section.blocks)
        specs = [json.loads(block.spec) for block in blocks if isinstance(block, Figure)]
        return {json.dumps(spec["config"].get("locale")) for spec in specs}

    assert locales(trial()) == {"null"}
    assert [json.loads(one)["number"]["decimal"] for one in locales(spanish(trial()))] == [","]


def test_a_language_without_a_catalogue_falls_back_to_english_and_the_methods_say_so():
    made = composed(spanish(trial(), "fr"))
    assert made.language == "en"
    assert made.answer == composed(trial()).answer
    said = next(section for section in made.all_sections if section.key == "methods").blocks[0].text
    assert "The workbook asks for the language fr, which has no catalogue here." in said
    assert "catalogue" not in str(composed(trial()).all_sections)


def test_every_case_of_a_tag_is_understood():
    assert language.of("ES-mx").locale == "es_MX"
    assert language.of("es-XX").locale == "es"
    assert language.of("../es").locale == "en"


def test_the_results_file_is_the_same_in_every_language():
    assert composed(spanish(trial())).results == composed(trial()).results


def test_the_page_is_marked_with_its_language():
    made = composed(spanish(trial()))
    figures = {
        block.key: ""
        for section in made.all_sections
        for block in section.blocks
        if isinstance(block, Figure)
    }
    written = page.render(made, figures)[f"{made.slug}/index.html"].decode()
    assert '<html lang="es">' in written
    assert "Saltar al informe" in written


def test_the_language_ends_with_the_report():
    composed(spanish(trial()))
    assert language.is_english()
    assert numbers.fixed(1.5, 1) == "1.5"


@pytest.mark.parametrize(
    ("low", "high", "said"),
    [
        (1.03, 1.41, "de un 3 % a un 41 % más"),
        (0.88, 1.41, "de un 12 % menos a un 41 % más"),
        (1.1, None, "desde un 10 % más, sin límite superior"),
        (None, 1.1, "hasta un 10 % más, sin límite inferior"),
    ],
)
def test_an_interval_is_said_in_spanish(low, high, said):
    with language.using(language.of("es")):
        assert (
            wording.interval(Comparison(ratio_low=low, ratio_high=high)).replace("\u00a0", " ")
            == said
        )


COSTS = Several((Term("electricity"), Term("water"), Count(2, "other cost")))


@pytest.mark.parametrize(
    ("note", "said"),
    [
        (
            message("units_left_out", units_left_out=Count(1, "unit")),
            "1 bandeja sin datos, fuera del cálculo",
        ),
        (
            message("units_left_out", units_left_out=Count(3, "unit")),
            "3 bandejas sin datos, fuera del cálculo",
        ),
        (message("counts_costs", costs=COSTS), "cuenta electricidad, agua y 2 costes más"),
        (
            message("metered_in_part", share=Share(0.8)),
            "medida solo durante 80 % del ensayo, así que su energía no se conoce",
        ),
        (
            message("one_unit"),
            "una sola bandeja, así que no se conoce la variación entre bandejas y no es posible ",
        ),
    ],
)
def test_a_note_is_said_in_spanish(note, said):
    with language.using(language.of("es")):
        assert plain(words.text(trial(), note)).startswith(said)


def test_names_with_commas_and_and_in_them_stay_whole():
    of = trial()
    names = ("Light, strong and even", "Sand and peat")
    named = replace(
        of,
        treatments=tuple(
            replace(one, name=name) for one, name in zip(of.treatments, names, strict=True)
        ),
    )
    each = Several(
        (OfTreatment(Amount(1.5, "mS/cm"), "half"), OfTreatment(Amount(1.6, "mS/cm"), "full"))
    )
    found = message("quantity_apart", quantity=Term("mean EC"), each=each, apart=Share(0.1 / 1.5))
    with language.using(language.of("es")):
        assert (
            words.text(named, found).replace("\u00a0", " ")
            == "CE media: 1,5 mS/cm en Light, strong and even y 1,6 mS/cm en Sand and peat;"
            " diferencia de 6,7 %."
        )


def test_a_grower_s_words_stay_as_they_were_typed():
    found = message("something_given", words=Quote("lamp lent. 1.5 years ago; free"))
    with language.using(language.of("es")):
        assert '"lamp lent. 1.5 years ago; free"' in words.text(trial(), found)


def test_a_language_may_have_regions_but_english_stays_as_it_is():
    with language.using(language.of("en-US")):
        assert numbers.day(date(2026, 4, 1)) == "1 April 2026"


def test_spanish_has_one_word_for_one_thing():
    with (language.FOLDER / "es/LC_MESSAGES/reportgen.po").open("rb") as file:
        said = " ".join(str(one.string) for one in read_po(file))
    others = r"\bcostos?\b|\blibros? de datos\b|\brepisas?\b|\bbaldas?\b|\belectricidad que tomó\b"
    assert re.findall(others, said, re.IGNORECASE) == []
