"""Print how many words a report has before its annex and in it: for the samples and the made
trials.

Run `python tests/benchmarks/words.py`. Texts that stand for figures are left out, as few readers
see them.
"""

import sys
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from types import ModuleType

from reportgen import metrics, pipeline, report
from reportgen.model.document import Report

TESTS = Path(__file__).parent.parent
SAMPLES = TESTS.parent / "sample_workbook"
package = ModuleType("tests")  # found by its folder, whatever else is installed under this name
package.__path__ = [str(TESTS)]
sys.modules["tests"] = package
from tests.made_trials import SHEETS, write_made  # noqa: E402

UNREAD = {
    "key",
    "kind",
    "spec",
    "narrow_spec",
    "content",
    "alternative",
    "signs",
    "verdict",
    "lines",
}


def texts(value: object) -> Iterator[str]:
    """Yield every text of a value of a report that its readers see."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, tuple):
        for one in value:
            yield from texts(one)
    elif is_dataclass(value):
        for field in fields(value):
            if field.name not in UNREAD:
                yield from texts(getattr(value, field.name))


def words(*values: object) -> int:
    """Return how many words values of a report have."""
    return sum(len(text.split()) for text in texts(values))


def line(name: str, document: Report) -> str:
    """Return the words of the answer, of the sections and of the annex."""
    first = words(document.headline, document.lead, document.box, document.trust)
    return f"{name:32} {first:6} {words(document.sections):8} {words(document.annex):6}"


def main() -> None:
    """Print a line a report."""
    print(f"{'words in':32} answer sections  annex")
    with TemporaryDirectory() as folder:
        paths = [
            *sorted(SAMPLES.glob("*.xlsx")),
            *(write_made(Path(folder), name) for name in SHEETS),
        ]
        for path in paths:
            trial = pipeline.checked(path, with_photos=True)
            print(line(path.stem, report.compose(trial, metrics.compute(trial))))


if __name__ == "__main__":
    main()
