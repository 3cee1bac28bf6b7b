"""Settings of a site: defaults, each setting, and each mistake named by its line and key."""

import dataclasses
from hashlib import sha256
from pathlib import Path

import pytest
from click.testing import CliRunner

from reportgen.cli import main
from reportgen.declared_settings import SETTINGS
from reportgen.model.problem import WorkbookError
from reportgen.model.settings import Settings
from reportgen.settings import beside, read_settings
from tests.workbooks import good, put, write

WHOLE = """
title = "Trials of the glasshouse"
author = "A. Grower"
address = "https://example.org/trials/"
licence = "CC-BY-4.0"
currency = "eur"
language = "es"
units = "both"
templates = "own"
screens = false
about = "Two **growers**."
logo = "pictures/logo.svg"

[menu]
"Our house" = "https://example.org/house"
"Photos" = "photos.html"

[theme]
accent = "#204080"
"gap-1" = "0.5rem"

[theme.dark]
accent = "#a0c0ff"
"""


LOGO = (
    b'<svg xmlns="http://www.w3.org/2000/svg" width="20" height="9"><rect width="20"'
    b' height="9"/></svg>'
)


def with_logo(tmp_path, content=LOGO):
    (tmp_path / "pictures").mkdir(exist_ok=True)
    (tmp_path / "pictures" / "logo.svg").write_bytes(content)


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
    assert Settings().currency == ""  # so that USD is known to be assumed
    assert Settings().units == "typed"


def test_every_setting_is_read(tmp_path):
    (tmp_path / "own" / "parts").mkdir(parents=True)
    (tmp_path / "own" / "parts" / "front.html").write_bytes(b"<p>mine</p>")
    (tmp_path / "own" / ".hidden").write_bytes(b"not a template")
    with_logo(tmp_path)
    (tmp_path / "own" / "film.bin").write_bytes(bytes(1_000_001))
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
        template_files=(("parts/front.html", b"<p>mine</p>"),),
        screens=False,
        about="Two **growers**.",
        logo=(".svg", LOGO),
        menu=(("Our house", "https://example.org/house"), ("Photos", "photos.html")),
    )


def test_a_template_that_is_no_text_is_named(tmp_path):
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "base.html").write_bytes("<p>Größe</p>".encode("latin-1"))
    (tmp_path / "mine" / "leaf.png").write_bytes(b"\x89PNG")  # no template, and no harm
    (said,) = problems(tmp_path, 'title = "x"\ntemplates = "mine"')
    assert "line 2: base.html among the templates is no text in UTF-8" in said


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
        ('units = "imperial"', "expected one of typed, metric, us, both"),
        ('templates = "nowhere"', 'templates names "nowhere", which is no folder'),
        ('[theme]\n\nacent = "#fff"', 'line 3: "acent" is not a setting'),
        ('[theme]\naccent = "red; } body { display: none"', "line 2: accent is"),
        ("[theme]\naccent = 3", "expected a colour of CSS, such as #204080, in quotes"),
        ("theme = 3", "line 1: theme is 3; expected a table [theme]"),
        ("[theme.dark]\naccent = 3", "line 2: accent is 3"),
        ("theme.dark = 3", '"dark" is not a setting'),
        ('screens = "no"', "expected true or false, without quotes"),
        (
            'domain = "https://example.org"',
            "expected the name of a host such as trials.example.org",
        ),
        ('domain = "localhost"', "expected the name of a host"),
        (
            'domain = "a.example.org"\naddress = "https://b.example.org"',
            "line 1: domain is 'a.example.org', while",
        ),
        ("menu = 3", "expected a table [menu] of lines"),
        ('[menu]\nBad = "javascript:alert(1)"', "line 1: menu is"),
        ('[menu]\nBad = "//example.org"', "to web or mail addresses or files of the site"),
        ('logo = "nowhere.svg"', 'line 1: logo names "nowhere.svg", which is no file'),
        ('logo = "../logo.svg"', "which does not lie below the settings file"),
        (
            'logo = "reportgen.toml"',
            "which is no such picture; expected a picture (SVG, PNG, JPEG or WebP)",
        ),
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


