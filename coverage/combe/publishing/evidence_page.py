"""Writes the evidence page: published figures beside what this installation works out, by Recommendation."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from combe.publishing.figure import make_figure
from combe.publishing.inline import self_contained_html
from combe.publishing.parts import filled, foot_html, page_part, unseen_html, wide_html
from combe.publishing.text import breakable, encode, number, plain

_HEADS: Final = (
    "Case",
    "Quantity",
    "Expected",
    "Computed",
    "Difference",
    "Tolerance",
    "Unit",
    "Standing",
    "",
)
_TEXT_HEADS: Final = ("Case", "Quantity", "Unit", "Standing")
_MET: Final = {True: ("passes", "✓ met"), False: ("fails", "✗ missed")}
_ALIKE: Final = {True: ("passes", "✓ alike"), False: ("fails", "✗ differ")}
"""Of look-ups that were typed twice, which check nothing outside."""


@dataclass(frozen=True)
class EvidenceLine:
    """One figure in words; ``met`` says whether it is within its tolerance.

    One that is not ``checked`` was typed twice from memory, and is counted apart.
    """

    case: str
    quantity: str
    expected: str
    computed: str
    difference: str
    tolerance: str
    unit: str
    standing: str
    met: bool
    problem: str = ""
    checked: bool = True


@dataclass(frozen=True)
class EvidenceBlock:
    """Figures of one source; ``folded`` blocks are long and open on demand under ``summary``."""

    source: str
    lines: tuple[EvidenceLine, ...]
    folded: bool = False
    summary: str = ""


@dataclass(frozen=True)
class EvidenceGroup:
    """All figures of one Recommendation, or one part of the trade."""

    name: str
    blocks: tuple[EvidenceBlock, ...]


@dataclass(frozen=True)
class StandingCount:
    """How many figures of a standing there are, how many of them are met, and whether they check anything."""

    standing: str
    meaning: str
    figures: int
    met: int
    checked: bool = True


@dataclass(frozen=True)
class EvidencePage:
    """All that one evidence page shows."""

    title: str
    subtitle: str
    counts: tuple[StandingCount, ...]
    groups: tuple[EvidenceGroup, ...]
    notes: tuple[str, ...] = ()
    provenance: tuple[str, ...] = ()


def render_evidence_page(page: EvidencePage) -> str:
    """Return the page as one HTML text that asks the network for nothing."""
    body = filled(
        "evidence_body.html",
        title=encode(page.title),
        subtitle=encode(page.subtitle),
        notes="".join(f"<p>{encode(note)}</p>" for note in page.notes),
        counts=_counts_html(page.counts),
        contents=_contents_html(page.groups),
        groups="".join(_group_html(at, group) for at, group in enumerate(page.groups)),
        foot=foot_html(page.provenance),
    )
    style = page_part("feed.css") + page_part("evidence.css")
    figure = make_figure(plain(page.title), with_map=False, style=style, body=body, script="")
    return self_contained_html(figure)


def _counts_html(counts: tuple[StandingCount, ...]) -> str:
    """Return the table of standings, a line for all that are checked, and below it what was typed twice."""
    checked = [each for each in counts if each.checked]
    apart = [each for each in counts if not each.checked]
    total = StandingCount(
        "all that are checked", "", sum(each.figures for each in checked), sum(each.met for each in checked)
    )
    lines = "".join(
        f'<tr{_strong(each is total)}><th scope="row">{encode(each.standing)}</th>'
        f'<td class="meaning">{encode(each.meaning)}</td><td>{number(each.figures)}</td>'
        f"<td>{number(each.met)}</td>"
        f"<td>{_met_html(each.met == each.figures, checked=each.checked)}</td></tr>"
        for each in (*checked, total, *apart)
    )
    words = ("Standing", unseen_html("Meaning"), "Figures", "Met", unseen_html("Verdict"))
    heads = "".join(f'<th scope="col">{head}</th>' for head in words)
    table = f"<table><thead><tr>{heads}</tr></thead><tbody>{lines}</tbody></table>"
    return wide_html(table, "Figures by standing")


def _strong(strong: bool) -> str:
    return ' class="strong"' if strong else ""


def _contents_html(groups: tuple[EvidenceGroup, ...]) -> str:
    """Return links to the groups, each with its number of figures."""
    links = "".join(
        f'<li><a href="#group-{at}">{encode(group.name)}</a> {_group_met_html(group)}</li>'
        for at, group in enumerate(groups)
    )
    return f'<ul class="contents">{links}</ul>'


def _group_met_html(group: EvidenceGroup) -> str:
    lines = [line for block in group.blocks for line in block.lines]
    parts = [[line for line in lines if line.checked], [line for line in lines if not line.checked]]
    return ", ".join(_lines_met_html(part) for part in parts if part)


def _lines_met_html(lines: list[EvidenceLine]) -> str:
    """Return how many lines of one kind are met, or alike."""
    met = sum(line.met for line in lines)
    words = number(len(lines)) if met == len(lines) else f"{number(met)} of {number(len(lines))}"
    verdict = "met" if lines[0].checked else "look-ups alike"
    return _met_html(met == len(lines), f"{words} {verdict}")


def _group_html(at: int, group: EvidenceGroup) -> str:
    """Return the section of a group: the open blocks in one table, then the folded ones."""
    plain_blocks = [block for block in group.blocks if not block.folded]
    table = _table_html("".join(map(_block_html, plain_blocks)), group.name) if plain_blocks else ""
    folded = "".join(_folded_html(block) for block in group.blocks if block.folded)
    heading = f"{encode(group.name)} {_group_met_html(group)}"
    return f'<section id="group-{at}"><h2>{heading}</h2>{table}{folded}</section>'


def _block_html(block: EvidenceBlock) -> str:
    source = (
        f'<tr class="source"><th scope="rowgroup" colspan="{len(_HEADS)}">{encode(block.source)}</th></tr>'
    )
    return f"<tbody>{source}{''.join(_line_html(line) for line in block.lines)}</tbody>"


def _folded_html(block: EvidenceBlock) -> str:
    """Return a long block that opens on demand; one with a missed figure is open."""
    met = all(line.met for line in block.lines)
    checked = all(line.checked for line in block.lines)
    state = "" if met else " open"
    return (
        f"<details{state}><summary>{encode(block.summary)} {_met_html(met, checked=checked)}</summary>"
        f"{_table_html(_block_html(block), block.source)}</details>"
    )


def _table_html(bodies: str, name: str) -> str:
    heads = "".join(
        f'<th scope="col"{_text_class(head)}>{head or unseen_html("Verdict")}</th>' for head in _HEADS
    )
    return wide_html(f'<table class="figures"><thead><tr>{heads}</tr></thead>{bodies}</table>', name)


def _text_class(head: str) -> str:
    return ' class="text"' if head in _TEXT_HEADS else ""


def _line_html(line: EvidenceLine) -> str:
    numbers = (line.expected, line.computed, line.difference, line.tolerance)
    cells = "".join(f"<td>{encode(text)}</td>" for text in numbers)
    problem = f"<small>{encode(line.problem)}</small>" if line.problem else ""
    quantity = f'<td class="text">{breakable(line.quantity)}{problem}</td>'
    return (
        f'<tr><th scope="row">{breakable(line.case)}</th>{quantity}{cells}'
        f'<td class="unit">{encode(line.unit)}</td><td class="text">{encode(line.standing)}</td>'
        f"<td>{_met_html(line.met, checked=line.checked)}</td></tr>"
    )


def _met_html(met: bool, words: str = "", *, checked: bool = True) -> str:
    """Return the verdict with its sign, told by shape as well as colour."""
    look, usual = (_MET if checked else _ALIKE)[met]
    text = f"{usual[0]} {encode(words)}" if words else usual
    return f'<span class="verdict {look}">{text}</span>'
