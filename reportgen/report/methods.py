"""How the numbers were made, and where the data are."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import chain
from typing import Final

from reportgen import language
from reportgen.language import marked, say
from reportgen.metrics.blocks import is_blocked
from reportgen.model.document import Block, Bullets, Facts, Links, Paragraph, Section, Table
from reportgen.model.message import Message, Notes
from reportgen.model.results import Results
from reportgen.model.trial import Trial
from reportgen.report import (
    compared,
    interim,
    messages,
    numbers,
    robustness,
    terms,
    traces,
    wording,
)
from reportgen.report.references import cited

WITHOUT_FREEDOM: Final[
    Mapping[str, str]
] = {  # names of methods whose degrees of freedom stand beside the figures
    "t_difference": marked("Student's t difference"),
    "welch_difference": marked("Welch difference"),
    "fieller_plug_in": marked("Fieller ratio"),
}


def section(trial: Trial, results: Results) -> Section:
    """Return the methods by name, the references, and how far trays lie from the model."""
    blocks: list[Block] = [
        Paragraph(_one_idea(trial)),
        *(() if trial.interim else _secondary(trial, results)),
        *_methods(trial, results),
        Bullets(cited(trial, results), say("References:")),
    ]
    return Section("methods", say("Methods"), tuple(blocks))


def _secondary(trial: Trial, results: Results) -> tuple[Paragraph, ...]:
    """Return which measure leads, and how many comparisons there are beside it."""
    said = robustness.secondary(trial, results)
    if said:
        return (Paragraph(said),)
    return ()


def data(trial: Trial, colophon: str) -> Section:
    """Return the data, how to cite them, their licence and the software."""
    blocks: tuple[Block, ...] = (
        Links(
            (
                ("results.json", "results.json", say("every number of this report, unrounded")),
                *_data_links(trial),
                *_links_for_machines(trial),
            )
        ),
        compared.in_the_data(trial),
        Facts(_facts(trial, colophon)),
        *traces.blocks(trial),
    )
    return Section("data", say("Data and citation"), blocks)


def _links_for_machines(trial: Trial) -> tuple[tuple[str, str, str], ...]:
    """Return the links to what describes the data, and says how to cite the trial, in open
    standards.
    """
    package = (
        "datapackage.json",
        "data/datapackage.json",
        say("the columns of these files, as a Data Package"),
    )
    citation = (
        "CITATION.cff",
        "CITATION.cff",
        say("how to cite this trial, in the Citation File Format"),
    )
    return (*((package,) if trial.data else ()), citation)


def _data_links(trial: Trial) -> tuple[tuple[str, str, str], ...]:
    """Return the link to each sheet as it was recorded."""
    links: list[tuple[str, str, str]] = []
    message = marked("the sheet {name} as recorded, in the units of this report")
    for table in trial.data:
        about = say(message, name=table.name)
        links.append((table.file_name, f"data/{table.file_name}", about))
    return tuple(links)


def _one_idea(trial: Trial) -> str:
    known = {
        "unit": wording.unit_of(trial),
        "units": wording.unit_of(trial, 2),
        "level": numbers.percent_level(trial.confidence_level),
        "reference": wording.name_of(trial, trial.reference),
    }
    said = [
        say(
            "A result per plant or per {unit} is the average of the {units}; one per amount"
            " of water, energy or crop is one total divided by another.",
            **known,
        ),
        say(
            "Its interval ({level}) comes from the variation between {units}, on the log scale.",
            **known,
        ),
    ]
    if not trial.interim:
        said.append(say(_model(trial), **known))
    if len(trial.treatments) > 2 and not trial.interim:
        said.append(
            say(
                "With several treatments the intervals of one measure hold for all of them"
                " together."
            )
        )
    if trial.experimental_unit == "tray":
        said.append(say("Plants within a tray are never counted as replicates."))
    asked = trial.about.language
    if not language.is_spoken(asked):
        said.append(
            say("The workbook asks for the language {tag}, which has no catalogue here.", tag=asked)
        )
    return " ".join(said)


def _model(trial: Trial) -> str:
    if trial.variances == "separate":
        return marked(
            "The change against {reference} is the ratio of the two figures, with a separate"
            " variance for each treatment, as the workbook asks."
        )
    if is_blocked(trial):
        return marked(
            "The change against {reference} is the ratio of the two figures; the model multiplies"
            " block and treatment effects, so a better shelf favours neither side."
        )
    return marked(
        "The change against {reference} is the ratio of the two figures, with one variance for all"
        " treatments where any has three {units} or fewer, and a separate variance for each"
        " otherwise."
    )


def _methods(trial: Trial, results: Results) -> tuple[Table, ...]:
    """Return which methods each measure's figures and changes come from.

    Degrees of freedom stand beside the figures.

    The methods stand once under the table, by the numbers that its rows show. Measures of the same
    methods share a row.
    """
    known: dict[str, int] = {}
    measures: dict[tuple[str, str], list[str]] = {}
    for label, figures, changes in _served(trial, results):
        methods = _numbered(trial, figures, known), _numbered(trial, changes, known)
        if any(methods):
            measures.setdefault(methods, []).append(label)
    if not measures:
        return ()
    rows = tuple(
        (wording.capital(numbers.listed(tuple(labels))), *methods)
        for methods, labels in measures.items()
    )
    head = (say("Measures"), say("Methods of figures"), say("Methods of changes"))
    named = " ".join(f"{number}\u00a0{method}." for method, number in known.items())
    caption = say("Methods of each measure, by number")
    return (Table("methods", caption, head, rows, (False, False, False), named),)


def _served(
    trial: Trial, results: Results
) -> Iterator[tuple[str, Sequence[Notes], Sequence[Notes]]]:
    """Yield each measure with the methods of its figures and those of its changes."""
    of_factors = {analysis.measure: analysis.methods for analysis in results.effects.analyses}
    for result in results.measures:
        changes = [comparison.methods for _, comparison in result.comparisons]
        changes.append(of_factors.get(result.measure.key, ()))
        figures = [estimate.methods for _, estimate in result.estimates]
        yield wording.inside(terms.label(result.measure)), figures, changes
    for score in results.scores:
        changes = [comparison.methods for _, comparison in score.comparisons]
        yield wording.inside(score.measure.label), (), changes


def _numbered(trial: Trial, used: Sequence[Notes], known: dict[str, int]) -> str:
    """Return the numbers of the methods used; `known` holds each by name and takes in new ones."""
    found: set[int] = set()
    for method in chain.from_iterable(used):
        name = wording.capital(_name(trial, method))
        found.add(known.setdefault(name, len(known) + 1))
    return ", ".join(map(str, sorted(found)))


def _name(trial: Trial, method: Message) -> str:
    """Return a method by name, without degrees of freedom."""
    if method.code in WITHOUT_FREEDOM:
        return say(WITHOUT_FREEDOM[method.code])
    return messages.text(trial, method)


def _facts(trial: Trial, colophon: str) -> tuple[tuple[str, str], ...]:
    about = trial.about
    author = about.author or about.organisation
    titled = f"{interim.title(trial)} ({trial.harvested_on.year})"
    citation = ". ".join(filter(None, (author, titled, about.organisation)))
    facts = (
        (say("How to cite"), say("{citation}. Trial report.", citation=citation)),
        (say("Licence of text and data"), about.licence or say("not stated")),
        (say("Contact"), about.contact),
        (say("SHA-256 of the workbook"), trial.source_sha256),
        (say("Made with"), colophon),
    )
    return tuple((term, text) for term, text in facts if text)
