"""Property tests try the same examples every time, so that a change and not chance decides whether
they pass.
"""

import pickle
import signal
from functools import cache, wraps

import pytest
from hypothesis import settings

from tests import browser

# Most time first; a file that is missing here costs nothing but a later end.
LONGEST_FILES = (
    "adopt_made_logs",
    "incremental",
    "site_writing",
    "pages",
    "pdf",
    "language",
    "direction",
    "output",
    "own_price",
    "workbook_limits",
    "adopt_which_column",
    "explore",
    "any_measure",
)

settings.register_profile("same", derandomize=True, deadline=None)  # no test asserts on time
settings.load_profile("same")
signal.signal(
    signal.SIGINT, signal.default_int_handler
)  # shells have it ignored by what runs in their background


def pytest_addoption(parser):
    """Let more spoilt workbooks be tried than usual, and golden files be written anew."""
    parser.addoption(
        "--write-golden",
        dest="write_golden",
        action="store_true",
        help="take today's words as golden",
    )
    parser.addoption("--seeds", dest="seeds", type=int, help="workbooks that are spoilt at random")


def pytest_collection_modifyitems(items):
    """Begin with the files that take longest, so that two processors end together."""
    places = {f"test_{name}.py": place for place, name in enumerate(LONGEST_FILES)}
    slow = {item.path for item in items if item.get_closest_marker("slow")}

    def order(item):
        return places.get(item.path.name, len(places)), item.path not in slow

    items.sort(key=order)


@pytest.fixture(scope="session", autouse=True)
def classes_of_charts_found_once():
    """Let Altair list its own classes once and not for each chart, which is a third of the time of
    a report.
    """
    from altair.utils import schemapi

    finder = cache(schemapi._FromDict)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(schemapi, "_FromDict", lambda classes: finder(tuple(classes)))
        yield


@pytest.fixture(scope="session", autouse=True)
def one_process_draws():
    """Draw in the process of the test: another one would import the whole program for few builds.

    test_artwork.py starts the second process, as does each program that a test runs.
    """
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("reportgen.second_process.is_of_use", lambda: False)
        yield


@pytest.fixture(scope="module")
def without_screens():
    """Let the reports of a file have no pictures for talks, which are dear and not looked at there.

    test_screens.py and the tests of whole sites have them.
    """
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("reportgen.render.screens.screens", lambda *_: ())
        yield


@pytest.fixture(scope="session")
def chromium():
    """Give the browser of every test that needs one, a context or page of its own to each."""
    with browser.started() as running:
        yield running


class DrawnOnce:
    """A converter that draws each chart once, and gives the same drawing whenever it is asked for
    it again.

    It stands in where drawing is not what is tested: test_render.py and the tests of charts have
    the real one.
    """

    def __init__(self, real):
        self._svg, self._png = cache(real.vegalite_to_svg), cache(real.svg_to_png)

    def vegalite_to_svg(self, spec, *, allowed_base_urls):
        return self._svg(spec, allowed_base_urls=tuple(allowed_base_urls))

    def svg_to_png(self, svg, *, scale):
        return self._png(svg, scale=scale)


@pytest.fixture(scope="session")
def converter_that_draws_once():
    from reportgen.render import figures

    return DrawnOnce(figures.converter())


@pytest.fixture(scope="module")
def drawn_once(converter_that_draws_once):
    """Let every test of a file share the drawings of charts that are the same."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("reportgen.render.figures.converter", lambda: converter_that_draws_once)
        yield


@pytest.fixture(scope="session")
def make_once():
    """Give a stand-in for `pipeline.make` that makes a report without PDF once of all that it is
    made of.

    The function is pure, and what it makes is a value. Tests that compare reports of two processes
    have the real one.
    """
    from reportgen import pipeline

    known, real = {}, pipeline.make

    @wraps(real)  # other processes find the real one by its name
    def made(job):
        if job.pdf:
            return real(job)
        key = pickle.dumps(job)
        if key not in known:
            known[key] = real(job)
        return known[key]

    return made


@pytest.fixture(scope="module")
def made_once(make_once):
    """Let every test of a file share the reports of workbooks and settings that are the same."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("reportgen.building.reports.make", make_once)
        yield
