"""The languages of pages: their catalogues are whole, and pages are told by them throughout."""

import gettext
import html
import re
import string

import pytest

import combe
import remake_words
from combe.errors import RangeError
from combe.publishing.as_html import as_html
from combe.publishing.page_about import read_about
from combe.publishing.page_language import (
    ENGLISH,
    PageLanguage,
    current_language,
    in_page_language,
    language_codes,
    page_language,
    pages_in,
)
from combe.words import Name
from support_cli import REPOSITORY
from support_cli import run as run_cli
from support_reports import samples
from words_found import texts_of_code

DEMO = REPOSITORY / "terrain_samples" / "demo" / "study.toml"
OTHERS = language_codes()[1:]
UNTOLD = {"evidence", "guide"}
"""Documents whose own tables are citations, which stay as they were printed."""

WITHOUT_PAGE = {"own_study"}
"""Documents that no command writes as a page."""

_TAGS = re.compile(r"<script.*?</script>|<style.*?</style>|<svg.*?</svg>|<[^>]+>", re.DOTALL)


class Trial(PageLanguage):
    """A made-up language that marks whatever it tells."""

    def words(self, text: str) -> str:
        """Return a text between marks; what its owner named as well."""
        return f"⟦{text}⟧" if isinstance(text, Name) else super().words(text)


def trial(seen=None):
    def lookup(text):
        if seen is not None:
            seen.append(text)
        return f"⟦{text}⟧"

    return Trial("xx", "trial", ",", lookup)


def untold(page):
    """Return the words of a page's body that stand outside all marks."""
    shown = _TAGS.sub("\n", page[page.index("<body>") :].replace("<wbr>", ""))
    shown, before = html.unescape(shown), None
    while shown != before:
        before, shown = shown, re.sub(r"⟦[^⟦⟧]*⟧", "", shown)
    # Where a text was cut for want of room, the mark at its end is gone.
    lines = (re.sub(r"⟦[^⟧]*$", "", line).strip() for line in shown.split("\n"))
    return [line for line in lines if re.search(r"[A-Za-z]{2}", line)]


@pytest.fixture(scope="module")
def pages():
    """Return each sample's page in the trial language, and all texts that were looked up."""
    seen = []
    with pages_in(trial(seen)):
        made = {name: as_html(document) for name, document in samples().items() if name not in WITHOUT_PAGE}
    return made, set(seen)


def test_every_word_of_a_page_goes_through_the_language(pages):
    left = {name: words for name, page in pages[0].items() if (words := untold(page))}
    assert {name: words for name, words in left.items() if name not in UNTOLD} == {}


def test_numbers_of_a_page_have_the_decimal_sign_of_the_language(pages):
    cells = [each.strip("⟦⟧") for each in re.findall(r">([^<>]*)</td>", pages[0]["feed"])]
    assert any(re.fullmatch(r"[−+]?\d+,\d", each) for each in cells)
    assert not any(re.fullmatch(r"[−+]?\d+\.\d", each) for each in cells)


_NO_TEXT = re.compile(
    r"ITU-R|GE06|ICNIRP|EN 30|ETSI|IEEE|Proc\. |\.(csv|tif|toml|gpkg|geojson|kml)$|^/|_|^[0-9a-f]{64}$|^\W*$"
    r"|^Mux|^Invented|^stations\[|^title:|WGS 84|SRTM|survey places of points|^QPSK|^\d+-QAM|^DVB|^PAL"
    r"|^Multiplex-of|^Parent Hill|^Regional 2$|^All is invented|^geojson$|^kml$"
    r"|^Copernicus_|^it is not UTF-8|^people.raster|^terrain.tiles"
    r"|^Combe |^\"|^[a-z]{1,2}$|Bullington|Deygout"
)
"""Names, references and figures that pages look up and that no catalogue needs."""


def test_every_text_of_the_pages_is_found_in_the_code(pages):
    known = texts_of_code()
    evidence = set()
    with pages_in(trial(found := [])):
        as_html(samples()["evidence"])
    evidence.update(found)
    lacking = {
        text
        for text in pages[1] - known.keys() - evidence
        if re.search(r"[A-Za-z]{2}", text) and not _NO_TEXT.search(text)
    }
    assert lacking == set()


def fields_of(template):
    return {(name, spec) for _, name, spec, _ in string.Formatter().parse(template) if name is not None}


@pytest.mark.parametrize("code", OTHERS)
def test_a_catalogue_is_whole(code):
    told = remake_words.told_in(code)
    assert told.keys() == texts_of_code().keys()
    assert [text for text, words in told.items() if not words.strip()] == []
    for text, words in told.items():
        if "{" in text and "}" in text:
            assert fields_of(words) == fields_of(text), text


@pytest.mark.parametrize("code", OTHERS)
def test_a_compiled_catalogue_is_that_of_its_file(code):
    with (remake_words.LANGUAGES / code / "combe.mo").open("rb") as file:
        compiled = gettext.GNUTranslations(file)
    assert {text: compiled.gettext(text) for text in remake_words.told_in(code)} == remake_words.told_in(code)


def test_german_is_there():
    german = page_language("de")
    assert (german.code, german.name, german.decimal) == ("de", "Deutsch", ",")
    assert german.words("Cautions") == "Warnungen"
    assert german.template("") == ""
    assert german.words("a text that nobody wrote") == "a text that nobody wrote"


def test_a_language_without_catalogue_is_refused():
    with pytest.raises(RangeError, match=r"language of pages.*tlh.*en, de"):
        page_language("tlh")
    with pytest.raises(RangeError, match="language of pages"):
        combe.report(combe.path(combe.demo(), "Tarnbeacon", "Larkcombe")).html(language="xx")


def test_pages_are_english_again_afterwards():
    assert current_language() is ENGLISH
    with pytest.raises(ValueError, match="odd"), pages_in(trial()):
        assert in_page_language("x") == "⟦x⟧"
        raise ValueError("odd")
    assert in_page_language("x") == "x"


def test_a_command_writes_its_page_in_a_language_and_prints_english(tmp_path):
    page = tmp_path / "path.html"
    asked = ("path", DEMO, "--from", "Tarnbeacon", "--to", "Larkcombe", "--html", page)
    english = run_cli(*asked)
    assert '<html lang="en">' in page.read_text("utf-8")
    german = run_cli("--language", "de", *asked)
    told = page.read_text("utf-8")
    assert german.output == english.output
    assert "Warnungen" in told
    assert '<html lang="de">' in told
    assert read_about(page).name.startswith("Funkstrecke")


def test_a_command_refuses_a_language_without_catalogue(tmp_path):
    run = run_cli("--language", "xx", "check", DEMO)
    assert run.exit_code == 2
    assert "language of pages" in run.stderr
    assert "en, de" in run.stderr


def test_the_first_page_of_a_run_does_not_settle_the_language_of_all():
    document = samples()["feed"]
    assert "<h2>Cautions</h2>" in as_html(document)
    with pages_in(page_language("de")):
        assert "<h2>Warnungen</h2>" in as_html(document)
    assert "<h2>Cautions</h2>" in as_html(document)
