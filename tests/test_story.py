"""What a report says first must be what its annex shows."""

import re
from dataclasses import fields, is_dataclass
from itertools import pairwise
from pathlib import Path
from statistics import geometric_mean

import pytest

from reportgen import metrics, pipeline, report
from reportgen.model.document import Aside, Figure, Paragraph, Prose, Report, Table
from reportgen.model.results import Comparison
from reportgen.report import wording
from tests.made_trials import SHEETS, write_made

SAMPLES = Path("sample_workbook")
NAMES = (*sorted(path.stem for path in SAMPLES.glob("*.xlsx")), *SHEETS)
ENGLISH_WORDS = {
    "more": "more",
    "less": "less",
    "alike": "alike",
    "unclear": "unclear",
    "untestable": "not tested",
    "confounded": "not comparable",
}
# Words of statisticians, in both languages of reports. They stand in the annex alone, where the
# glossary explains them.
OF_THE_ANNEX = (
    "Fieller",
    "Dunnett",
    "Bonferroni",
    "Satterthwaite",
    "degrees of freedom",
    "grados de libertad",
    "p value",
    "valor p",
    "marginal mean",
    "media marginal",
    "type B",
    "tipo B",
    "coefficient of variation",
    "coeficiente de variación",
    "analysis of variance",
    "análisis de varianza",
    "analysis of covariance",
    "confounded",
    "confundid",
    "log scale",
    "logarithm",
    "logaritm",
    "standard error",
    "error estándar",
    "standard deviation",
    "desviación estándar",
    "lack of fit",
    "falta de ajuste",
    "nested",
    "anidad",
    "replicates",
    "réplicas",
    "experimental unit",
    "unidad experimental",
    "parabola",
    "parábola",
)
BESIDE_RESULTS = {"key", "spec", "narrow_spec", "content", "alternative", "signs", "verdict"}


@pytest.fixture(scope="module")
def composed(tmp_path_factory):
    """Return a function that gives trial, results and report of a sample or a made trial by its
    name, made once.
    """
    folder = tmp_path_factory.mktemp("made")
    known: dict[str, tuple] = {}

    def of(name):
        if name not in known:
            sample = SAMPLES / f"{name}.xlsx"
            trial = pipeline.checked(
                sample if sample.exists() else write_made(folder, name), with_photos=True
            )
            results = metrics.compute(trial)
            known[name] = (trial, results, report.compose(trial, results))
        return known[name]

    return of


def texts(value):
    """Yield every text of a value of a report that its readers see, but for the grower's own words."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, tuple):
        for one in value:
            yield from texts(one)
    elif is_dataclass(value) and not isinstance(value, Prose):
        for field in fields(value):
            if field.name not in BESIDE_RESULTS:
                yield from texts(getattr(value, field.name))


def comparison_table(document: Report):
    """Return the annex's table of comparisons."""
    return next(
        one
        for section in document.annex
        for one in section.blocks
        if getattr(one, "key", "") == "comparisons"
    )


def unnumbered(label: str):
    """Return the label of a row without the numbers of its notes."""
    return label.split("\u00a0[", maxsplit=1)[0]


def comparison_rows(document: Report):
    """Return the rows of the annex's table of comparisons by measure and treatment."""
    table = comparison_table(document)
    found, measure = {}, ""
    for place, row in enumerate(table.rows):
        if place in table.groups:
            measure = unnumbered(row[0])
        else:
            found[measure, unnumbered(row[0])] = row
    return found


@pytest.mark.parametrize("name", NAMES)
def test_each_figure_of_the_answer_box_stands_in_the_annex(composed, name):
    trial, _, document = composed(name)
    of_treatments = {one.name for one in trial.treatments}
    rows = comparison_rows(document)
    checked = 0
    for row in document.box.rows:
        measure = f"{row.measure} ({row.unit})" if row.unit else row.measure
        for change in row.changes:
            if change.name not in of_treatments:
                continue  # a level of a factor: compared with the table of effects below
            checked += 1
            figure = rows[measure, change.name][1]
            assert figure.split(" ")[0] == change.figure.split(" ")[0]
            assert (
                rows[measure, document.box.reference][1].split(" ")[0]
                == row.reference.split(" ")[0]
            )
    assert checked or not any(
        change.name in of_treatments for row in document.box.rows for change in row.changes
    )