def test_the_file_is_looked_for_beside_the_workbooks_alone(tmp_path, monkeypatch):
    (tmp_path / "logs").mkdir()
    monkeypatch.chdir(tmp_path)
    source = tmp_path / "logs" / "trial.xlsx"
    written(tmp_path, "")
    assert beside((source,)) is None
    assert beside((Path("trial.xlsx"),)) == Path("reportgen.toml")
    assert beside(()) == Path("reportgen.toml")
    written(tmp_path / "logs", "")
    assert beside((source,)) == tmp_path / "logs" / "reportgen.toml"
    assert beside((tmp_path / "logs",)) == tmp_path / "logs" / "reportgen.toml"


def test_settings_of_the_current_folder_count_only_where_the_workbooks_lie_there_or_they_are_named(
    tmp_path, monkeypatch
):
    (tmp_path / "logs").mkdir()
    monkeypatch.chdir(tmp_path)
    write(good(), tmp_path / "logs" / "trial.xlsx")
    written(tmp_path, 'title = "Of a stranger"')
    build = ["build", "logs", "--no-pdf"]
    apart = CliRunner().invoke(main, build)
    assert apart.exit_code == 0
    assert "reportgen.toml in this folder is not used" in apart.output
    assert "--settings reportgen.toml" in apart.output
    assert "Of a stranger" not in Path("site/index.html").read_text("utf-8")
    named = CliRunner().invoke(main, [*build, "--settings", "reportgen.toml"])
    assert "is not used" not in named.output
    assert "Of a stranger" in Path("site/index.html").read_text("utf-8")
    monkeypatch.chdir(tmp_path / "logs")
    written(tmp_path / "logs", 'title = "Of the owner"')
    there = CliRunner().invoke(main, ["build", "trial.xlsx", "--no-pdf"])
    assert "is not used" not in there.output
    assert "Of the owner" in Path("site/index.html").read_text("utf-8")


@pytest.mark.parametrize(
    "value", ["#204080", "rebeccapurple", "rgb(1 2 3 / 50%)", "hsl(120deg 50% 50%)"]
)
def test_a_colour_of_the_theme_is_a_colour_of_css(tmp_path, value):
    # Each is a colour by CSS Color Module Level 4.
    assert read_settings(written(tmp_path, f"[theme]\naccent = '{value}'")).theme == (
        ("accent", value),
    )


HOSTILE_VALUES = (
    "url(https://example.org/x)",
    "URL(//example.org)",
    "image-set('x.png' 1x)",
    "var(--ink)",
    "expression(alert(1))",
    "red; } body { display: none",
    "red !important",
    "red /* */",
    "red /*",
    "1px /*",
    "rgb(1 2 3",
    "\\75 rl(x)",
    "</style><script>alert(1)</script>",
    "@import 'x.css'",
    "",
)


@pytest.mark.parametrize("value", [*HOSTILE_VALUES, "0.5rem"])
def test_whatever_is_no_colour_is_refused_in_a_colour_of_the_theme(tmp_path, value):
    (said,) = problems(tmp_path, f'[theme]\naccent = """{value}"""'.replace("\\", "\\\\"))
    assert "line 2: accent is" in said
    assert "expected a colour of CSS" in said


@pytest.mark.parametrize(
    "value", [*HOSTILE_VALUES, "#204080", "1", "-1rem", "1 rem", "calc(1px + 1px)", "90deg"]
)
def test_whatever_is_no_length_is_refused_in_a_length_of_the_theme(tmp_path, value):
    (said,) = problems(tmp_path, f'[theme.dark]\ngap-1 = """{value}"""'.replace("\\", "\\\\"))
    assert "line 2: gap-1 is" in said
    assert "expected a length of CSS" in said


@pytest.mark.parametrize("value", ["url(x)", "Inter; color: red", '"Inter', "Inter,", "local(x)"])
def test_whatever_is_no_name_of_a_font_is_refused_in_the_font_of_the_theme(tmp_path, value):
    (said,) = problems(tmp_path, f"[theme]\nfont = '{value}'")
    assert "expected names of fonts" in said
    assert read_settings(written(tmp_path, "[theme]\nfont = '\"Noto Sans\", serif'")).theme


