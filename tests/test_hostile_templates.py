"""Templates of a site's own print what they are given: none runs code, reads or writes a file, or
goes on for ever.
"""

import pickle
from functools import partial
from pathlib import Path

import pytest
from click.testing import CliRunner

from reportgen import metrics, report
from reportgen.cli import main
from reportgen.model.problem import Problem, Severity, WorkbookError
from reportgen.model.settings import Settings
from reportgen.render import templates
from tests.workbooks import good, trial, whole, write

MARK = "ran-and-left-this"

# Ways out of a Jinja sandbox, after OWASP's Web Security Testing Guide, WSTG-INPV-18, and the
# advisories on Jinja (CVE-2016-10745, CVE-2019-10906, CVE-2024-56326, CVE-2025-27516). Each would
# write the file MARK.
OPENING = f"open('{MARK}', 'w').close()"
EACH_FIGURE = (
    "{% for s in report.sections %}{% for b in s.blocks if b.kind == 'figure' %}PUT{% endfor %}{%"
    " endfor %}"
)
ESCAPES = (
    f"{{{{ cycler.__init__.__globals__.os.popen('touch {MARK}').read() }}}}",
    "{{ cycler.__init__.__globals__.os.popen('id').read() }}",
    f"{{{{ lipsum.__globals__['os'].system('touch {MARK}') }}}}",
    f'{{{{ joiner.__init__.__globals__.__builtins__.exec("{OPENING}") }}}}',
    f'{{{{ self.__init__.__globals__.__builtins__.eval("{OPENING}") }}}}',
    "{{ ''.__class__.__mro__[1].__subclasses__() }}",
    "{{ ''|attr('__class__')|attr('__mro__') }}",
    "{{ ''|attr('\\x5f\\x5fclass\\x5f\\x5f') }}",
    "{{ ''['__class__'] }}",
    "{{ ['']|selectattr('__class__')|list }}",
    "{{ '{0.__class__.__init__.__globals__}'.format(report) }}",
    "{{ '{x.__class__}'.format_map({'x': report}) }}",
    "{{ ('{0.__class__}'|attr('format'))(report) }}",
    "{% for f in ['{0.__class__}'.format] %}{{ f(report) }}{% endfor %}",
    "{{ say('{x.__class__.__init__.__globals__}', x=report) }}",
    "{{ say('{x[0]}', x='secret') }}",
    "{% set g = (1, 2)|map('string') %}{{ g.gi_frame.f_back }}",
    "{{ say.__globals__ }}",
    "{{ say.__code__ }}",
    "{{ range.__self__ }}",
    "{{ dict.mro() }}",
    "{{ report.sections.__class__ }}",
    "{{ report.__dataclass_fields__ }}",
    "{{ namespace.__init__.__globals__ }}",
    "{% set x = [1] %}{{ x.append(2) }}",
    EACH_FIGURE.replace("PUT", "{{ b.chart.save('MARK.json') }}"),
    EACH_FIGURE.replace("PUT", "{{ b.chart.data.to_csv('MARK') }}"),
    EACH_FIGURE.replace("PUT", "{{ b.chart.to_json() }}"),
    "{% include '../../../etc/passwd' %}",
    "{% include '/etc/passwd' %}",
    "{% import '../secret.html' as x %}{{ x }}",
    "{% extends '../secret.html' %}",
    "{{ self._TemplateReference__context }}",
    "{{ caller.__globals__ }}",
    "{{ 1 / 0 }}",
    "{{ nothing.at.all }}",
    "{% if %}",
)
ENDLESS = (
    "{{ range(999999999)|list }}",
    "{{ range(10 ** 10) }}",
    "{% for i in range(99999) %}{% for j in range(99999) %}{% endfor %}{% endfor %}",
    "{% for i in range(99999) %}{% for j in range(99999) %}x{% endfor %}{% endfor %}",
    "{% macro f(n) %}{{ f(n + 1) }}{% endmacro %}{{ f(0) }}",
    "{% macro f(n) %}{% if n %}{{ f(n - 1) }}{{ f(n - 1) }}{% endif %}{% endmacro %}{{ f(60) }}",
    "{% include 'pages/report.html' %}",
    "{{ 'x' * 10 ** 12 }}",
    "{{ [0] * 99999999 }}",
    "{{ 9 ** 9 ** 9 }}",
    "{{ 'x'|center(999999999) }}",
    "{{ 'x'.zfill(999999999) }}",
    "{{ '%0999999999d' % 1 }}",
    "{{ '%0*d' % (999999999, 1) }}",
    "{{ '%0999999999d'|format(1) }}",
    "{{ '{:>999999999}'.format(1) }}",
    "{{ '{:>{}}'.format(1, 999999999) }}",
    "{{ lipsum(999999999) }}",
    (
        "{% set ns = namespace(s='xxxxxxxx') %}{% for i in range(99) %}{% set ns.s = ns.s + ns.s"
        " %}{% endfor %}"
    ),
    (
        "{% set ns = namespace(s='xxxxxxxx') %}{% for i in range(99) %}{% set ns.s = ns.s ~ ns.s"
        " %}{% endfor %}"
    ),
    (
        "{% set ns = namespace(s='xxxxxxxx') %}{% for i in range(99) %}"
        "{% set ns.s %}{{ ns.s }}{{ ns.s }}{% endset %}{% endfor %}"
    ),
    (
        "{% set ns = namespace(s='xxxxxxxx') %}{% for i in range(99) %}"
        "{% set ns.s = ns.s.replace('x', ns.s) %}{% endfor %}"
    ),
)