@pytest.mark.parametrize("name", NAMES)
def test_the_change_of_a_box_is_the_ratio_of_the_annex(composed, name):
    trial, results, document = composed(name)
    names = {one.code: one.name for one in trial.treatments}
    labels = {
        (row.measure, change.name): change for row in document.box.rows for change in row.changes
    }
    compared = 0
    for result in results.measures:
        for code, comparison in result.comparisons:
            change = next(
                (
                    one
                    for key, one in labels.items()
                    if key[1] == names[code] and _is_row(document, key, result)
                ),
                None,
            )
            if change is None or comparison.ratio is None or "×" in change.change:
                continue
            compared += 1
            number = re.search(r"[\d.,]+", change.change).group().replace(",", ".")
            expected = abs(100 * (comparison.ratio - 1))
            assert float(number) == pytest.approx(expected, abs=0.5 + 1e-9)
            sign = "+" if comparison.ratio > 1 else "−"
            assert change.change.startswith(sign) or expected < 0.05
    assert compared or not any(
        change.name in names.values() for row in document.box.rows for change in row.changes
    )


def _is_row(document, key, result):
    from reportgen import language
    from reportgen.report import terms

    with language.using(language.of(document.language)):
        return terms.label(result.measure) == key[0]


@pytest.mark.parametrize("name", NAMES)
def test_the_word_of_each_change_is_that_of_its_verdict(composed, name):
    trial, results, document = composed(name)
    if document.language != "en":
        pytest.skip("words are those of the catalogue")
    codes = {(one.measure, one.treatment): one.code for one in results.conclusions}
    treatments = {one.name: one.code for one in trial.treatments}
    labels = {result.measure.label: result.measure.key for result in results.measures}
    for row in document.box.rows:
        for change in row.changes:
            assert change.word == ENGLISH_WORDS[change.verdict]
            if change.name in treatments and row.measure in labels:
                assert change.verdict == codes[labels[row.measure], treatments[change.name]]


@pytest.mark.parametrize("name", NAMES)
def test_the_limits_of_an_alike_change_stand_in_the_annex(composed, name):
    trial, _, document = composed(name)
    rows = comparison_rows(document)
    note = comparison_table(document).note
    of_treatments = {one.name for one in trial.treatments}
    for row in document.box.rows:
        measure = f"{row.measure} ({row.unit})" if row.unit else row.measure
        for change in row.changes:
            if change.verdict == "alike" and change.name in of_treatments:
                word, number = rows[measure, change.name][-1].split("\u00a0")
                limits, level = change.limits.rsplit(" ", 1)
                assert word == change.word
                assert level == "(90%)"
                assert f"{number}\u00a0Alike by the 90% interval of the ratio: {limits}." in note


LONGEST_HEADLINE = 22  # words of two factors in Spanish; a figure and its unit are one


@pytest.mark.parametrize("name", NAMES)
def test_a_headline_is_short_and_cuts_no_name(composed, name):
    _, _, document = composed(name)
    assert len(document.headline.replace("\u00a0", "").split()) <= LONGEST_HEADLINE
    assert "…" not in " ".join((document.headline, *document.lead))


@pytest.mark.parametrize("name", NAMES)
def test_no_survival_is_said_to_exceed_that_of_all_plants(composed, name):
    _, results, document = composed(name)
    survival = [one for one in results.measures if one.measure.key == "survival"]
    if not survival or document.language != "en":
        pytest.skip("no survival, or its label in another language")
    for (measure, treatment), row in comparison_rows(document).items():
        if measure.startswith("Survival"):
            shares = [float(one) for one in re.findall(r"[\d.]+(?=%)", " ".join(row[1:5]))]
            reference = min(value for _, one in survival[0].estimates if (value := one.value))
            assert max(shares, default=0) <= 100 * 100 / reference + 0.5, treatment


# what a headline says of two treatments, by the code of the verdict on its main measure
IN_HEADLINES = {
    "more": r"heavier|more|higher",
    "less": r"lighter|less|lower",
    "alike": r"about the same",
    "unclear": r"[Nn]o clear difference",
    "untestable": r"not tested",
    "confounded": r"not a fair test",
}


@pytest.mark.parametrize("name", NAMES)
def test_the_headline_says_what_the_verdict_says(composed, name):
    trial, results, document = composed(name)
    if trial.interim or len(trial.treatments) > 2 or document.language != "en":
        pytest.skip("other kinds of trial are held one by one")
    (code,) = {one.code for one in results.conclusions if one.measure == results.main_measure}
    without_reason = re.sub(r" \(.*: not tested\)", " not tested", document.headline)
    finding = without_reason.rpartition(": ")[2].partition(", dearer")[0]
    assert re.search(IN_HEADLINES[code], finding)
    others = [words for other, words in IN_HEADLINES.items() if other != code]
    told = finding.partition(",")[0].partition(";")[0]
    assert code == "untestable" or not any(re.search(words, told) for words in others)


@pytest.mark.parametrize("name", NAMES)
def test_a_box_has_at_most_four_rows_and_names_every_treatment_that_is_compared(composed, name):
    trial, _, document = composed(name)
    assert len(document.box.rows) <= 4
    if trial.interim:
        assert document.box.rows == ()
        return
    assert document.box.rows
    if len(trial.factors) < 2:
        named = {change.name for change in document.box.rows[0].changes} | {document.box.reference}
        assert named == {one.name for one in trial.treatments}


