"""``combe feed``: works out whether each relay hears its parent well enough."""

from __future__ import annotations

from pathlib import Path

import click

from combe.cli.options import json_option, out_option, study_argument
from combe.cli.output import default_out, print_cautions, print_json, print_made_by, say

VERDICT_NEGATIVE = 1


def _heights(
    ctx: click.Context, param: click.Parameter, value: str | None
) -> tuple[float, float, float] | None:
    """Return the three numbers of FROM:TO:STEP, or fail with an example."""
    if value is None:
        return None
    try:
        low_m, high_m, step_m = (float(part) for part in value.split(":"))
    except ValueError:
        words = f"{value!r} is no FROM:TO:STEP in metres; write for example 5:30:1"
        raise click.BadParameter(words, ctx, param) from None
    return low_m, high_m, step_m


@click.command("feed")
@study_argument
@out_option
@click.option(
    "--time-percent",
    type=float,
    metavar="PERCENT",
    help="Time for which the margin has to stand, 50 to 99.  [default: as the study says]",
)
@click.option(
    "--receive-height",
    callback=_heights,
    metavar="FROM:TO:STEP",
    help="Scan the height of the receiving aerial [m]: is the field climbing or in a null?",
)
@click.option(
    "--best-bearing", is_flag=True, help="Search the receiving aerial's best bearing against other stations."
)
@json_option
def command(
    study: Path,
    out: Path | None,
    time_percent: float | None,
    receive_height: tuple[float, float, float] | None,
    best_bearing: bool,
    as_json: bool,
) -> int:
    r"""Work out the off-air feed of each relay through its whole chain, and name what fails it.

    Writes feed.html. Leaves with 1 when any service of any relay fails, or cannot be judged. Field, levels
    and C/N are medians of time; the margin is judged for the time that the study asks, after the fade. Other
    stations of the study count with their fields for 1 % of time. A service that keeps its channel is always
    judged by the loop that it makes, at the gain of the fade.

    \b
    JSON: study, title, verdict (passes, not judged or fails), page (path), provenance{}, cautions[],
      relays[]{name, parent, verdict, distance_km, bearing_deg (from the parent), sea_fraction (null without
        zones), receiving_height_m,
        receiving_aerial{bearing_deg, bearing_to_parent_deg, polarization, count, gain_towards_parent_dbi},
        services[]{name, channel (received), radiated_channel, frequency_mhz,
          erp_towards_site_dbw, distance_km, line_of_sight, controlling_km,
          free_space_loss_db, diffraction_loss_db, other_mechanisms_db, field_strength_dbuv_m
          (median of time), time_percent, fade_db, field_strength_at_time_dbuv_m, time_method,
          enhancement_db (to 1 % of time; null, as enhanced_dbm, for a model without statistics of
            time), aerial_gain_dbi, aerial_output_dbm, feeder_loss_db,
          splitter_loss_db, other_gain_db (amplifiers less filters and attenuators),
          receiver_input_dbm, receiver_input_dbuv (75 ohm), noise_dbm, carrier_to_noise_db (median),
          carrier_to_noise_with_own_output_db (and with the echo of a loop; an oscillating one
            counts as −30 dB), mer_at_time_db (null for analogue),
          own_output_cost_db (what the noise of its own outputs and the echo of a loop take at that
            time; null where the study states nothing of them, and nothing is counted),
          carrier_to_noise_at_time_db and margin_db (at that time, own outputs counted),
          required_cn_db, required_margin_db, verdict, reason, causes[], not_judged[] (what could
          fail it and is not known: ratios and margins that it enters are null),
          findings[]{cause, spare_db (null: beyond any figure), text},
          points[]{point, step_db, gain_db, level_dbm, level_dbuv_50, level_dbuv_75, noise_dbm,
            noise_figure_db, carrier_to_noise_db, noise_step_db, total_dbm (all signals), strongest,
            limit_dbm, limited_by, headroom_db},
          window{median_dbm, faded_dbm, enhanced_dbm, place_fraction, reserve_db, mute_reserve_db,
            headroom_db (of the median where enhanced_dbm is null), output_fall_db, state, reason, ...},
          interference[]{station, service, step, time, unwanted_dbuv_m, discrimination_db, protection_db,
            nuisance_dbuv_m, wanted_dbuv_m, carrier_to_interference_db, margin_db, reference},
          interference_margin_db, image_and_oscillator[]{station, service, channel_step, relation,
            unwanted_over_wanted_db, carrier_to_interference_db} (null without the rejection),
          own_output[]{service, level_dbm, over_wanted_db, step, protection_db, margin_db, noise_dbm,
            carrier_to_noise_db, ...} (null without [stations.feed.own_output]),
          loop{gain_db, fade_db, gain_margin_db, ripple_db, echo_ci_db (both null where it
            oscillates), ...} (in the fade; null where the channel is shifted, or where not_judged
            tells that the isolation is not known),
          intermodulation{worst{}, worst_relative_db, sum_db, limit_db, margin_db, products},
          picture{carrier_to_noise_db, unweighted_sn_db, weighted_sn_db}, picture_at_time{},
          sound{vision_to_sound_db, nominal_db, error_db},
          relay_chain{hops[]{name, own_db, received_db, sent_db, cost_db}, end_db, required_db, margin_db,
            degradation_db, costliest, broken_at, verdict, reason}},
        output[]{name, frequency_mhz, points[]{name, loss_db, power_w, power_dbm}, aerial_gain_dbd, erp_w,
          erp_difference_db (over the ERP that the study states)},
        height_scan{height_m[], planned_height_m, null_spacing_m, services[]{name,
          field_strength_dbuv_m[], slope_db_per_m, course, best_height_m, best_gain_db}} (if asked for),
        best_bearing{bearing_deg, margin_db, margin_at_parent_db, wanted_loss_db} (if asked for; null when
          no other station disturbs)}

    What a study does not state is null, and is not judged.
    """
    from combe.answers.feed import feed_report
    from combe.answers.scan import bearing_search, height_scan, scan_heights
    from combe.cli.feed_content import write_feed_page
    from combe.cli.feed_json import feed_json
    from combe.cli.feed_print import print_bearing, print_feed, print_scan
    from combe.publishing.files import ensure_folder
    from combe.study.project_of import load_project

    loaded = load_project(study)
    heights_m = None if receive_height is None else scan_heights(*receive_height)
    folder = ensure_folder(out or default_out(study))
    report = feed_report(loaded, time_percent=time_percent)
    sites = {relay.relay.name: relay.site for relay in report.relays}
    scans = (
        None if heights_m is None else {name: height_scan(site, heights_m) for name, site in sites.items()}
    )
    bearings = {name: bearing_search(site) for name, site in sites.items()} if best_bearing else None
    page = write_feed_page(report, folder / "feed.html", scans or {})
    if as_json:
        print_json(feed_json(report, page, scans, bearings))
        return _exit_code(report.verdict)
    print_feed(report)
    for relay in report.relays:
        if scans is not None:
            print_scan(scans[relay.relay.name])
        if bearings is not None:
            print_bearing(relay, bearings[relay.relay.name])
    say()
    print_made_by(report.provenance, "television")
    click.echo(f"\nwritten: {page}")
    print_cautions()
    return _exit_code(report.verdict)


def _exit_code(verdict: str) -> int:
    return 0 if verdict == "passes" else VERDICT_NEGATIVE
