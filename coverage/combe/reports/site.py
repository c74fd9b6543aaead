"""The document of a siting: the list of hills, the best sets of them, and how they were found."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, NamedTuple

from combe.digits import for_terminal, spoken, true_minus
from combe.publishing.document import Document, Form, Part, Table, Words
from combe.publishing.fields import Field, flag, many, number, one, people, text, whole
from combe.reports.forecast import FORECAST
from combe.reports.how_sure import OF_TEN, range_words
from combe.reports.site_hill import FEED, HILL, OWN, PATTERN, Hill, hill_of, own_name, pattern_words
from combe.reports.site_wide import WIDE, wide_sentence
from combe.reports.site_words import funnel_lines, gap_words, own_lines, speed_words
from combe.reports.study import network_sentence, study_named, way_sentence
from combe.words import joined, tell, tell_number

if TYPE_CHECKING:
    from combe.answers.forecast import Forecast
    from combe.answers.site_report import SiteReport
    from combe.answers.site_sets import ChosenSite, FurtherHill, SetRow
    from combe.planning.siting import SiteSet
    from combe.reports.site_files import SiteFiles


@dataclass(frozen=True)
class _Sited:
    """A siting with the files that it left, if any were written."""

    report: SiteReport
    files: SiteFiles | None
    forecast: Forecast | None = None

    @property
    def hills(self) -> tuple[Hill, ...]:
        pages = self.files.hill_pages if self.files else (None,) * len(self.report.candidates)
        return tuple(hill_of(self.report, number, page) for number, page in enumerate(pages))

    @property
    def sets(self) -> tuple[_Set, ...]:
        return tuple(_Set(row, self._counted) for row in self.report.sets.rows)

    @property
    def chosen(self) -> tuple[ChosenSite, ...]:
        return self.report.sets.sites

    @property
    def for_share(self) -> _Share | None:
        found = self.report.sets.for_share
        return None if found is None else _Share(found, self._counted, self.report.work.search.has_costs)

    @property
    def further(self) -> tuple[_Further, ...]:
        return tuple(_Further(each, self._counted) for each in self.report.sets.further)

    @property
    def _counted(self) -> bool:
        return self.report.work.search.harm_counted


class _Set(NamedTuple):
    row: SetRow
    counted: bool


class _Share(NamedTuple):
    found: SiteSet
    counted: bool
    has_costs: bool


class _Further(NamedTuple):
    hill: FurtherHill
    counted: bool


_UNCOUNTED: Final = "interference is not counted"
_ALONE: Final = "nobody depends on the site alone"
_UNPROVED: Final = "nothing proved"

_SETS: Final = many(
    "sets",
    whole("sites", "sites", "row.size"),
    people("people", "people", "row.exact.people"),
    people("people_harmed", "harmed", lambda each: each.row.exact.harmed if each.counted else None,
           null=_UNCOUNTED),
    people("score", "score", "row.exact.score"),
    people("score_greedy", "one after the other", "row.greedy.score"),
    people("bound", "bound", "row.exact.bound", null=_UNPROVED),
    number("gap_fraction", get="row.exact.gap_fraction", null=_UNPROVED),
)  # fmt: skip
_CHOSEN: Final = many(
    "chosen",
    number("longitude_deg", "longitude", "station.longitude_deg", decimals=5),
    number("latitude_deg", "latitude", "station.latitude_deg", decimals=5),
    people("adds", "adds", "adds", meaning="people, to those of the sites before it"),
    text("pattern", get="option"),
    number("azimuth_deg", null="the pattern has none"),
    Field("erp_w", "numbers", get=lambda each: list(each.erp_w), meaning="that is enough, of each service"),
    number("down_db", "below full ERP", "direction.down_db", null=_ALONE),
    number("radiated_db", "radiated", "direction.radiated_db",
           meaning="mean over all bearings, against omni at full ERP", null=_ALONE),
    number("spill_db", "spilt", "direction.spill_db",
           meaning="of that, beside the people served", null=_ALONE),
)  # fmt: skip
_SHARE: Final = one(
    "for_share",
    whole("sites", "sites", lambda each: len(each.found.hills)),
    people("people", "people", "found.people"),
    people("people_harmed", "harmed", lambda each: each.found.harmed if each.counted else None,
           null=_UNCOUNTED),
    number("cost", "cost", lambda each: each.found.cost if each.has_costs else None,
           null="the study gives none", decimals=0),
    number("gap_fraction", get="found.gap_fraction", null=_UNPROVED),
    null="the study asks for no share",
)  # fmt: skip
_FURTHER: Final = many(
    "further",
    number("longitude_deg", "longitude", "hill.longitude_deg", decimals=5),
    number("latitude_deg", "latitude", "hill.latitude_deg", decimals=5),
    text("feeds_from", "fed by", "hill.feeds_from"),
    number("margin_db", "margin", "hill.margin_db"),
    people("people", "people", "hill.people", meaning="of those whom the chosen sites leave"),
    people("harmed", "harmed", lambda each: each.hill.harmed if each.counted else None, null=_UNCOUNTED),
    meaning="hills that hear a chosen site and no parent",
)

FORM: Final = Form(
    "site",
    (
        flag("invented", get="report.work.project.invented"),
        whole("hills", get="report.work.search.hills.size"),
        whole("targets", get="report.work.search.problem.targets.row.size",
              meaning="places where people lack a service"),
        number("seconds", get="report.work.search.seconds"),
        number("hills_per_second", get="report.hills_per_second"),
        number("people_unserved", get="report.work.unserved.total"),
        whole("cells_heard", get="report.work.search.heard",
              meaning="in which a parent is heard well enough"),
        many("funnel", text("rule", get=lambda step: step[0]), whole("cells_left", get=lambda step: step[1]),
             get="report.work.funnel.steps"),
        Field(**{**vars(HILL), "get": "hills"}),
        _SETS,
        _CHOSEN,
        _SHARE,
        _FURTHER,
        many("own_relays", text("name"), people("people", null="not searched", meaning="by the search"),
             whole("better_hills", get="better", null="not searched"),
             text("words", get=lambda own: for_terminal(own.words)), get="report.own"),
        many("failures", whole("first"), whole("last"), text("words"),
             get=lambda asked: asked.report.failures),
        WIDE,
        FORECAST,
    ),
    files=(
        ("map", "not written"), ("vector", "not written"), ("comparison", "without --compare"),
        ("index", "not written"),
    ),
)  # fmt: skip


def document(
    report: SiteReport, files: SiteFiles | None = None, forecast: Forecast | None = None
) -> Document:
    """Return the document of a siting; its files are named where they were written."""
    asked = _Sited(report, files, forecast)
    first = report.candidates[:1]
    parts = _listed(asked)
    if first:
        reasons = tuple(map(true_minus, first[0].reasons))
        parts.append(Words(reasons, "Hill 1 comes first because it", listed=True))
    parts += _together(asked)
    parts.append(Words((*funnel_lines(report), *own_lines(report)), "How it was found", listed=True))
    written = {}
    if files:
        written = {"map": files.map_page, "vector": files.vector}
        written |= {"comparison": files.comparison[0]} if files.comparison else {}
    return Document(
        form=FORM,
        answer=asked,
        title="where a relay should stand",
        headline=(
            *(
                (tell("Hill 1 {reasons}.", reasons=true_minus(first[0].reasons[0])),)
                if first
                else ("No hill serves anybody.",)
            ),
            *filter(
                None,
                (joined(" ", filter(None, (*lead_words(asked.hills), own_words_of_first(asked.hills)))),),
            ),
            *wide_sentence(report.work.search.wide),
            *way_sentence(report.work.project),
            *network_sentence(report.work.project),
        ),
        parts=tuple(parts),
        study=study_named(report.work.project, report.provenance),
        made_by={name: for_terminal(words) for name, words in report.provenance.items()},
        files=written,
        beside={"pages of hills": files.hill_pages} if files else {},
        of_this_run=(speed_words(report),),
    )


def lead_words(hills: Sequence[Hill]) -> tuple[str, ...]:
    """Return which hills of the list the error of the prediction leaves as good as the first."""
    others = [(each.candidate.rank, each.lead) for each in hills if each.lead]
    alike = [rank for rank, lead in others if not lead.told_apart]
    if not others:
        return ()
    if not alike:
        return ("It leads all others of the list by more than the prediction's error.",)
    return (
        tell_number(
            len(alike),
            "By the prediction's error hill {runs} cannot be told apart from it.",
            "By the prediction's error hills {runs} cannot be told apart from it.",
            runs=_runs(alike),
        ),
    )


def own_words_of_first(hills: Sequence[Hill]) -> str:
    """Return that the feed of the study's own relay would not pass on the first hill, where it would not."""
    own = hills[0].own_feed if hills else None
    if own is None or own.verdict == "passes":
        return ""
    if own.verdict == "not judged":
        return tell("{relay}'s own feed is not judged there.", relay=own.relay)
    return tell("{relay}'s own feed fails there.", relay=own.relay)