@pytest.mark.parametrize("name", ["..", "../other", "/etc", ".", "own/../..", "link"])
def test_templates_lie_below_the_settings_file(tmp_path, name):
    (tmp_path / "other").mkdir()
    (tmp_path / "trial" / "own").mkdir(parents=True)
    (tmp_path / "trial" / "link").symlink_to(tmp_path / "other")
    (said,) = problems(tmp_path / "trial", f'templates = "{name}"')
    assert "which does not lie below the settings file" in said
    assert "--settings" in said


def test_settings_that_are_named_may_name_templates_anywhere(tmp_path):
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / "base.html").write_text("mine", "utf-8")
    (tmp_path / "trial").mkdir()
    path = written(tmp_path / "trial", 'templates = "../other"')
    assert read_settings(path, asked=True).template_files == (("base.html", b"mine"),)


def test_a_link_among_the_templates_that_leads_out_is_not_followed(tmp_path):
    secret = tmp_path / "secret.html"
    secret.write_text("secret", "utf-8")
    own = tmp_path / "trial" / "own"
    own.mkdir(parents=True)
    (own / "base.html").symlink_to(secret)
    (own / "inside.html").write_text("mine", "utf-8")
    (own / "again.html").symlink_to(own / "inside.html")
    settings = read_settings(written(tmp_path / "trial", 'templates = "own"'))
    assert settings.template_files == (("again.html", b"mine"), ("inside.html", b"mine"))


def built(tmp_path, text, **cells):
    """Return the texts of a site's files that were built with settings."""
    (tmp_path / "own" / "pages").mkdir(parents=True)
    (tmp_path / "own" / "parts").mkdir()
    with_logo(tmp_path)
    write(put(good(), **cells), tmp_path / "trial.xlsx")
    written(tmp_path, text)
    done = CliRunner().invoke(
        main, ["build", str(tmp_path / "trial.xlsx"), "--out", str(tmp_path / "site"), "--no-pdf"]
    )
    assert done.exit_code == 0, done.output
    kinds = (".html", ".css", ".xml", ".json", ".csv", ".svg", "")
    paths = (
        path for path in (tmp_path / "site").rglob("*") if path.is_file() and path.suffix in kinds
    )
    return {
        path.relative_to(tmp_path / "site").as_posix(): path.read_text("utf-8") for path in paths
    }


def test_a_site_is_built_as_its_settings_say(tmp_path):
    files = built(tmp_path, WHOLE, Trial_A8="Electricity price (per kWh)")
    page, index = files["trial/index.html"], files["index.html"]
    assert "Trials of the glasshouse" in index
    assert '<html lang="es">' in page
    assert "A. Grower" in page
    assert "EUR" in page
    assert "oz/planta" in page
    assert "g/planta" in page
    assert '<link rel="canonical" href="https://example.org/trials/trial/index.html">' in page
    assert "https://example.org/trials/trial/index.html" in files["sitemap.xml"]
    logo = f"assets/logo.{sha256(LOGO).hexdigest()[:10]}.svg"
    assert files[logo] == LOGO.decode()
    for html, root in ((page, "../"), (index, "")):
        assert f'<img src="{root}{logo}" alt="Trials of the glasshouse">' in html
        assert '<a href="https://example.org/house">Our house</a>' in html
        assert f'<a href="{root}photos.html">Photos</a>' in html
    assert "<strong>growers</strong>" in index
    assert not any(name.startswith("trial/screens/") for name in files)
    assert "CNAME" not in files
    (styles,) = (text for name, text in files.items() if name.endswith(".css"))
    assert styles.count("--accent: #204080;") == 1
    assert styles.count("--accent: #a0c0ff;") == 1
    assert styles.index("--accent: #204080;") < styles.index("prefers-color-scheme: dark")
    assert styles.rindex("--accent: #a0c0ff;") > styles.rindex("--accent: #8fcfb4;")


def test_a_domain_gives_the_address_and_the_file_by_which_hosts_know_it(tmp_path):
    files = built(tmp_path, 'domain = "Trials.Example.org"\nscreens = false')
    assert files["CNAME"] == "trials.example.org\n"
    assert "https://trials.example.org/trial/index.html" in files["sitemap.xml"]


