"""Settings of a site: defaults, each setting, and each mistake named by its line and key."""

import pytest

from reportgen.model.problem import WorkbookError
from reportgen.model.settings import Settings
from reportgen.settings import beside, read_settings

WHOLE = """
title = "Trials of the glasshouse"
author = "A. Grower"
address = "https://example.org/trials/"
licence = "CC-BY-4.0"
currency = "eur"
language = "es"
units = "both"
templates = "own"

[theme]
accent = "#204080"
"gap-1" = "0.5rem"

[theme.dark]
accent = "#a0c0ff"
"""


def written(tmp_path, text):
    path = tmp_path / "reportgen.toml"
    path.write_text(text, "utf-8")
    return path


def problems(tmp_path, text):
    with pytest.raises(WorkbookError) as caught:
        read_settings(written(tmp_path, text))
    return [str(problem) for problem in caught.value.problems]


def test_without_a_file_everything_has_its_default():
    assert read_settings(None) == Settings()
    assert Settings().currency == "USD"


def test_every_setting_is_read(tmp_path):
    (tmp_path / "own").mkdir()
    assert read_settings(written(tmp_path, WHOLE)) == Settings(
        title="Trials of the glasshouse",
        author="A. Grower",
        address="https://example.org/trials",
        licence="CC-BY-4.0",
        currency="EUR",
        language="es",
        units="both",
        theme=(("accent", "#204080"), ("gap-1", "0.5rem")),
        dark_theme=(("accent", "#a0c0ff"),),
        templates=tmp_path / "own",
    )


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("title = 5", "reportgen.toml, line 1: title is 5; expected text in quotes"),
        ('\nadress = "https://example.org"', 'line 2: "adress" is not a setting'),
        ('\nadress = "https://example.org"', "Did you mean address?"),
        ('address = "example.org"', "line 1: address is 'example.org'"),
        ('address = "javascript:alert(1)"', "expected an address such as"),
        ('currency = "Taler"', "expected a currency code"),
        ('language = "Klingon, please"', "expected a tag of BCP 47"),
        ('units = "imperial"', "expected one of metric, us, both"),
        ('templates = "nowhere"', 'templates names "nowhere", which is no folder'),
        ('[theme]\n\nacent = "#fff"', 'line 3: "acent" is not a setting'),
        ('[theme]\naccent = "red; } body { display: none"', "line 2: accent is"),
        ("[theme]\naccent = 3", "expected a value of CSS in quotes"),
        ("theme = 3", "line 1: theme is 3; expected a table [theme]"),
        ("[theme.dark]\naccent = 3", "line 2: accent is 3"),
        ("theme.dark = 3", '"dark" is not a setting'),
        ('title = "open', "Unterminated string"),
        ("\ntitle = open", "line 2"),
    ],
)
def test_a_mistake_is_named_by_its_line_and_key(tmp_path, text, said):
    assert any(said in problem for problem in problems(tmp_path, text)), problems(tmp_path, text)


def test_every_mistake_comes_at_once(tmp_path):
    assert len(problems(tmp_path, 'title = 5\nunits = "x"\nfoo = 1')) == 3


def test_a_file_that_is_no_text_or_not_there_is_said_to_be_so(tmp_path):
    path = tmp_path / "reportgen.toml"
    with pytest.raises(WorkbookError, match="is not there"):
        read_settings(path)
    path.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(WorkbookError, match="UTF-8"):
        read_settings(path)


def test_the_file_is_looked_for_beside_the_workbooks_then_here(tmp_path, monkeypatch):
    (tmp_path / "logs").mkdir()
    monkeypatch.chdir(tmp_path)
    source = tmp_path / "logs" / "trial.xlsx"
    assert beside((source,)) is None
    written(tmp_path, "")
    assert beside((source,)).resolve() == tmp_path / "reportgen.toml"
    written(tmp_path / "logs", "")
    assert beside((source,)) == tmp_path / "logs" / "reportgen.toml"
    assert beside((tmp_path / "logs",)) == tmp_path / "logs" / "reportgen.toml"
