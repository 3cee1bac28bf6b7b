"""The report of one trial as files: the program from a trial on, without a disk."""

from collections.abc import Mapping
from dataclasses import dataclass

from reportgen.building import manifest, result_date
from reportgen.model.document import Report
from reportgen.model.results import TrialToPool
from reportgen.model.settings import Settings
from reportgen.model.trial import Trial


@dataclass(frozen=True)
class Job:
    """What a worker needs to make a report, be it on another computer.

    `source` is the name and the content of what the PDF has of the workbook; None where it has
    nothing. `settings` hold the site's own templates whole: the folder they name is not there on
    another computer.
    """

    trial: Trial
    settings: Settings
    pdf: bool
    source: tuple[str, bytes] | None = None


@dataclass(frozen=True)
class BuildOutput:
    """A trial's report as a worker made it: its entry in the list of trials, its files.

    `to_pool` is what it brings to a comparison of several trials.
    """

    listed: Report
    to_pool: TrialToPool
    files: Mapping[str, bytes]
    remark: str
    result: str = ""  # a digest of what it finds


def make(job: Job) -> BuildOutput:
    """Return the report of a trial as files.

    Nothing is read or written, so that any computer can do it.
    """
    from reportgen import metrics, render, report
    from reportgen.metrics.to_pool import to_pool

    results = metrics.compute(job.trial)
    document = report.compose(job.trial, results, job.settings)
    with render.templates.using(job.settings):
        content, remark = _files(document, job)
    found = result_date.digest_of(document.results)
    return BuildOutput(
        manifest.listed(document), to_pool(job.trial, results), content, remark, found
    )


def _files(document: Report, job: Job) -> tuple[Mapping[str, bytes], str]:
    from reportgen import render

    try:
        return render.report_files(document, pdf=job.pdf, source=job.source), ""
    except render.PdfUnavailable as reason:
        return render.report_files(document, pdf=False), str(reason)
