"""The fields of a feed: what its JSON holds, and where each value of its tables is from."""

from __future__ import annotations

from typing import Final

from combe.publishing.document import Form
from combe.publishing.fields import (
    UNITS,
    flag,
    many,
    mark,
    number,
    one,
    text,
    texts,
    whole,
)
from combe.reports.clearance import clearance_of_feed
from combe.reports.feed_advice import ADVICE
from combe.reports.feed_rows import Row, finite, points_of, row_of, rows_of
from combe.reports.feed_scan import SCAN
from combe.reports.feed_year import JUDGED_WHEN, YEAR
from combe.reports.spectrum import SPECTRUM

UNKNOWN: Final = "what it enters is not known"

ASKED: Final = number("required_margin_db", "Margin asked", "budget.required_margin_db")
"""What the margin is held against."""

_BUDGET: Final = (
    number("frequency_mhz", "Frequency", "budget.frequency_mhz"),
    number("erp_towards_site_dbw", "ERP towards the site", "budget.erp_towards_site_dbw"),
    number("distance_km", "Distance", "budget.distance_km"),
    number("free_space_loss_db", "Free-space loss", "budget.free_space_loss_db"),
    number("diffraction_loss_db", "Diffraction loss", "budget.diffraction_loss_db"),
    number("other_mechanisms_db", "Other mechanisms", "budget.other_mechanisms_db"),
    number(
        "field_strength_dbuv_m", "Field strength, median of time", "budget.field_strength_dbuv_m",
        meaning="median of time",
    ),
    number("time_percent", "Time for which the margin has to stand", "budget.time_percent", limit=100.0),
    number("fade_db", "Fade from the median to that time, ITU-R P.2001-4", "budget.fade_db"),
    number(
        "field_strength_at_time_dbuv_m", "Field strength at that time", "budget.field_strength_at_time_dbuv_m"
    ),
    text("time_method", "", "budget.time_method"),
    number("aerial_gain_dbi", "Receiving aerial gain", "budget.aerial_gain_dbi"),
    number("aerial_output_dbm", "Aerial output", "budget.aerial_output_dbm"),
    number("feeder_loss_db", "Feeder loss", "budget.feeder_loss_db"),
    number("splitter_loss_db", "Splitter loss", "budget.splitter_loss_db"),
    number(
        "other_gain_db", "Amplifiers less filters and attenuators", "budget.other_gain_db",
        meaning="amplifiers less filters and attenuators",
    ),
    number("receiver_input_dbm", "Receiver input", "budget.receiver_input_dbm"),
    number("receiver_input_dbuv", "Receiver input, 75 Ω", "budget.receiver_input_dbuv", meaning="75 ohm"),
    number("noise_dbm", "Noise at the input, of chain and surroundings", "budget.noise_dbm"),
    number(
        "carrier_to_noise_db", "C/N, median of time", "budget.carrier_to_noise_db", meaning="median of time"
    ),
    number(
        "own_output_cost_db", "Its own outputs' noise and the loop's echo at that time",
        "budget.own_output_cost_db",
        meaning="what the noise of its own outputs and the echo of a loop take at that time",
        null="nothing is stated of them and nothing is counted, or not known",
    ),
    number(
        "carrier_to_noise_at_time_db", "C/N at that time", "budget.carrier_to_noise_at_time_db",
        meaning="own outputs counted", null=UNKNOWN,
    ),
    number("required_cn_db", "Required C/N", "budget.required_cn_db"),
    number(
        "margin_db", "Margin at that time", "budget.margin_db", limit=ASKED,
        meaning="own outputs counted", null=UNKNOWN,
    ),
    ASKED,
)  # fmt: skip

