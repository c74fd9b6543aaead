"""Whether a receiver can use the field: chain, budget and service."""

from typing import TYPE_CHECKING

from combe.doors import door

if TYPE_CHECKING:
    # fmt: off
    from combe.reception.bearing_choice import BearingChoice, best_bearing
    from combe.reception.budget import FeedBudget, FeedChain, feed_budget, judge
    from combe.reception.cascade import (
        Cascade, FeedSignal, NoisyGain, PointLoad, ServiceLevel, cascade_noise, chain_quality, passive,
        receiver_input, waterfall, work_out,
    )
    from combe.reception.emission import (
        Disturber, Emission, Partners, are_echoes, pair_protection, partners_from,
    )
    from combe.reception.feed_interference import (
        InterferenceReport, UnwantedSignal, WantedAt, WantedSignal, co_channel_ratio_db, interference,
    )
    from combe.reception.feed_verdict import (
        Cause, Demands, FeedVerdict, Verdict, faded_carrier_to_noise_db, judge_feed,
        total_carrier_to_noise_db, worst_verdict,
    )
    from combe.reception.harm import FALLS, SERVED_OTHERWISE, UNKNOWN_CHANGES, Entries, harm_entries
    from combe.reception.intermodulation import (
        THREE_TONE_TEST, ProductVerdict, ToneCarrier, in_band_product_over_vision_mhz, judge_products,
        products_in_band, required_oip3_over_peak_sync_db, third_order_products, three_tone_carriers,
    )
    from combe.reception.judges import (
        Fields, JudgeMethod, Judged, Judges, Rules, factor_of, fields_at, judge_emission, make_judges,
    )
    from combe.reception.multiplication import multiplied_field_dbuv_m
    from combe.reception.network_gain import NetworkGain, gain_of_network
    from combe.reception.nuisance import (
        LEAST_GAIN_DB, aerial_gain_db, curve_corners, nuisance_field_dbuv_m, off_axis_deg,
    )
    from combe.reception.one_frequency import OneFrequency, Window, arrival_us, weights_of
    from combe.reception.own_output import (
        LoopResult, OwnOutput, OwnOutputRow, echo_ci_db, estimated_isolation_db, loop_result, own_output_rows,
        own_output_signal, ripple_db,
    )
    from combe.reception.protection_ratios import (
        Channel, Protection, channel_of, channel_relation, protection, protection_citation, protections,
    )
    from combe.reception.quality import (
        Hop, PictureQuality, RelayChain, SoundRatio, judge_chain, picture_quality, required_cn_with_mer_db,
        sound_ratio, sum_of_impairments_db,
    )
    from combe.reception.receive_aerial import ReceiveAerial, discrimination_db, stack_gain_dbi
    from combe.reception.screen import (
        DIVISION_DB, DIVISIONS, USUAL_ANALYSER, Analyser, Screen, Shape, by_band, noise_at_dbm,
        screen_of, shown_dbm,
    )
    from combe.reception.service import (
        PLANNING_PERCENTAGES, Field, coverage_chance, location_probability, predicted_mask,
        required_median_dbuv_m, required_medians_dbuv_m, served_mask, strongest_field, weakest_field,
    )
    from combe.reception.stages import Stage, division_loss_db, passive_splitter, stage_gain_db
    from combe.reception.standing import HarmPair, Roles, Standing, make_roles, stand_cells
    from combe.reception.stands import stands_dbuv_m
    from combe.reception.summation import Summation, draw_sums, sum_fields
    from combe.reception.touched import Change, MovedFields, change_of, touched_cells
    from combe.reception.traps import Trap, find_traps
    from combe.reception.ways import (
        FIXED_ROOF, WayOfReceiving, field_height_m, heard_by, require_ways, terms_of, way_words,
    )
    from combe.reception.window import AgcWindow, WindowPlace, place_in_window
    # fmt: on
else:
    __getattr__, __dir__ = door(__name__)