@pytest.mark.parametrize("name", NAMES)
def test_bars_stand_on_one_scale_with_no_change_where_zero_is(composed, name):
    _, _, document = composed(name)
    bars = [change.bar for row in document.box.rows for change in row.changes if change.bar]
    assert len({bar.zero for bar in bars}) <= 1
    for row in document.box.rows:
        for change in row.changes:
            if change.bar is None:
                continue
            assert 0 <= change.bar.value <= 100
            if change.verdict in ("more", "less") and change.bar.low and change.bar.high:
                assert not change.bar.low < change.bar.zero < change.bar.high
            if change.verdict == "unclear" and change.bar.low and change.bar.high:
                assert change.bar.low <= change.bar.zero <= change.bar.high
    places = [place for place, _ in document.box.ticks]
    assert places == sorted(places)
    assert all(second - first >= 16 for first, second in pairwise(places))


@pytest.mark.parametrize("name", NAMES)
def test_no_word_of_statisticians_stands_before_the_annex(composed, name):
    _, _, document = composed(name)
    shown = (
        document.headline,
        document.lead,
        document.answer,
        document.box,
        document.trust,
        document.sections,
    )
    told = " ".join(texts(shown)).casefold()
    assert [word for word in OF_THE_ANNEX if word.casefold() in told] == []


@pytest.mark.parametrize("name", NAMES)
def test_a_section_has_two_figures_a_sentence_and_five_lines_at_most(composed, name):
    trial, _, document = composed(name)
    for section in document.sections:
        if section.key not in ("growth", "water", "energy", "fair"):
            continue
        blocks = section.blocks
        assert sum(isinstance(one, Figure) for one in blocks) <= 2
        assert sum(isinstance(one, Paragraph) for one in blocks) <= 1
        assert sum(isinstance(one, Aside) for one in blocks) <= 2
        lines = max(5, len(trial.treatments))
        assert all(len(one.rows) <= lines for one in blocks if isinstance(one, Table))
        assert section.label
        assert section.title


@pytest.mark.parametrize("name", NAMES)
def test_no_figure_and_no_table_stands_twice_in_a_report(composed, name):
    _, _, document = composed(name)
    keys = [
        block.key
        for section in document.all_sections
        for block in section.blocks
        if isinstance(block, Figure | Table)
    ]
    assert len(keys) == len(set(keys))
    anchors = [section.key for section in document.all_sections]
    assert len(anchors) == len(set(anchors))


@pytest.mark.parametrize("name", NAMES)
def test_every_number_of_a_short_table_stands_in_the_annex(composed, name):
    trial, _, document = composed(name)
    rows = comparison_rows(document)
    of_treatment = {}
    for (_, treatment), row in rows.items():
        of_treatment.setdefault(treatment, set()).add(row[1].split(" ")[0])
    checked = 0
    for section in document.sections:
        for table in section.blocks:
            if not isinstance(table, Table) or not table.key.endswith("-figures"):
                continue
            for treatment in trial.treatments:
                if treatment.name in table.head:
                    column = table.head.index(treatment.name)
                    cells = [row[column] for row in table.rows]
                else:
                    cells = [row[1] for row in table.rows if row[0] == treatment.name]
                for cell in cells:
                    checked += 1
                    assert cell.split(" ")[0] in of_treatment[treatment.name] or cell in (
                        "not known",
                        "desconocido",
                    )
    assert checked


def section_of(document: Report, key: str):
    """Return a section of what growers read, by its key."""
    return next(one for one in document.sections if one.key == key)


def table_of(section, key: str) -> Table:
    """Return a table of a section by its key."""
    return next(one for one in section.blocks if getattr(one, "key", "") == key)


def test_heading_figure_and_table_give_one_meter_as_the_reason_in_the_same_words(composed):
    _, _, document = composed("photos")
    section = section_of(document, "energy")
    figure = next(one for one in section.blocks if isinstance(one, Figure))
    reason = "one meter for each treatment: not tested"
    assert reason in section.title
    assert reason in figure.title
    assert {row[-1] for row in table_of(section, "energy-figures").rows} == {reason}
    assert reason in document.box.note.lower()
    assert "chance" not in section.title


def test_one_tray_a_side_names_no_price_and_says_that_both_had_one(composed):
    _, _, document = composed("one_tray_a_side")
    said = " ".join((document.headline, *document.lead))
    assert "each of the two treatments has one tray only" in said
    assert "(one tray of each: not tested)" in document.headline
    energy = " ".join(texts(section_of(document, "energy").blocks))
    assert "this trial cannot say" in energy
    assert "pays if" not in said + energy