_POINTS: Final = many(
    "points",
    text("point", "point", "level.point"),
    number("step_db", "step", "level.step_db"),
    number("gain_db", "gain", "level.gain_db"),
    number("level_dbm", "level", "level.level_dbm"),
    number("level_dbuv_50", "at 50 Ω", "level.level_dbuv_50", unit=UNITS["dbuv"]),
    number("level_dbuv_75", "at 75 Ω", "level.level_dbuv_75", unit=UNITS["dbuv"]),
    number("noise_dbm", "noise", "level.noise_dbm"),
    number("noise_figure_db", "noise figure", "level.noise_figure_db"),
    number("carrier_to_noise_db", "C/N", "level.carrier_to_noise_db"),
    number("noise_step_db", "C/N taken", "level.noise_step_db"),
    number("total_dbm", "all signals", "load.total_dbm", meaning="all signals"),
    text("strongest", "strongest", "load.strongest"),
    number("limit_dbm", "limit", "load.limit_dbm", null="no stage states one there"),
    text("limited_by", "limit of", "load.limited_by", null="no limit there"),
    number("headroom_db", "headroom", "load.headroom_db", limit=0.0, null="no limit there"),
    number(
        "enhanced_headroom_db",
        "enhanced",
        "enhanced.headroom_db",
        limit=0.0,
        null="no limit there",
        meaning="headroom with the parent's signals enhanced, which is judged",
    ),
    get=points_of,
)

_WINDOW: Final = one(
    "window",
    text("service", "service", "found.service"),
    number("median_dbm", "median", "found.median_dbm"),
    number("faded_dbm", "faded", "found.faded_dbm"),
    number("enhanced_dbm", "enhanced", "found.enhanced_dbm", null="not known"),
    number("place_fraction", "", "found.place_fraction"),
    number("reserve_at_median_db", "", "found.reserve_at_median_db", limit=0.0),
    number("reserve_db", "reserve", "found.reserve_db", limit=0.0),
    number("mute_reserve_db", "to mute", "found.mute_reserve_db", limit=0.0),
    number(
        "headroom_db", "headroom", "found.headroom_db", limit=0.0,
        meaning="of the median where enhanced_dbm is null",
    ),
    number("output_fall_db", "output falls by", finite("found.output_fall_db"), null="muted"),
    text("state", "output", "found.state"),
    text("reason", "", "found.reason"),
    get=row_of("window"),
    null="the study states none",
)  # fmt: skip

_INTERFERENCE: Final = many(
    "interference",
    text("station", "", "found.station"),
    text("service", "", "found.service"),
    text("step", "channel", "found.step"),
    text(
        "time",
        "time",
        "found.time",
        under=lambda row: "wanted faded" if row.found.wanted_at == "fade" else "",
    ),
    text("wanted_at", get="found.wanted_at", meaning="median, or fade: what it is held against"),
    number("unwanted_dbuv_m", "field", "found.unwanted_dbuv_m"),
    number("discrimination_db", "aerial takes", "found.discrimination_db"),
    number("protection_db", "protection", "found.protection_db"),
    number("nuisance_dbuv_m", "nuisance", "found.nuisance_dbuv_m"),
    number("wanted_dbuv_m", "wanted", "found.wanted_dbuv_m"),
    number("carrier_to_interference_db", "C/I", "found.carrier_to_interference_db"),
    number("margin_db", "margin", "found.margin_db", limit=0.0),
    text("reference", "reference", "found.reference"),
    get=rows_of("interference.rows"),
)

_TRAPS: Final = many(
    "image_and_oscillator",
    text("station", "", "found.station"),
    text("service", "", "found.service"),
    number("channel_step", "channels off", "found.channel_step", decimals=0, signed=True),
    text("relation", "relation", "found.relation"),
    number("unwanted_over_wanted_db", "over the wanted", "found.unwanted_over_wanted_db"),
    number(
        "carrier_to_interference_db", "C/I behind the rejection", "found.carrier_to_interference_db",
        null="no image: the receiver's screening decides",
    ),
    text("wanted_at", "wanted", "found.wanted_at", meaning="as in interference"),
    get=rows_of("traps"),
    null="the receiver's rejection is not stated",
)  # fmt: skip

_OWN: Final = many(
    "own_output",
    text("service", "output", "found.service"),
    text("wanted", "", "found.wanted"),
    number("level_dbm", "level", "found.level_dbm"),
    number("over_wanted_db", "over the wanted", "found.over_wanted_db"),
    text("step", "", "found.step", null="its channel does not touch the wanted one"),
    number("protection_db", "protection", "found.protection_db", null="as step"),
    number("margin_db", "margin", "found.margin_db", limit=0.0, null="as step", meaning="in the fade"),
    number("noise_dbm", "its noise", "found.noise_dbm", null="the study does not state its noise"),
    number("carrier_to_noise_db", "C/N of its noise", "found.carrier_to_noise_db", null="as noise_dbm"),
    text("reference", "", "found.reference"),
    get=rows_of("own_outputs"),
    null="no [stations.feed.own_output]",
)