def test_a_file_of_the_domain_that_no_build_wrote_stays_and_is_named(tmp_path):
    write(good(), tmp_path / "trial.xlsx")
    (tmp_path / "site").mkdir()
    (tmp_path / "site" / "CNAME").write_text("mine.example.org\n")
    written(tmp_path, 'domain = "other.example.org"\nscreens = false')
    words = ["build", str(tmp_path / "trial.xlsx"), "--out", str(tmp_path / "site"), "--no-pdf"]
    done = CliRunner().invoke(main, words)
    assert done.exit_code == 1
    assert "CNAME" in done.output
    assert (tmp_path / "site" / "CNAME").read_text() == "mine.example.org\n"


def test_a_logo_is_known_by_how_its_file_begins(tmp_path):
    # PNG 3rd ed., 5.2; JPEG (ISO/IEC 10918-1), B.1.1.3; WebP (RFC 9649), 2.4
    for begins, ending in (
        (b"\x89PNG\r\n\x1a\n", ".png"),
        (b"\xff\xd8\xff", ".jpg"),
        (b"RIFF\0\0\0\0WEBP", ".webp"),
    ):
        with_logo(tmp_path, begins + bytes(9))
        assert read_settings(written(tmp_path, 'logo = "pictures/logo.svg"')).logo == (
            ending,
            begins + bytes(9),
        )
    with_logo(tmp_path, LOGO + bytes(1_000_000))
    assert "larger than 1 MB" in problems(tmp_path, 'logo = "pictures/logo.svg"')[0]


def test_every_setting_has_its_line_in_the_table_and_its_example_is_right(tmp_path):
    with_logo(tmp_path)
    (tmp_path / "my-templates").mkdir()
    (tmp_path / "logo.svg").write_bytes(LOGO)
    for one in SETTINGS:
        named = read_settings(written(tmp_path, one.example))
        assert named != Settings(), one.name
    fields = {field.name for field in dataclasses.fields(Settings)} - {
        "dark_theme",
        "template_files",
    }
    assert {one.name for one in SETTINGS} == fields


def test_the_readme_holds_the_table_that_the_program_prints():
    printed = CliRunner().invoke(main, ["dictionary", "--site"]).output
    assert printed.count("\n") == len(SETTINGS) + 2
    readme = (Path(__file__).parents[1] / "README.md").read_text("utf-8")
    assert f"<!-- settings -->\n{printed}<!-- /settings -->" in readme


def test_what_a_workbook_says_itself_goes_before_the_settings(tmp_path):
    page = built(
        tmp_path,
        WHOLE,
        Trial_A8="Electricity price (per kWh)",
        Trial_A9="Language",
        Trial_B9="en",
        Trial_A10="Author",
        Trial_B10="B. Farmer",
    )
    assert '<html lang="en">' in page["trial/index.html"]
    assert "B. Farmer" in page["trial/index.html"]
    assert "A. Grower" not in page["trial/index.html"]


def test_a_template_of_ones_own_is_laid_over_ours(tmp_path):
    (tmp_path / "mine" / "parts").mkdir(parents=True)
    (tmp_path / "mine" / "parts" / "sections.html").write_text("<p>nothing to see</p>", "utf-8")
    page = built(tmp_path, 'templates = "mine"')["trial/index.html"]
    assert "nothing to see" in page
    assert "Nutrient strength for coriander" in page


def test_a_style_sheet_of_ones_own_takes_the_place_of_ours(tmp_path):
    (tmp_path / "mine" / "assets").mkdir(parents=True)
    (tmp_path / "mine" / "assets" / "print.css").write_text("/* nothing is printed */", "utf-8")
    files = built(tmp_path, 'templates = "mine"')
    (styles,) = (text for name, text in files.items() if name.endswith(".css"))
    assert "/* nothing is printed */" in styles
    assert "@page" not in styles
    assert "--accent" in styles


def test_mistakes_in_settings_stop_a_build_and_a_check(tmp_path):
    write(good(), tmp_path / "trial.xlsx")
    written(tmp_path, "titel = 'x'")
    for command in ("build", "check"):
        done = CliRunner().invoke(main, [command, str(tmp_path / "trial.xlsx")])
        assert done.exit_code == 1
        assert 'reportgen.toml, line 1: "titel" is not a setting' in done.output
        assert "Did you mean title?" in done.output
    other = tmp_path / "other.toml"
    other.write_text("title = 'y'", "utf-8")
    assert (
        CliRunner()
        .invoke(main, ["check", str(tmp_path / "trial.xlsx"), "--settings", str(other)])
        .exit_code
        == 0
    )
