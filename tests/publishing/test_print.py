"""Pages on paper: no column is cut and no head broken on A4, and the cautions are open."""

from __future__ import annotations

from typing import Any

import pypdfium2
import pytest

import support_pages
import support_reports
from combe.publishing.cautions import CAUTIONS

pytestmark = pytest.mark.browser

POINTS_A_MM = 72.0 / 25.4
A4_MM = (210.0, 297.0)
PRINTED_PX = round((210 - 2 * 14) / 25.4 * 96)
"""What a page that stands upright has between its margins, in the pixels of a style sheet."""

GUIDE = tuple(f"guide {topic}" for topic in support_pages.GUIDE_TOPICS)
STATIC = (*GUIDE, *sorted(support_reports.samples()))

CUT = """() => [...document.querySelectorAll("main, .wide, table, h1, h2, h3, dl, p")]
  .filter((part) => part.scrollWidth > part.clientWidth + 1
    || part.getBoundingClientRect().right > innerWidth + 1)
  .map((part) => part.outerHTML.slice(0, 120))"""

BROKEN_WORDS = """() => {
  const broken = [];
  for (const head of document.querySelectorAll("thead th, h1, h2, h3, dt")) {
    const texts = document.createTreeWalker(head, NodeFilter.SHOW_TEXT);
    while (texts.nextNode()) for (const word of texts.currentNode.data.matchAll(/[^\\s-]+/g)) {
      const range = document.createRange();
      range.setStart(texts.currentNode, word.index);
      range.setEnd(texts.currentNode, word.index + word[0].length);
      if (word[0].length <= 16 && range.getClientRects().length > 1) broken.push(word[0]);
    }
  }
  return broken;
}"""


def outside(document: pypdfium2.PdfDocument, margin_mm: float) -> list[str]:
    """Return the signs that lie beyond the margins of their page [mm]."""
    found = []
    for page in document:
        text, wide = page.get_textpage(), page.get_width()
        for at in range(text.count_chars()):
            left, _, right, _ = text.get_charbox(at)
            if left < margin_mm * POINTS_A_MM - 1.0 or right > wide - margin_mm * POINTS_A_MM + 1.0:
                found.append(text.get_text_range(at, 1))
    return [sign for sign in found if sign.strip()]


def words_of(document: pypdfium2.PdfDocument) -> str:
    return "".join("".join(page.get_textpage().get_text_range().split()) for page in document)


def printed(tab: Any, **options: Any) -> pypdfium2.PdfDocument:
    """Print a page as the browser's window does; return the PDF."""
    return pypdfium2.PdfDocument(tab.pdf(**options))


def check_pdf(document: pypdfium2.PdfDocument, margin_mm: float) -> None:
    """Check that the sheets are A4, with all words within the margins and every caution in print."""
    sizes = {tuple(sorted(round(side / POINTS_A_MM) for side in page.get_size())) for page in document}
    assert sizes == {A4_MM}
    assert outside(document, margin_mm) == []
    words = words_of(document)
    for caution in CAUTIONS:
        assert "".join(caution.split()) in words


@pytest.mark.parametrize("name", STATIC)
def test_nothing_is_cut_on_a4_and_no_head_breaks_inside_a_word(name: str, open_html: Any) -> None:
    tab = open_html(support_pages.all_pages()[name], ready=False).page
    tab.set_viewport_size({"width": PRINTED_PX, "height": 1000})
    tab.emulate_media(media="print")
    assert tab.evaluate(CUT) == []
    assert tab.evaluate(BROKEN_WORDS) == []
    assert tab.locator(".foot li").first.is_visible()
    check_pdf(printed(tab, prefer_css_page_size=True), 13.0)


def test_the_folded_answer_of_an_exercise_is_printed(open_html: Any) -> None:
    tab = open_html(support_pages.all_pages()["guide sight"], ready=False).page
    assert not tab.get_by_text("the line is blocked by 0.13 radii").is_visible()
    assert "thelineisblockedby0.13radii" in words_of(printed(tab, format="A4"))
    tab.locator(".answer summary").press("Enter")
    assert tab.get_by_text("the line is blocked by 0.13 radii").is_visible()


def test_the_map_prints_whole_on_a4(open_html: Any) -> None:
    # Its paper is whatever is chosen, and it lies on its side.
    tab = open_html(support_pages.all_pages()["map"]).page
    check_pdf(printed(tab, prefer_css_page_size=True, format="A4"), 10.0)


def test_the_last_columns_of_the_list_are_printed(open_html: Any) -> None:
    tab = open_html(support_pages.all_pages()["site"], ready=False).page
    words = words_of(printed(tab, format="A4"))
    hills = len(support_reports.samples()["site"].answer.hills)
    assert hills > 1
    assert words.count("omni40") == hills, "pattern and cost"