_LOOP_ASKED: Final = number("required_margin_db", "asked", "found.required_margin_db")
_LOOP: Final = one(
    "loop",
    number("gain_db", "gain", "found.gain_db"),
    number("fade_db", "of it by the fade", "found.fade_db"),
    number("isolation_db", "isolation", "found.isolation_db"),
    number("canceller_db", "canceller", "found.canceller_db"),
    number("gain_margin_db", "gain margin", "found.gain_margin_db", limit=_LOOP_ASKED),
    number("loop_gain_fraction", "", "found.loop_gain_fraction"),
    number("ripple_db", "ripple", finite("found.ripple_db"), null="it oscillates", decimals=2),
    number("echo_ci_db", "carrier over echoes", finite("found.echo_ci_db"), null="it oscillates"),
    _LOOP_ASKED,
    text("verdict", "", "found.verdict"),
    text("reason", "", "found.reason"),
    get=row_of("loop"),
    meaning="in the fade",
    null="the channel is shifted, or the isolation is not known",
)

_PRODUCTS: Final = one(
    "intermodulation",
    one(
        "worst",
        number("frequency_mhz"), number("level_dbm"), text("kind"), texts("made_of"),
        null="no product",
    ),
    number("worst_relative_db", get=finite("worst_relative_db"), null="no product"),
    number("sum_db", get=finite("sum_db"), null="no product"),
    number("limit_db"),
    number("margin_db", get=finite("margin_db"), limit=0.0, null="no product"),
    whole("products", get=lambda found: len(found.products)),
    get="products",
    null="no output side, or no intercept of its amplifier",
)  # fmt: skip

_PICTURE: Final = (number("carrier_to_noise_db"), number("unweighted_sn_db"), number("weighted_sn_db"))


def _available(row: Row) -> str | None:
    """Return for which share of the year a hop's own feed stands, as readers see it."""
    from combe.answers.feed_time import share_words

    return None if row.found.stands_for is None else share_words(row.found.stands_for)


_CHAIN: Final = one(
    "relay_chain",
    many(
        "hops",
        text("name", "hop", "found.name"),
        number("own_db", "alone", finite("found.own_db"), null="perfect"),
        number("received_db", "received", finite("found.received_db"), null="perfect"),
        number("sent_db", "sent", finite("found.sent_db"), null="perfect"),
        number("cost_db", "costs the end", finite("found.cost_db"), null="beyond any figure"),
        number(
            "available_percent",
            get="found.stands_for.percent",
            meaning="share of an average year for which its own feed stands",
            null="the head, or not known",
        ),
        flag(
            "available_bounded",
            get="found.stands_for.bounded",
            null="as available_percent",
            meaning="as stands_for_bounded",
        ),
        text("", "stands for", _available),
        get=lambda chain: tuple(Row(chain.service, hop) for hop in chain.found.hops),
    ),
    number("end_db", get=finite("found.end_db"), null="perfect"),
    number("required_db", get="found.required_db"),
    number("margin_db", get=finite("found.margin_db"), limit=0.0, null="perfect"),
    number("degradation_db", get=finite("found.degradation_db"), null="the end misses the required ratio"),
    text("costliest", get="found.costliest"),
    text("broken_at", get="found.broken_at", null="nowhere"),
    number(
        "available_percent",
        get="found.stands_for.percent",
        meaning="of all hops together, their fades taken as independent",
        null="that of one is not known",
    ),
    flag(
        "available_bounded",
        get="found.stands_for.bounded",
        null="as available_percent",
        meaning="whether that of any hop is",
    ),
    number("minutes_a_year_without", get="found.stands_for.minutes_without", null="as available_percent"),
    text("verdict", get="found.verdict"),
    text("reason", get="found.reason"),
    get=row_of("chain"),
    null="one hop of perfect equipment, or not every ratio is known",
)

