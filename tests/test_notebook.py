"""The notebook: it is the README's section, and every cell of it runs."""

import json
import shutil

import nbformat
import pytest
from nbclient import NotebookClient

from tests.notebook import ROOT, SHIPPED, cells, notebook_text

SAMPLES = ("pak-choi-root-warmth.xlsx", "basil-day-length.xlsx")


@pytest.fixture(scope="module")
def executed(tmp_path_factory):
    """Return the cells of the shipped notebook once it has run, and the folder it ran in."""
    folder = tmp_path_factory.mktemp("notebook")
    (folder / "sample_workbook").mkdir()
    for name in SAMPLES:
        shutil.copy(ROOT / "sample_workbook" / name, folder / "sample_workbook")
    notebook = nbformat.read(SHIPPED, as_version=4)
    resources = {"metadata": {"path": str(folder)}}
    NotebookClient(notebook, timeout=180, kernel_name="python3", resources=resources).execute()
    return [cell for cell in notebook.cells if cell.cell_type == "code"], folder


def output(executed, source):
    """Return what the cell that holds a text shows, by media type."""
    found, _ = executed
    cell = next(cell for cell in found if source in cell.source)
    return cell.outputs[-1].data


def test_the_notebook_is_the_section_of_the_readme():
    assert SHIPPED.read_text("utf-8") == notebook_text(), "run: python tests/notebook.py"
    notebook = nbformat.read(SHIPPED, as_version=4)
    nbformat.validate(notebook)
    assert [(cell.cell_type, cell.source) for cell in notebook.cells] == cells()
    assert sum(kind == "code" for kind, _ in cells()) >= 6


def test_every_cell_runs_and_says_nothing_beside(executed):
    found, _ = executed
    kinds = [one.output_type for cell in found for one in cell.outputs]
    assert set(kinds) <= {"execute_result", "stream", "display_data"}
    streams = [one for cell in found for one in cell.outputs if one.output_type == "stream"]
    assert all(one.name == "stdout" for one in streams), streams


def test_values_in_the_notebook_are_those_of_the_results_file_that_it_builds(executed):
    _, folder = executed
    file = json.loads((folder / "site/pak-choi-root-warmth/results.json").read_text("utf-8"))

    def entry(part):
        (found,) = [
            one
            for one in file[part]
            if (one["metric"], one["treatment"]) == ("fresh_weight", "warm")
        ]
        return found

    shown = output(executed, 'weight["warm"].value')["text/plain"]
    estimate = entry("estimates")
    expected = (estimate["value"], estimate["unit"], entry("comparisons")["ratio"])
    assert shown == repr((*expected, entry("verdicts")["code"]))


def test_trial_and_results_show_themselves_as_tables(executed):
    trial = output(executed, "trial = rg.read")
    assert trial["text/plain"].startswith("<Trial 'Warm roots for pak choi in a cold room'")
    assert "<td>Warm trays</td>" in trial["text/html"]
    answer = output(executed, "results = rg.analyse")["text/html"]
    assert "22% heavier pak choi" in answer
    assert "<td>+22%</td>" in answer


def test_a_figure_shows_itself_as_a_chart(executed):
    shown = output(executed, "rg.figure")
    assert any(kind.startswith("application/vnd.vegalite") for kind in shown) or (
        "vega" in shown["text/html"]
    )
