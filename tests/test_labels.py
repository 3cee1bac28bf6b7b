"""Labels of trays: one for each, 24 on a page of A4, read by a reader of codes as by people."""

import subprocess

import pikepdf
import pytest
from click.testing import CliRunner

from reportgen.cli import main
from reportgen.render import labels
from reportgen.render.labels import Label
from reportgen.workbook.plan import MOST_LABELS, PlanError, planned, tray_labels
from reportgen.workbook.vocabulary import vocabulary

PLAN = planned(["plain", "Warm roots"], blocks=13, trays=1, plants=3, seed=4711)


def run(*words):
    return CliRunner().invoke(main, ["new", *map(str, words)])


def new(folder, *words):
    """Run the command in a folder, with labels, and return the path of these."""
    typed = ("--treatment", "plain", "--treatment", "Warm roots", "--seed", 4711, *words)
    done = run(folder / "winter.xlsx", *typed, "--labels", folder / "labels.pdf")
    assert done.exit_code == 0, done.output
    return folder / "labels.pdf"


def words_on(path):
    return subprocess.run(
        ["pdftotext", "-layout", path, "-"], capture_output=True, text=True, check=True
    ).stdout


def codes_on(path, page, folder):
    """Return what a reader of codes finds on a page, from the top left on."""
    zxingcpp = pytest.importorskip("zxingcpp")
    image = pytest.importorskip("PIL.Image")
    drawn = folder / "page"
    words = [
        "pdftoppm",
        "-r",
        "100",
        "-f",
        str(page),
        "-l",
        str(page),
        "-png",
        "-singlefile",
        str(path),
        str(drawn),
    ]
    subprocess.run(words, check=True)
    found = zxingcpp.read_barcodes(image.open(drawn.with_suffix(".png")))
    assert all(one.format == zxingcpp.BarcodeFormat.QRCode for one in found)
    placed = sorted(
        found, key=lambda one: (round(one.position.top_left.y, -2), one.position.top_left.x)
    )
    return [one.text for one in placed]


def test_a_reader_of_codes_finds_each_tray_in_walking_order_24_on_a_page(tmp_path):
    # zxing-cpp reads what poppler draws at 100 dots an inch, coarser than any printer; both share
    # nothing with segno.
    path = new(tmp_path, "--blocks", 13)
    assert codes_on(path, 1, tmp_path) == [f"T{number}" for number in range(1, 25)]
    assert codes_on(path, 2, tmp_path) == ["T25", "T26"]


def test_pages_are_a4(tmp_path):
    with pikepdf.open(new(tmp_path, "--blocks", 13)) as paper:
        sizes = [[float(side) * 25.4 / 72 for side in page.mediabox[2:]] for page in paper.pages]
    assert sizes == [pytest.approx([210, 297], abs=0.1)] * 2  # ISO 216, A4 in millimetres


def test_a_label_says_code_treatment_place_and_the_workbook(tmp_path):
    said = words_on(new(tmp_path, "--blocks", 2))
    for one in tray_labels(
        planned(["plain", "Warm roots"], blocks=2, trays=1, plants=6, seed=4711)
    ):
        assert one.tray in said
        assert one.place in said
    assert said.count("Warm roots") == said.count("plain") == 2
    assert said.count("winter") == 4


def test_blind_labels_hide_the_treatment_and_nothing_else(tmp_path):
    said = words_on(new(tmp_path, "--blocks", 2, "--blind"))
    assert "Warm roots" not in said
    assert "plain" not in said
    assert "Block 2 · Position 4" in said
    content = (tmp_path / "labels.pdf").read_bytes()
    assert b"Warm" not in content


def test_labels_are_in_the_language_of_the_workbook(tmp_path):
    assert "Bloque 1 · Posición 1" in words_on(new(tmp_path, "--blocks", 1, "--language", "es"))


def test_the_same_labels_are_the_same_bytes():
    made = [Label(one.tray, one.treatment, one.place) for one in tray_labels(PLAN)]
    assert labels.render(made, "winter", "en") == labels.render(made, "winter", "en")


def test_names_are_printed_as_they_are_and_cut_where_they_are_long(tmp_path):
    names = ("<b>bold & {{ 7 * 7 }}</b>", "حار", "a treatment whose name goes on and on " * 5)
    made = [Label(f"T{number}", name, "Position 1") for number, name in enumerate(names, 1)]
    path = tmp_path / "labels.pdf"
    path.write_bytes(labels.render([*made, Label("T1234567", "", "Position 4")], "x" * 200, "en"))
    said = words_on(path)
    assert "<b>bold & {{ 7 *" in said
    assert "…" in said
    assert 0 < said.count("goes on") < 5
    assert "T1234567" in said
    assert codes_on(path, 1, tmp_path) == ["T1", "T2", "T3", "T1234567"]


def test_more_labels_than_anybody_sticks_on_are_refused():
    with pytest.raises(PlanError, match=f"at most {MOST_LABELS}"):
        tray_labels(
            planned(["a", "b"], blocks=0, trays=MOST_LABELS, plants=1, seed=1), vocabulary("es")
        )


@pytest.mark.parametrize(
    ("taken", "words", "said"),
    [
        ("labels.pdf", ("--labels", "labels.pdf"), "is there already and is not overwritten"),
        ("winter.xlsx", ("--labels", "labels.pdf"), "is there already and is not overwritten"),
        ("", ("--labels", "labels.png"), "does not end in .pdf"),
        ("", ("--blind",), "name their file with --labels"),
        (
            "",
            ("--labels", "labels.pdf", "--trays", "100", "--blocks", "10", "--plants", "1"),
            "at most 1000",
        ),
    ],
)
def test_wrong_usage_writes_neither_workbook_nor_labels(tmp_path, monkeypatch, taken, words, said):
    monkeypatch.chdir(tmp_path)
    if taken:
        (tmp_path / taken).write_text("weeks of work")
    done = run("winter.xlsx", "--treatment", "a", "--treatment", "b", *words)
    assert done.exit_code == 2
    assert said in done.output
    assert [path.name for path in tmp_path.iterdir()] == ([taken] if taken else [])
    assert not taken or (tmp_path / taken).read_text() == "weeks of work"


def test_without_pango_nothing_is_written_and_the_message_says_how_to_get_it(tmp_path, monkeypatch):
    from reportgen.render import pdf

    def missing():
        raise pdf.PdfUnavailable(pdf.ADVICE)

    monkeypatch.setattr(pdf, "require", missing)
    typed = ("--treatment", "a", "--treatment", "b", "--labels", tmp_path / "labels.pdf")
    done = run(tmp_path / "winter.xlsx", *typed)
    assert done.exit_code == 1
    assert "apt-get install libpango" in done.output
    assert list(tmp_path.iterdir()) == []
