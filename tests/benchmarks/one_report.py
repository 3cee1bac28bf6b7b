"""Time one sample workbook, cold, to HTML and PDF, beside the bare libraries on the same charts and
text.

Run: python tests/benchmarks/one_report.py [times]. It prints both medians and their ratio; the aim
is 1.4 at most.
"""

import json
import statistics
import subprocess
import sys
import tempfile
import time
from importlib.resources import files
from pathlib import Path

BARE = """
import json, sys
from pathlib import Path
import vl_convert
import weasyprint

folder = Path(sys.argv[1])
vl_convert.register_font_directory(str(folder / "fonts"))
for key, spec in json.loads((folder / "specs.json").read_text("utf-8")).items():
    drawn = vl_convert.vegalite_to_svg(spec)
    (folder / "trial" / "figures" / f"{key}.svg").write_text(drawn, "utf-8")
    (folder / "trial" / "figures" / f"{key}.png").write_bytes(vl_convert.svg_to_png(drawn, scale=2))
page = (folder / "paper.html").read_text("utf-8")
weasyprint.HTML(string=page, base_url=(folder / "trial" / "x").as_uri()).write_pdf(folder / "report.pdf")
"""


def sample() -> Path:
    """Return a sample workbook, of the installed package or of the source tree."""
    package = Path(str(files("reportgen")))
    folders = (package / "sample_workbook", package.parent / "sample_workbook")
    return next(folder for folder in folders if folder.is_dir()) / "pak-choi-root-warmth.xlsx"


def lay_out(folder: Path) -> None:
    """Write the charts and the text of the sample's report where the bare libraries find them."""
    from reportgen import metrics, pipeline, report
    from reportgen.model.document import Figure
    from reportgen.render import assets, templates

    trial = pipeline.checked(sample())
    document = report.compose(trial, metrics.compute(trial))
    blocks = (block for section in document.sections for block in section.blocks)
    specs = {block.key: block.spec for block in blocks if isinstance(block, Figure)}
    (folder / "specs.json").write_text(json.dumps(specs), "utf-8")
    for name, content in assets.files().items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(content)
    (folder / "trial" / "figures").mkdir(parents=True)
    (folder / "fonts").symlink_to(templates.folder() / "assets" / "fonts")

    from reportgen.render import pdf

    paper = pdf.markup(document)
    (folder / "paper.html").write_text(paper, "utf-8")


def seconds(words: list[str]) -> float:
    """Return how long a command takes, in a process of its own."""
    start = time.perf_counter()
    subprocess.run(words, check=True, capture_output=True)
    return time.perf_counter() - start


def main() -> None:
    """Print both medians and their ratio."""
    times = int(sys.argv[1]) if len(sys.argv) > 1 else 3
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        lay_out(folder)
        ours = [
            sys.executable,
            "-m",
            "reportgen",
            "build",
            str(sample()),
            "--out",
            str(folder / "site"),
            "--rebuild",
        ]
        bare = [sys.executable, "-c", BARE, str(folder)]
        taken = [(seconds(ours), seconds(bare)) for _ in range(times)]
    whole, floor = (statistics.median(column) for column in zip(*taken, strict=True))
    print(
        f"reportgen build, one sample workbook: {whole:.2f} s; bare vl-convert and WeasyPrint:"
        f" {floor:.2f} s"
    )
    print(f"ratio {whole / floor:.2f} (aim: 1.4 at most)")


if __name__ == "__main__":
    main()
