"""A browser for tests of pages, and what a page looks like from the outside: focus, boxes, clipped
text.
"""

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

PROGRAMS = ("chromium", "chromium-browser", "google-chrome")
QUIET = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
# A page waits for its fonts, whose widths decide where lines break.
FONTS = "document.fonts.ready.then(() => true)"


def program() -> str:
    """Return the path of the browser, or skip the test where there is none."""
    found = next(filter(None, map(shutil.which, PROGRAMS)), None)
    return found or pytest.skip(f"needs a browser: {', '.join(PROGRAMS)}")


def named_file(variable: str, what: str) -> Path:
    """Return the file that an environment variable names, or skip the test where it names none."""
    named = os.environ.get(variable)
    if not named:
        pytest.skip(f"needs {what}, named by the environment variable {variable}")
    path = Path(named)
    assert path.is_file(), f"{variable} names {named}, which is no file"
    return path


@contextmanager
def started() -> Iterator[Any]:
    """Give a browser that asks no one on the network."""
    playwright = pytest.importorskip(
        "playwright.sync_api", reason="needs the Python package playwright"
    )
    path = program()
    with playwright.sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=path, args=list(QUIET))
        yield browser
        browser.close()


@contextmanager
def opened(
    browser: Any, path: Path, size: tuple[int, int] = (1280, 800), **context: Any
) -> Iterator[Any]:
    """Give a page in a window of `size`, CSS px wide and high, with the context's settings."""
    within = browser.new_context(viewport={"width": size[0], "height": size[1]}, **context)
    try:
        page = within.new_page()
        page.goto(path.as_uri())
        page.evaluate(FONTS)
        yield page
    finally:
        within.close()


def unfolded(page: Any) -> None:
    """Open every section of a report's annex, and whatever else is folded."""
    button = page.locator(".fold-all button")
    if button.count():
        # Leaves focus and scrolling where they are.
        button.evaluate("e => { if (e.textContent === e.dataset.open) e.click(); }")
    page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true; })")


# What has the focus: its place in the document, its outline, and whether anything cuts the outline
# or covers it.
FOCUS = """() => {
  const all = [...document.querySelectorAll('a[href], [tabindex="0"], input, select, button, summary, textarea')]
    .filter(e => e.checkVisibility());
  const found = document.activeElement;
  if (!found || found === document.body || found === document.documentElement) return null;
  const style = getComputedStyle(found), box = found.getBoundingClientRect();
  const room = parseFloat(style.outlineWidth) + parseFloat(style.outlineOffset);
  let cut = false;
  for (let above = found.parentElement; above && above !== document.body; above = above.parentElement) {
    const style = getComputedStyle(above), clip = above.getBoundingClientRect();
    if (style.overflowX === 'visible' && style.overflowY === 'visible') continue;
    if (box.left - room < clip.left - .5 || box.right + room > clip.right + .5) cut = true;
  }
  const x = Math.min(Math.max(box.left + 4, 1), innerWidth - 2);
  const y = Math.min(Math.max(box.top + 4, 1), innerHeight - 2);
  const topmost = document.elementFromPoint(x, y);
  return {
    place: all.indexOf(found),
    name: [found.tagName, found.className, found.getAttribute('href'), found.getAttribute('aria-labelledby')].join(' '),
    outline: style.outlineStyle === 'none' ? 0 : parseFloat(style.outlineWidth),
    cut,
    inside: box.left - room >= 0 && box.right + room <= innerWidth && box.bottom > 0 && box.top < innerHeight,
    uncovered: !!topmost && (found.contains(topmost) || topmost.contains(found)),
  };
}"""

COUNT = """() => [...document.querySelectorAll(
  'a[href], [tabindex="0"], input, select, button, summary, textarea')].filter(e => e.checkVisibility()).length"""

# Elements that reach beyond the window's sides, but for what a region of its own scrolls.
TOO_WIDE = """() => [...document.body.querySelectorAll('*:not(svg *)')]
  .filter(e => !e.closest('.skip') && !(e.parentElement.closest('.scroll')))
  .filter(e => { const box = e.getBoundingClientRect();
    return box.width && (box.right > document.documentElement.clientWidth + .5 || box.left < -.5); })
  .map(e => e.tagName + '.' + e.className + ': ' + e.textContent.trim().slice(0, 40))"""

# Text that its own box cuts off, and neighbours that lie over each other.
LOST = """() => {
  const name = e => e.tagName + '.' + e.className + ': ' + e.textContent.trim().slice(0, 40);
  const lost = [];
  // What is clipped wholly is for the ear alone.
  const isHeard = e => e && (getComputedStyle(e).clipPath !== 'none' || isHeard(e.parentElement));
  for (const e of document.body.querySelectorAll('*:not(svg, svg *)')) {
    if (isHeard(e)) continue;
    const style = getComputedStyle(e);
    if (/hidden|clip/.test(style.overflowX + style.overflowY) &&
        (e.scrollWidth > e.clientWidth + 1 || e.scrollHeight > e.clientHeight + 1)) lost.push('cut ' + name(e));
    const shown = [...e.children].filter(c => !c.matches('svg, .skip') &&
      !/inline|none|contents/.test(getComputedStyle(c).display) && getComputedStyle(c).position !== 'absolute');
    const boxes = shown.map(c => c.getBoundingClientRect());
    boxes.forEach((box, n) => boxes.slice(n + 1).forEach((other, m) => {
      const wide = Math.min(box.right, other.right) - Math.max(box.left, other.left);
      const high = Math.min(box.bottom, other.bottom) - Math.max(box.top, other.top);
      if (wide > 1 && high > 1) lost.push('over each other: ' + name(shown[n]) + ' / ' + name(shown[n + 1 + m]));
    }));
  }
  return lost;
}"""