def _runs(ranks: Sequence[int]) -> str:
    """Return numbers in words, those that follow one another as a run.

    >>> _runs([2, 3, 4, 7]), _runs([2, 3])
    ('2 to 4 and 7', '2 and 3')
    """
    runs: list[list[int]] = []
    for rank in ranks:
        if runs and rank == runs[-1][-1] + 1:
            runs[-1].append(rank)
        else:
            runs.append([rank])
    parts = [
        part
        for run in runs
        for part in (
            [tell("{run} to {run_2}", run=run[0], run_2=run[-1])]
            if len(run) > 2
            else [str(each) for each in run]
        )
    ]
    return joined(" and ", (joined(", ", each) for each in (parts[:-1], parts[-1:]) if each))


def _listed(asked: _Sited) -> list[Part]:
    """Return the list in two tables; without harm, score or feed where there is nothing to tell."""
    search, hills = asked.report.work.search, asked.hills
    if not hills:
        return []
    told = {field.key: field for field in HILL.fields}
    where = ["rank", "longitude_deg", "latitude_deg", "parent", "search_margin_db", "people"]
    where += ["people_harmed", "score"] if search.may_harm else []
    fed = all(each.whole_feed.verdict == "passes" for each in asked.report.candidates)
    what = [
        "rank",
        "people_counted",
        "first_leads_fraction",
        "people_alone",
        "ground_m",
        "above_valley_m",
        "slope_deg",
    ]
    costs = [told["cost"]] if search.has_costs else []
    lists = [told[key] for key in where] + ([] if fed else [FEED]) + ([OWN] if own_name(asked.report) else [])
    sure = text("", OF_TEN, lambda hill: range_words(hill.candidate.people_range), right=True)
    more = [told[key] for key in what] + [PATTERN, *costs]
    more.insert(2, sure)
    return [
        Table(
            "The list",
            tuple(lists),
            hills,
            note=meaning_words([field.head for field in lists]),
            brief=True,
            link=lambda hill: hill.page.name if hill.page else "",
        ),
        Table(
            "Each hill of the list", tuple(more), hills, note=meaning_words([field.head for field in more])
        ),
    ]


