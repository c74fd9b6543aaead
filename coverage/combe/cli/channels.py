"""``combe channels``: ranks output channels for each relay, and assigns them to all relays at once."""

from __future__ import annotations

import re
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from combe.cli.options import json_option, study_argument
from combe.cli.output import print_cautions, print_json, print_made_by, print_table, say
from combe.digits import spoken

if TYPE_CHECKING:
    from combe.answers.channel_plan import ChannelPlan
    from combe.answers.channels import ChannelsReport
    from combe.planning.channels.harm import HarmIn, HarmTo
    from combe.planning.channels.ranking import JointHarm, OutputRanking, RankedChannel

NO_PLAN = 1


class _Channels(click.ParamType):  # type: ignore[type-arg]
    """Channels such as 21-37,40."""

    name = "CHANNELS"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Return the numbers."""
        found: list[int] = []
        for part in str(value).split(","):
            ends = re.fullmatch(r"\s*(\d{1,3})\s*(?:-\s*(\d{1,3})\s*)?", part, re.ASCII)
            if ends is None:
                self.fail(f"{value!r} is no list of channels; write for example 21-37,40", param, ctx)
            first, last = int(ends[1]), int(ends[2] or ends[1])
            if first > last:
                self.fail(f"{part.strip()!r} ends before it begins; write {last}-{first}", param, ctx)
            found += range(first, last + 1)
        return tuple(dict.fromkeys(found))


@click.command("channels")
@study_argument
@click.option("--relay", "relays", multiple=True, metavar="NAME", help="Only this relay; may be repeated.")
@click.option("--channels", type=_Channels(), metavar="LIST", help="Channels that may be used: 21-37,40.")
@click.option("--best", type=click.IntRange(1, 100), default=6, show_default=True, help="Rows to print.")
@json_option
def command(
    study: Path, relays: tuple[str, ...], channels: tuple[int, ...] | None, best: int, as_json: bool
) -> int:
    r"""Rank the output channels of relays by the people they harm, and assign them.

    A channel is rejected that is not free at the receive site, or troubles the relay's own receiver.
    The rest is ranked by harm out (people of other stations who fall below the standard) and harm
    in (people whom the relay would newly serve, were it not for interference); a person counts once
    for each service; of equal harm the channel that newly serves most comes first. Several outputs
    are assigned together, by an integer programme that harms the fewest people; outputs of one relay
    keep protection ratios, and their third-order products keep off its inputs. Leaves with 1 when
    no assignment is possible.

    \b
    JSON: study, places, people, people_left_out,
      outputs[]{relay, service, erp_w, present_channel, proposed_channel (null without a plan),
        channels[]{channel, frequency_mhz, people_harmed, people_harmed_out, people_hoped (newly
          served against noise alone), people_denied (of these, by interference),
          people_hoped_not_known (of these, not denied as far as known: an interferer has no
          prediction there), people_not_known (these too),
          harm[]{station, service, channel, people, people_not_known}, cautions[]}, the best first,
        rejected[]{channel, reasons[]}},
      plan{people_harmed (on the air together), people_not_known, people_summed (as the assignment adds up),
        outputs[]{relay, service, channel, people_hoped, people_denied, people_hoped_not_known},
        harm[],
        products[]{relay, outputs[], on_channel}}, or null,
      refusal[] (why there is no plan, a line for each relay or output; else empty),
      present{people_harmed, people_not_known, outputs[], harm[]} (the channels of the study as it stands),
      provenance{}, cautions[]
    """
    from combe.answers.channels import channels_report
    from combe.study.project_of import load_project

    report = channels_report(load_project(study), relays, channels)
    if as_json:
        print_json(_as_json(report))
    else:
        _print(report, best)
    return 0 if report.plan else NO_PLAN


def _as_json(report: ChannelsReport) -> dict[str, Any]:
    from combe.publishing.cautions import CAUTIONS

    proposed = report.plan.channels if report.plan else [None] * len(report.outputs)
    present = [each.present_channel for each in report.outputs]
    return {
        "study": report.project.key,
        "places": report.places,
        "people": report.people,
        "people_left_out": report.left_out,
        "outputs": [
            _output_json(each, channel) for each, channel in zip(report.outputs, proposed, strict=True)
        ],
        "plan": _plan_json(report, report.plan) if report.plan else None,
        "refusal": report.refusal,
        "present": _joint_json(report, report.present, present),
        "provenance": report.provenance,
        "cautions": CAUTIONS,
    }


def _output_json(each: OutputRanking, proposed: int | None) -> dict[str, Any]:
    return {
        "relay": each.relay,
        "service": each.service,
        "erp_w": each.erp_w,
        "present_channel": each.present_channel,
        "proposed_channel": proposed,
        "channels": [_channel_json(one) for one in each.ranked],
        "rejected": [{"channel": channel, "reasons": why} for channel, why in each.rejected.items()],
    }


def _channel_json(each: RankedChannel) -> dict[str, Any]:
    return {
        "channel": each.channel,
        "frequency_mhz": each.frequency_mhz,
        "people_harmed": each.people_harmed,
        "people_harmed_out": each.harm_out,
        **_own_json(each.own),
        "people_not_known": each.not_known,
        "harm": [_harm_json(one) for one in each.harm],
        "cautions": each.cautions,
    }


def _own_json(own: HarmIn) -> dict[str, Any]:
    return {
        "people_hoped": own.hoped,
        "people_denied": own.denied,
        "people_hoped_not_known": own.not_known,
    }


def _harm_json(each: HarmTo) -> dict[str, Any]:
    return {
        "station": each.station,
        "service": each.service,
        "channel": each.channel,
        "people": each.people,
        "people_not_known": each.not_known,
    }


def _joint_json(report: ChannelsReport, joint: JointHarm, channels: Any) -> dict[str, Any]:
    rows = zip(report.outputs, channels, joint.own, strict=True)
    return {
        "people_harmed": joint.people_harmed,
        "people_not_known": joint.not_known,
        "outputs": [
            {"relay": each.relay, "service": each.service, "channel": channel, **_own_json(own)}
            for each, channel, own in rows
        ],
        "harm": [_harm_json(each) for each in joint.harm],
    }


def _plan_json(report: ChannelsReport, plan: ChannelPlan) -> dict[str, Any]:
    return _joint_json(report, plan.counted, plan.channels) | {
        "people_summed": plan.summed,
        "products": [
            {"relay": relay, "outputs": sorted(hit.outputs), "on_channel": hit.on_channel}
            for relay, hit in plan.products
        ],
    }


def _print(report: ChannelsReport, best: int) -> None:
    title = report.project.title
    say(f"{title}: {spoken(report.people)} people at {spoken(report.places)} places")
    for relay, outputs in groupby(report.outputs, lambda each: each.relay):
        say(f"\n{relay}")
        for each in (found := list(outputs)):
            say(f"{each.service}, {each.erp_w:g} W; the study has channel {each.present_channel}")
            _print_ranked(each, best)
        _print_rejected(found[0])
    say()
    _print_plan(report)
    if any(one.cautions for each in report.outputs for one in each.ranked):
        say(f"aerial groups: {_group_words()}")
    print_made_by(report.provenance, "television", "time of service", "interference")
    print_cautions()


def _print_ranked(each: OutputRanking, best: int) -> None:
    if not each.ranked:
        say("  no channel is left")
        return
    heads = ("channel", "MHz", "harm out", "harm in", "newly served", "not known", "remarks")
    rows = [
        (
            one.channel,
            one.frequency_mhz,
            round(one.harm_out),
            round(one.own.denied),
            round(one.newly_served),
            round(one.not_known),
            "; ".join([*_harmed_words(one), *(told.partition(" (")[0] for told in one.cautions)]),
        )
        for one in each.ranked[:best]
    ]
    print_table(heads, rows, unless_zero=("not known",))
    if len(each.ranked) > best:
        say(f"  and {len(each.ranked) - best} more; see --best or --json")


def _group_words() -> str:
    from combe.planning.channels.relations import AERIAL_GROUPS, SOURCE

    groups = ", ".join(f"{one.name} {one.low_mhz:g} to {one.high_mhz:g} MHz" for one in AERIAL_GROUPS)
    return f"{groups}; {SOURCE}"


def _harmed_words(each: RankedChannel) -> list[str]:
    hurt = [one for one in each.harm if one.people >= 0.5]
    return [f"harms {one.station} {one.service} on {one.channel}" for one in hurt]


def _print_rejected(each: OutputRanking) -> None:
    for reasons, group in groupby(sorted(each.rejected.items(), key=lambda row: row[1]), lambda row: row[1]):
        numbers = ", ".join(str(channel) for channel, _ in group)
        told = f"rejected: {numbers}: {'; '.join(reasons)}"
        say(click.wrap_text(told, width=110, initial_indent="  ", subsequent_indent="    "))


def _print_plan(report: ChannelsReport) -> None:
    plan = report.plan
    if plan is None:
        for why in report.refusal:
            told = f"No assignment is possible. {why}"
            say(click.wrap_text(told, width=110, subsequent_indent="  "))
        return
    say("Assignment that harms the fewest people")
    heads = ("relay", "service", "study has", "proposed", "newly served", "harm in")
    rows = [
        (
            each.relay,
            each.service,
            each.present_channel,
            channel,
            round(own.hoped - own.denied),
            round(own.denied),
        )
        for each, channel, own in zip(report.outputs, plan.channels, plan.counted.own, strict=True)
    ]
    print_table(heads, rows)
    say(
        f"  harmed, all on the air together: {spoken(plan.counted.people_harmed)}; with the channels of the "
        f"study: {spoken(report.present.people_harmed)} (a person counts once for each service)"
    )
    if plan.counted.not_known >= 0.5 or report.present.not_known >= 0.5:
        say(
            f"  not known, for an interferer has no prediction there: {spoken(plan.counted.not_known)}; with "
            f"the channels of the study: {spoken(report.present.not_known)}"
        )
    for relay, hit in plan.products:
        of = ", ".join(map(str, sorted(hit.outputs)))
        say(f"  {relay}: a third-order product of {of} falls on its own output {hit.on_channel}")