@pytest.fixture(scope="module")
def document(tmp_path_factory):
    made = trial(write(whole(), tmp_path_factory.mktemp("whole") / "trial.xlsx"))
    return report.compose(made, metrics.compute(made))


def refused(document, text):
    """Return the one message that comes of a page of a site's own."""
    own = Settings(template_files=(("pages/report.html", text.encode()),))
    with templates.using(own), pytest.raises(WorkbookError) as caught:
        templates.fill("pages/report.html", report=document)
    (problem,) = caught.value.problems
    assert problem.severity is Severity.ERROR
    assert "\n" not in str(problem)
    return str(problem)


@pytest.mark.parametrize("text", ESCAPES)
def test_no_template_gets_out_of_its_sandbox(document, text, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    said = refused(document, text)
    assert "the site's own templates cannot be used" in said
    assert "Mend the template" in said
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize(
    "text",
    [
        "{{ ['']|map(attribute='__class__')|list }}",
        "{{ ['']|map('attr', '__class__')|list }}",
        "{{ [report]|groupby('__class__')|map(attribute='grouper')|list }}",
        "{{ ['']|map('attr', 'format')|map('attr', '__self__')|list }}",
    ],
)
def test_filters_over_lists_give_nothing_of_what_is_refused(document, text):
    with templates.using(Settings(template_files=(("pages/report.html", text.encode()),))):
        assert templates.fill("pages/report.html", report=document) == "[Undefined]"


@pytest.mark.parametrize(
    "text",
    [
        "{{ f() }}",
        "{{ [1]|map('f')|list }}",
        "{{ f|string }}{{ f() }}",
        "{{ (f|attr('__call__'))() }}",
    ],
)
def test_a_function_that_a_template_was_not_given_is_not_called(text):
    called = []
    own = Settings(template_files=(("preview/problems.html", text.encode()),))
    with templates.using(own), pytest.raises(WorkbookError):
        templates.fill("preview/problems.html", f=partial(called.append, 1))
    assert not called


@pytest.mark.parametrize("text", ENDLESS)
def test_no_template_goes_on_for_ever(document, text):
    said = refused(document, text)
    assert "the site's own templates cannot be used" in said


def test_a_fault_of_a_template_is_named_by_its_file_and_line(document):
    assert "pages/report.html, line 3: a template may not do this" in refused(
        document, "<p>\n\n{{ cycler.__init__.__globals__ }}"
    )
    assert "pages/report.html, line 2: " in refused(document, "<p>\n{% if %}")


def test_what_a_template_may_do_it_still_does(document):
    text = (
        "{{ report.title|upper }} {{ '%s-%05.1f'|format('a', 2.5) }} {{ '{:>6}|{}'.format('b',"
        " 1234567) }} {% for x in 'abc' %}{{ loop.index }}/{{ loop.length }}{{ loop.cycle('x', 'y')"
        " }}{{ ',' if not loop.last }}{% endfor %} {{ [3, 1]|sort|join('-') }} {{ {'a':"
        " 1}.items()|list|length }} {{ say('Crop') }} {% macro m(n) %}[{{ n }}{{ caller() }}]{%"
        " endmacro %}{% call m(2 + 3) %}!{% endcall %} {{ 2 ** 8 }} {{ 'ab' * 2 }}"
    )
    with templates.using(Settings(template_files=(("pages/report.html", text.encode()),))):
        shown = templates.fill("pages/report.html", report=document)
    assert (
        shown
        == f"{document.title.upper()} a-002.5      b|1234567 1/3x,2/3y,3/3x 1-3 1 Crop [5!] 256"
        " abab"
    )


def test_hostile_templates_beside_workbooks_stop_a_build_with_one_line_and_leave_the_last_good_site(
    tmp_path, monkeypatch
):
    monkeypatch.chdir(tmp_path)
    write(good(), tmp_path / "trial.xlsx")
    build = ["build", "trial.xlsx", "--no-pdf"]
    assert CliRunner().invoke(main, build).exit_code == 0
    before = {path: path.read_bytes() for path in Path("site").rglob("*") if path.is_file()}
    Path("own/parts").mkdir(parents=True)
    Path("own/parts/front.html").write_text(ESCAPES[0], "utf-8")
    Path("reportgen.toml").write_text('templates = "own"', "utf-8")
    done = CliRunner().invoke(main, build)
    assert done.exit_code == 1
    assert done.output.count("parts/front.html, line 1") == 1
    assert "Traceback" not in done.output
    assert not Path(MARK).exists()
    assert {path: path.read_bytes() for path in Path("site").rglob("*") if path.is_file()} == before


def test_the_problems_of_an_error_go_with_it_from_one_process_to_another():
    problems = (Problem(Severity.ERROR, "Plants", "C7", "x", "y", "z", code="not_a_number"),)
    again = pickle.loads(pickle.dumps(WorkbookError(problems)))
    assert again.problems == problems
    assert str(again) == str(WorkbookError(problems))