def meaning_words(heads: list[str]) -> str:
    """Return what the columns of the list mean, those that it has."""
    meanings = {
        "search margin": "of the feed, by the search, with the aerial that [siting.feed] states",
        "feed": "the verdict on that, as combe feed judges",
        "own relay": "verdict on the feed of the study's relay moved there, with its own aerial and chain",
        "people": "newly served in all services, by the search",
        "harmed": "lose a service from another station",
        "score": "people less harmed, which orders the list",
        "counted": "people by the whole coverage of the station",
        "eight times in ten": "by the error of the prediction",
        "first leads": "chance that hill 1 is worth more than this one, by that error",
        "alone": "people reached by no other hill of the list",
    }
    return joined(
        "; ",
        (
            tell("{head}: {words}", head=head, words=words)
            for head, words in meanings.items()
            if head in heads
        ),
    )


def _together(asked: _Sited) -> list[Part]:
    """Return the sets of sites, what each site needs, and hills that only they feed."""
    report, parts = asked.report, list[Part]()
    sets = tuple(each for each in asked.sets if each.row.size > 1)
    harms = report.work.search.may_harm
    if sets:
        keys = ["sites", "people", *(["people_harmed", "score"] if harms else []), "score_greedy"]
        fields = (*_SETS.only(*keys), text("", "proof", lambda each: gap_words(each.row.exact.gap_fraction)))
        note = "one after the other: the score of the best hill, then of the best beside it, and so on"
        parts.append(Table("The best sites together", fields, sets, note=note))
    if len(asked.chosen) > 1:
        fields = (
            text("", "site", "station.name"),
            *_CHOSEN.only("longitude_deg", "latitude_deg", "adds"),
            text("", "pattern", lambda each: pattern_words(each.option, each.azimuth_deg)),
            text("", "enough, W", _power_words, right=True),
        )
        parts.append(Table("Sites of the largest set", fields, asked.chosen))
    if asked.for_share is not None:
        parts.append(Words((_share_words(report, asked.for_share),), "Sites for a share"))
    if asked.further:
        keys = ["longitude_deg", "latitude_deg", "feeds_from", "margin_db", "people"]
        fields = _FURTHER.only(*keys, *(["harmed"] if harms else []))
        parts.append(Table("Hills that only a chosen site feeds", fields, asked.further))
    return parts


def _power_words(each: ChosenSite) -> str:
    return joined(
        "–", dict.fromkeys(tell("{erp:.3g}", erp=erp) for erp in (min(each.erp_w), max(each.erp_w)))
    )


def _share_words(report: SiteReport, share: _Share) -> str:
    words = "Cheapest" if report.work.search.has_costs else "Fewest"
    found = share.found
    net = (
        tell(" less {harmed} harmed, score {score}", harmed=spoken(found.harmed), score=spoken(found.score))
        if found.harmed
        else ""
    )
    return tell(
        "{words} for {share_percent} % of all who can be served: "
        "{hills} sites, {people} people{net} ({gap_words})",
        words=words,
        share_percent=spoken(report.work.siting.share_percent),
        hills=len(found.hills),
        people=spoken(found.people),
        net=net,
        gap_words=gap_words(found.gap_fraction),
    )
