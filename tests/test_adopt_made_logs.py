"""Logs drawn at random, taken in with a truthful owner: never wrong, as they are, written
otherwise, or a week later.

`python tests/benchmarks/adopt_score.py --show SEED` prints a log of these, with each question and
answer.
"""

import shutil
from functools import cache
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

import pytest

from tests.logs_made import owner
from tests.logs_made.making import made
from tests.logs_made.variants import NEXT_WEEK, SAME
from tests.logs_made.writers import write

SEEDS = 150
CHUNK = 10
CHUNKS = [range(first, first + CHUNK) for first in range(0, SEEDS, CHUNK)]
pytestmark = pytest.mark.slow
# What is asked of the whole score: the share of logs that must be right, and the questions beyond
# those of each trial.
RIGHT_SHARE = 0.95
QUESTIONS = 4
KEPT = TemporaryDirectory()  # logs as they are once they were taken in, with what was answered


@cache
def taken_in(seed):
    """Return what comes of the log of a seed."""
    log, folder = made(seed), folder_of(seed)
    folder.mkdir()
    return owner.taken_in(log, write(log.log, folder))


def folder_of(seed):
    return Path(KEPT.name) / str(seed)


def bad(kind):
    """Return whether an outcome may never be: other figures without a word, or a traceback."""
    return kind in (owner.WRONG, owner.CRASH)


@pytest.mark.parametrize("seed", range(3))
def test_the_command_says_what_one_session_says(seed, tmp_path):
    log = made(seed)
    paths = write(log.log, tmp_path)
    by_command = owner.taken_in(log, paths, owner.by_command(paths))
    in_one_session = taken_in(seed)
    assert by_command.given == in_one_session.given
    assert by_command.document == in_one_session.document


@pytest.mark.parametrize("seeds", CHUNKS, ids=lambda seeds: f"from {seeds.start}")
def test_no_log_is_taken_in_wrongly(seeds):
    outcomes = {seed: taken_in(seed) for seed in seeds}
    assert {seed: (one.kind, one.why) for seed, one in outcomes.items() if bad(one.kind)} == {}


def test_nearly_all_logs_are_right():
    kinds = {seed: taken_in(seed).kind for seed in range(SEEDS)}
    others = {seed: kind for seed, kind in kinds.items() if kind != owner.RIGHT}
    assert len(others) <= (1 - RIGHT_SHARE) * SEEDS, others


def test_few_questions_are_asked():
    assert median(taken_in(seed).questions for seed in range(SEEDS)) <= QUESTIONS


def fitting(changes, log):
    """Return the name of a change that fits a log, another one for each seed, and the changed log."""
    names = list(changes)
    for at in range(len(names)):
        name = names[(log.seed + at) % len(names)]
        changed = changes[name](log)
        if changed is not None:
            return name, changed
    raise AssertionError(f"no change fits seed {log.seed}")


@pytest.mark.parametrize("seeds", CHUNKS, ids=lambda seeds: f"from {seeds.start}")
def test_the_same_log_written_otherwise_is_read_the_same_or_asked_about(seeds, tmp_path):
    found = {}
    for seed in seeds:
        name, changed = fitting(SAME, made(seed))
        folder = tmp_path / str(seed)
        folder.mkdir()
        outcome = owner.taken_in(changed, write(changed.log, folder))
        if bad(outcome.kind):
            found[seed, name] = outcome.kind, outcome.why
    assert found == {}


@pytest.mark.parametrize("seeds", CHUNKS, ids=lambda seeds: f"from {seeds.start}")
def test_a_log_that_was_edited_later_is_right_or_told_of(seeds, tmp_path):
    found = {}
    for seed in seeds:
        if taken_in(seed).kind != owner.RIGHT:
            continue  # another test says so
        log, folder = made(seed), tmp_path / str(seed)
        shutil.copytree(folder_of(seed), folder)
        name, changed = fitting(NEXT_WEEK, log)
        paths = write(changed.log, folder)
        kind, why = owner.judged_trial(changed, paths[0])
        again = owner.taken_in(changed, paths)
        if bad(kind) or bad(again.kind):
            found[seed, name] = kind, why, again.kind, again.why
    assert found == {}
