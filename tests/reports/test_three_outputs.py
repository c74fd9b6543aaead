"""Every document: text, JSON and page say the same numbers, and keep to the form they are all made of."""

from __future__ import annotations

import json
import math
import re

import pytest

from combe.digits import for_terminal
from combe.publishing.as_html import as_html
from combe.publishing.as_json import as_json, json_schema, key_lines
from combe.publishing.as_text import MOST_LINES, WIDEST, as_text
from combe.publishing.cautions import CAUTION_LINES, CAUTIONS
from combe.publishing.document import Document
from combe.publishing.fields import cells, is_number
from combe.publishing.text import width_of
from support_reports import PageReader, numbers_by_key, samples, schema_faults, shown_rows

NAMES = sorted(samples())
NUMBER = re.compile(r"(?<![\w.])[-−]?\d+(?:[\u202f ]\d{3})*(?:\.\d+)?")


@pytest.fixture(params=NAMES)
def document(request: pytest.FixtureRequest) -> Document:
    return samples()[request.param]


def value(words: str) -> float:
    """Return the number that readers see."""
    return float(re.sub(r"[\u202f +]", "", words).replace("−", "-"))


def half_a_step(words: str) -> float:
    """Return by how much a number may differ from what readers see of it."""
    return 0.5000001 * 10.0 ** -len(words.partition(".")[2])


def test_the_json_is_as_its_schema_says(document):
    printed = json.loads(as_json(document))
    assert schema_faults(printed, json_schema(document.form)) == []
    assert printed["format"] == f"combe/{document.kind}/1"
    assert printed["cautions"] == list(CAUTIONS)


def test_each_number_that_readers_see_is_in_the_json(document):
    numbers = numbers_by_key(json.loads(as_json(document)))
    seen = 0
    for fields, row in shown_rows(document):
        for field, words in zip(fields, cells(fields, row), strict=True):
            if field.kind in ("number", "whole") and words != "–":
                known = (
                    numbers[field.key] if field.key else [each for some in numbers.values() for each in some]
                )
                assert any(abs(each - value(words)) <= half_a_step(words) for each in known), (field, words)
                seen += 1
            elif field.kind == "number":
                there = field.of(row)
                assert there is None or math.isnan(there)
    assert seen or not shown_rows(document)


def test_each_number_of_the_headline_is_in_the_json(document):
    printed = json.loads(as_json(document))
    numbers = [each for some in numbers_by_key(printed).values() for each in some]
    for line in document.headline:
        if line.startswith("Warning: "):
            continue  # tells limits that no key has
        for name in sorted(names_in(printed), key=len, reverse=True):
            line = line.replace(name, "")
        for words in NUMBER.findall(line):
            # Levels that something has to rise or fall by are rounded up, so that what is said is enough.
            near = 2.0 * half_a_step(words)
            said = any(abs(abs(each) - abs(value(words))) <= near for each in numbers)
            assert said, (words, line)


def names_in(value, key=""):
    """Return the texts in some JSON that are no sentences made for readers: names, references, faults."""
    if isinstance(value, str):
        yield from [value] if value else []
    elif isinstance(value, dict | list) and key not in ("headline", "words", "format"):
        for inner_key, inner in value.items() if isinstance(value, dict) else enumerate(value):
            yield from names_in(inner, inner_key)


def test_the_page_has_every_row_that_readers_see(document):
    page = PageReader(as_html(document)).rows
    for fields, row in shown_rows(document):
        words = cells(fields, row)
        across = {field.head: cell for field, cell in zip(fields, words, strict=True)}
        table = words in page
        facts = all(
            any(head in line and _holds(line, cell) for line in page) for head, cell in across.items()
        )
        assert table or facts or _without_noughts(fields, words, page), words


def _holds(line: list[str], cell: str) -> bool:
    return any(each.startswith(cell) for each in line)


def _without_noughts(fields, words, page):
    """Return whether a row is there but for columns of nothing but 0, which may be left out."""
    kept = [cell for cell in words if cell not in ("0.0", "0")]
    return any([cell for cell in line if cell not in ("0.0", "0")] == kept for line in page)


def test_the_whole_text_has_every_row_that_readers_see(document):
    lines = [" ".join(line.split()) for line in as_text(document, full=True).splitlines()]
    for fields, row in shown_rows(document):
        told = [
            for_terminal(cell)
            for field, cell in zip(fields, cells(fields, row), strict=True)
            if is_number(field) and cell not in ("0.0", "0")
        ]
        in_a_row = ".*".join(map(re.escape, told))
        each_alone = all(any(cell in line for line in lines) for cell in told)
        assert any(re.search(in_a_row, line) for line in lines) or each_alone, told


def test_no_line_is_wider_than_a_terminal(document):
    for full in (False, True):
        for line in as_text(document, full=full).splitlines():
            assert width_of(line) <= WIDEST or not line.startswith("  "), line


def test_the_answer_has_twelve_lines_at_most_and_ends_with_the_cautions(document):
    lines = as_text(document).splitlines()
    assert len(lines) <= MOST_LINES
    assert tuple(lines[-2:]) == CAUTION_LINES
    assert as_text(document, full=True).splitlines()[: 1 + len(document.headline)][0] == lines[0]


def test_every_output_has_every_caution(document):
    page, text = PageReader(as_html(document)).words, " ".join(as_text(document, full=True).split())
    for caution in CAUTIONS:
        assert caution in page
        assert caution in text


def test_the_help_names_every_key(document):
    told = " ".join(key_lines(document.form))

    def named(schema):
        for key, inner in schema.get("properties", {}).items():
            assert re.search(rf"\b{key}\b", told), key
            named(inner)
            named(inner.get("items", {}))
            if isinstance(inner.get("additionalProperties"), dict):
                named(inner["additionalProperties"])

    named(json_schema(document.form))