def test_the_first_screen_says_that_a_price_counts_electricity_only(composed):
    _, _, document = composed("photos")
    assert "USD 0.30 more (electricity only)" in document.lead[1]
    _, _, with_other_costs = composed("pak-choi-root-warmth")
    assert "electricity only" not in " ".join(with_other_costs.lead)


def test_whether_it_pays_at_the_growers_own_price_stands_in_the_table(composed):
    _, results, document = composed("tomate-cereza-luz-de-apoyo")
    table = table_of(section_of(document, "energy"), "budget")
    assert "6,5" in table.head[-1]
    words = {"pays": "es rentable", "loses": "no es rentable", "unclear": "no se puede decir"}
    assert [row[-1] for row in table.rows] == [words[one.pays] for one in results.money]


def test_the_figures_of_a_level_are_geometric_means_of_those_of_its_treatments(composed):
    """Where each treatment has as many pots: Kirkwood 1979, Biometrics 35:908-909."""
    trial, results, document = composed("tomate-cereza-luz-de-apoyo")
    main = next(one for one in results.measures if one.measure.key == results.main_measure)
    known = {code: one.value for code, one in main.estimates}
    averaged = [one for one in results.effects.of(results.main_measure).effects if not one.within]
    assert {one.factor for one in averaged} == {one.name for one in trial.factors}
    for one in averaged:
        for level, figure in ((one.level, one.figure), (one.reference, one.reference_figure)):
            place = [factor.name for factor in trial.factors].index(one.factor)
            own = [known[each.code] for each in trial.treatments if each.levels[place] == level]
            assert figure == pytest.approx(geometric_mean(own))
    for row in document.box.rows:
        assert "g/maceta" in row.reference
        assert all("g/maceta" in change.name for change in row.changes)


def test_the_factor_that_is_asked_for_leads_and_is_answered_within_the_other(composed):
    trial, _, document = composed("tomate-cereza-luz-de-apoyo")
    assert trial.about.question.index("luz") < trial.about.question.index("maceta")
    assert document.headline.startswith("Luz")
    assert any("maceta pequeña" in said and "maceta grande" in said for said in document.lead)


def test_a_figure_tells_the_verdicts_of_its_sections_heading(composed):
    _, _, document = composed("basil-day-length")
    for key in ("growth", "water"):
        section = section_of(document, key)
        figure = next(one for one in section.blocks if isinstance(one, Figure))
        for words in ("about the same", "unclear"):
            assert words in section.title
            assert words in figure.title


def test_a_difference_between_two_treatments_stands_in_the_heading_of_its_section(composed):
    _, _, document = composed("basil-day-length")
    title = section_of(document, "energy").title.replace("\u00a0", " ")
    assert "electricity cost per pound lower with 12 h day than with 20 h day" in title


def test_equal_survival_has_limits_equal_both_ways(composed):
    """Newcombe 1998, Stat. Med. 17:873-890: of equal shares of as many, by square and add."""
    _, _, document = composed("basil-day-length")
    row = comparison_rows(document)["Survival (%)", "20 h day"]
    low, high = row[6].split("\u00a0to\u00a0")
    assert row[5] == "0"
    assert low == f"\u2212{high}"


@pytest.mark.parametrize("name", NAMES)
def test_ph_keeps_its_small_letter_where_a_text_begins_with_it(composed, name):
    _, _, document = composed(name)
    assert not any(re.search(r"\bPH\b", text) for text in texts(document))


@pytest.mark.parametrize("name", NAMES)
def test_a_test_with_checks_not_recorded_is_fair_as_far_as_recorded(composed, name):
    _, results, document = composed(name)
    verdicts = {one.verdict for one in results.fairness}
    if not verdicts:
        pytest.skip("nothing is judged while a trial goes on")
    title = section_of(document, "fair").title
    as_recorded = "as far as it was recorded" in title or "hasta donde consta" in title
    assert as_recorded == ("not recorded" in verdicts and "problem" not in verdicts)


def test_less_is_told_from_the_smaller_to_the_larger_change():
    assert wording.interval(Comparison(ratio_low=0.71, ratio_high=0.88)) == "12% to 29% less"


@pytest.mark.parametrize("name", NAMES)
def test_the_first_limits_of_a_sentence_of_the_lead_say_their_level(composed, name):
    _, _, document = composed(name)
    for said in document.lead:
        sentence = said.replace("\u00a0", " ")
        assert "somewhere between" not in sentence
        limits = re.findall(r"\(([^()]* (?:to|a) [^()]*)\)", sentence)
        for first in limits[:1]:  # a second one beside it is of the same level
            assert re.match(r"\d+% interval |intervalo del \d+ %", first)
