import math
import multiprocessing
import os

import pytest

from reportgen import second_process
from reportgen.render import artwork, card
from reportgen.second_process import SecondProcess
from tests.test_card import SVG
from tests.test_pipeline import digests, run
from tests.workbooks import least, write

ASKED = (os.getpid, ())  # gives another number in another process


@pytest.fixture
def drawings(monkeypatch):
    """Give drawings with a second process, which ends with the test."""
    monkeypatch.setattr(second_process, "is_of_use", lambda: True)
    made = artwork.Drawings()
    made.start()
    yield made
    end_processes()


def end_processes():
    for child in multiprocessing.active_children():
        child.kill()
        child.join()


def test_the_second_process_draws_what_it_is_asked_for_and_this_one_the_rest(drawings):
    drawings.ask([ASKED])
    assert drawings.picture(ASKED) != os.getpid()
    alone = artwork.Drawings()
    alone.ask([ASKED])
    assert alone.picture(ASKED) == os.getpid()


def test_a_picture_has_the_same_bytes_from_either_process(drawings):
    request = card.request(SVG)
    drawings.ask([request])
    function, arguments = request
    assert drawings.picture(request) == function(*arguments) == card.png(SVG)


def test_what_was_asked_for_and_not_fetched_does_not_hold_up_the_next(drawings):
    long = ("x" * 1_000_000,)  # far more than a pipe holds
    drawings.ask([(str.upper, long)])
    drawings.ask([(str.title, long)])
    assert drawings.picture((str.title, long)) == "X" + long[0][1:]
    assert drawings.picture((str.upper, long)) == long[0].upper()


def test_a_picture_is_drawn_once():
    times = []
    alone = artwork.Drawings()
    for _ in range(2):
        assert alone.picture((times.append, ("drawn",))) is None
    assert times == ["drawn"]


def test_only_the_last_pictures_are_kept(monkeypatch):
    monkeypatch.setattr(artwork, "MOST_KEPT", 2)
    times = []
    alone = artwork.Drawings()
    for name in ("a", "b", "a", "c", "a", "b"):
        alone.picture((times.append, (name,)))
    assert times == ["a", "b", "c", "b"]


def test_an_error_of_the_second_process_is_met_here(drawings):
    drawings.ask([(math.sqrt, (-1,)), ASKED])
    with pytest.raises(ValueError, match=r"math domain|nonnegative"):
        drawings.picture((math.sqrt, (-1,)))
    assert drawings.picture(ASKED) != os.getpid()


def test_where_the_second_process_ends_this_one_draws_all(drawings):
    end_processes()
    drawings.ask([ASKED, (math.sqrt, (4,))])
    assert drawings.picture((math.sqrt, (4,))) == 2
    assert drawings.picture(ASKED) == os.getpid()


def test_the_second_process_ends_when_nothing_can_ask_it_any_more():
    before = set(multiprocessing.active_children())
    second = SecondProcess()
    (child,) = set(multiprocessing.active_children()) - before
    second._connection.close()
    child.join(60)
    assert child.exitcode == 0


def test_a_site_has_the_same_bytes_whether_one_process_draws_it_or_two(tmp_path, monkeypatch):
    book = write(least(), tmp_path / "trial.xlsx")
    monkeypatch.setattr(artwork, "DRAWINGS", artwork.Drawings())
    assert run("build", book, "--out", tmp_path / "one", "--no-pdf", "--jobs", 1).exit_code == 0
    monkeypatch.setattr(artwork, "DRAWINGS", artwork.Drawings())
    assert run("build", book, "--out", tmp_path / "two", "--no-pdf").exit_code == 0
    assert digests(tmp_path / "one") == digests(tmp_path / "two")
