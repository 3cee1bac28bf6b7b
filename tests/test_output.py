"""Output that finds no room, or nobody to read it, ends a command in one line at most."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.workbooks import least, write

FULL = Path("/dev/full")  # full(4): every write to it fails with ENOSPC
COMMANDS = (["check"], ["check", "--json"], ["build", "--no-pdf", "--out", "site"])


def command(*words):
    return [sys.executable, "-m", "reportgen", *map(str, words)]


@pytest.mark.skipif(not FULL.exists(), reason="no full device")
@pytest.mark.parametrize("words", COMMANDS)
def test_output_to_a_full_device_ends_in_one_line(tmp_path, words):
    book = write(least(), tmp_path / "one.xlsx")
    with FULL.open("w") as full:
        done = subprocess.run(
            command(*words, book),
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
            cwd=tmp_path,
        )
    assert done.returncode == 1
    assert done.stderr == "Error: The output cannot be written: No space left on device.\n"


@pytest.mark.skipif(not FULL.exists(), reason="no full device")
@pytest.mark.parametrize(
    "words", [["--help"], ["--version"], ["dictionary"], ["check", "none.xlsx"]]
)
def test_messages_that_find_no_room_either_end_a_command_without_a_word(tmp_path, words):
    with FULL.open("w") as full:
        done = subprocess.run(command(*words), stdout=full, stderr=full, check=False, cwd=tmp_path)
    assert done.returncode == 1


@pytest.mark.skipif(os.name == "nt", reason="no such pipes")
@pytest.mark.parametrize("words", [*COMMANDS, ["dictionary"]])
def test_a_reader_that_went_away_ends_a_command_without_a_word(tmp_path, words):
    book = [] if words == ["dictionary"] else [write(least(), tmp_path / "one.xlsx")]
    reading, writing = os.pipe()
    os.close(reading)
    done = subprocess.run(
        command(*words, *book),
        stdout=writing,
        stderr=subprocess.PIPE,
        text=True,
        check=False,
        cwd=tmp_path,
    )
    os.close(writing)
    assert done.returncode == 1
    assert done.stderr == ""


@pytest.mark.skipif(os.name == "nt", reason="no such limits")
def test_a_build_that_finds_no_room_ends_in_one_line_and_leaves_nothing(tmp_path):
    import resource

    book = write(least(), tmp_path / "one.xlsx")

    def limit():  # a real refusal of the kernel (POSIX, setrlimit, RLIMIT_FSIZE: EFBIG)
        resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))

    words = command("build", book, "--no-pdf", "--out", tmp_path / "site")
    done = subprocess.run(words, capture_output=True, text=True, check=False, preexec_fn=limit)
    assert done.returncode == 1
    assert done.stderr.endswith(" cannot be written: File too large.\n")
    assert len(done.stderr.splitlines()) == 1
    assert not (tmp_path / "site").exists()