_SERVICES: Final = many(
    "services",
    text("name", "service", "received.name"),
    whole("channel", "Channel received", "received.channel", meaning="received"),
    whole("radiated_channel", "Channel radiated", "radiated.channel"),
    *_BUDGET,
    mark("verdict", "Verdict", "verdict"),
    text("reason"),
    texts("causes"),
    texts(
        "not_judged", get="judged.not_judged",
        meaning="what could fail it and is not known: ratios and margins that it enters are null",
    ),
    many(
        "findings",
        text("cause"),
        number("spare_db", get=finite("spare_db"), limit=0.0, null="beyond any figure, or not known"),
        text("text"),
        get="judged.findings",
    ),
    flag("line_of_sight", get="prediction.line_of_sight"),
    number("controlling_km", get="prediction.controlling_km", null="no edge comes near the line"),
    number(
        "enhancement_db", meaning="to enhancement_percent of time; window and overload are judged by it"
    ),
    *YEAR,
    number(
        "carrier_to_noise_with_own_output_db", get="judged.carrier_to_noise_db",
        meaning="and with the echo of a loop; an oscillating one counts as −30 dB", null=UNKNOWN,
    ),
    number("mer_at_time_db", null="analogue, or not known"),
    _POINTS,
    _WINDOW,
    _INTERFERENCE,
    number(
        "interference_margin_db", get=finite("interference.margin_db"), limit=0.0, null="no other station"
    ),
    _TRAPS,
    _OWN,
    _LOOP,
    _PRODUCTS,
    one("picture", *_PICTURE, null="digital, or C/N is not known"),
    one("picture_at_time", *_PICTURE, null="as picture"),
    one("sound", number("vision_to_sound_db"), number("nominal_db"), number("error_db"), null="digital"),
    _CHAIN,
)  # fmt: skip

_OUTPUT: Final = many(
    "output",
    text("name", "service", "budget.service"),
    number("frequency_mhz", "frequency", "budget.frequency_mhz"),
    many(
        "points", text("name"), number("loss_db"), number("power_w"), number("power_dbm"), get="budget.points"
    ),
    number("total_loss_db", "losses", "budget.total_loss_db", total=("points.loss_db",)),
    number("aerial_input_w", "at the aerial", "budget.aerial_input_w"),
    number("aerial_gain_dbd", "gain", "budget.aerial_gain_dbd"),
    number("erp_w", "ERP", "budget.erp_w"),
    number("erp_difference_db", "over the stated", meaning="over the ERP that the study states"),
    get="output.services",
    null="the study does not describe it",
)  # fmt: skip

_AERIAL: Final = one(
    "receiving_aerial",
    number("bearing_deg", "points to", "side.aerial.bearing_deg"),
    number("bearing_to_parent_deg", "bearing to the parent", "site.way.arrival_deg"),
    text("polarization", "polarization", "side.aerial.polarization"),
    whole("count", "stacked", "side.aerial.count"),
    number("gain_towards_parent_dbi", "gain towards the parent", "side.aerial_gain_dbi"),
    get=lambda relay: relay,
)

FORM: Final = Form(
    "feed",
    (
        mark("verdict", "", meaning="passes, not judged or fails"),
        many(
            "relays",
            text("name", "relay", "relay.name"),
            text("parent", "parent", "parent.name"),
            mark("verdict", "verdict"),
            number("distance_km", "distance", lambda relay: relay.services[0].budget.distance_km),
            number("bearing_deg", "bearing from the parent", "path.bearing_deg", meaning="from the parent"),
            number("sea_fraction", "share of the path over sea", "path.sea_fraction", decimals=2,
                   null="no zones in the study"),
            number("receiving_height_m", "height above ground", "side.aerial_height_m", decimals=1),
            _AERIAL,
            clearance_of_feed(),
            _SERVICES,
            JUDGED_WHEN,
            _OUTPUT,
            SCAN,
            ADVICE,
            SPECTRUM,
            one(
                "best_bearing",
                number("bearing_deg"), number("margin_db", limit=0.0),
                number("margin_at_parent_db", limit=0.0), number("wanted_loss_db"),
                get="bearing",
                null="not asked for, or no other station disturbs",
            ),
        ),
    ),
    files=(("page", "none was written"), ("index", "not written")),
)  # fmt: skip
