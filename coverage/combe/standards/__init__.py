"""What the rule books say: tables of published values with their references."""

from typing import TYPE_CHECKING

from combe.doors import door

if TYPE_CHECKING:
    # fmt: off
    from combe.standards.analogue import (
        DIGITAL_RELAY_CONTOURS, FIELD_GRADES, VISION_TO_SOUND_DB, WEIGHTING_DB, AnalogueSystem, Lines,
        analogue_system, band_field, black_picture_power_db, video_sn_over_cn_db,
    )
    from combe.standards.atsc import (
        CO_CHANNEL_FORMULA, STANDING_FIELD, atsc_threshold, co_channel_ratio_db, ratio_at_sn_db,
    )
    from combe.standards.bt419 import (
        DIRECTIVITY_BANDS_IV_V, DIRECTIVITY_CURVES, ORTHOGONAL_DB, Curve, curve_number, directivity_db,
        off_axis_0_180_deg, orthogonal_directivity_db,
    )
    from combe.standards.channels import (
        PUBLISHED_SPACINGS, Conversion, Relation, analogue_conversion, channel_step, digital_conversion,
        image_channels, oscillator_channel, steps_of, troubled_channels,
    )
    from combe.standards.cited import Citation, Cited, Confidence, describe, memory_note
    from combe.standards.coordination import (
        TRIGGER_TABLES, TriggerBand, trigger_at, trigger_table, trigger_words,
    )
    from combe.standards.countries import (
        COUNTRIES, MODES_FROM, REFRACTIVITY_FROM, Country, Practice, UsualMode, country_named,
    )
    from combe.standards.digital_by_analogue import NARROWER_DB, dvb_by_analogue
    from combe.standards.dvbt import reference_field_dbuv_m
    from combe.standards.dvbt2 import location_factor
    from combe.standards.exposure import (
        STANDARD, field_limit_v_m, flux_limit_w_m2, magnetic_limit_a_m, reactive_distance_m,
    )
    from combe.standards.families import SystemFamily, channel_models_of, modes_of
    from combe.standards.feeders import (
        FEEDERS, READ_AT_MHZ, connector_loss_db, feeder_exponent, feeder_loss_db, feeder_loss_db_per_100m,
    )
    from combe.standards.isdbt import NOISE_BANDWIDTH_MHZ, PROTECTED_CONTOURS
    from combe.standards.land_cover import LEGENDS, class_heights_m, legend_named, read_heights_m
    from combe.standards.ofdm import SymbolTiming, ofdm_standard, symbol_timing
    from combe.standards.man_made_noise import (
        P372, NoiseEnvironment, external_noise_db, noise_line_db, noise_rise_db,
    )
    from combe.standards.minimum_median import minimum_median_field
    from combe.standards.planning_fields import PlanningField, location_deviation, noise_item
    from combe.standards.portable import (
        AERIAL_HEIGHT_M, ENTRY_LOSSES, ROOF_HEIGHT_M, EntryLoss, PortableTerms, class_entry_loss,
        height_loss_db, portable_terms,
    )
    from combe.standards.prediction_error import PREDICTION_ERRORS, PredictionError
    from combe.standards.protection import (
        CARRIER_KHZ, NO_OFFSET, CarrierOffset, ChannelStep, SignalKind, TimeKind, between_carriers,
        co_channel_ratio, far_ratio, image_ratio, image_steps, offset_ratio, protection_ratio, ratio_db,
    )
    from combe.standards.rasters import (
        CHANNEL_RASTERS, centre_frequency_mhz, channel_edges_mhz, channel_raster, channel_words,
        channels_apart,
    )
    from combe.standards.spectrum import SpectrumPart, analogue_parts, digital_parts
    from combe.standards.systems import (
        PORTABLE_SIGNALS, TELEVISION_SYSTEMS, TelevisionSystem, in_channel_model, in_planning_bands,
        mode_words, planning_bands_mhz, planning_field, same_signal, sharing_noise_dbuv_m, system_note,
        television_system,
    )
    from combe.standards.visit_readings import (
        DIGITAL, FAMILIES, PRACTICE, ROUTINE_READINGS, RoutineReading, Scale, family_of, is_at, reading_row,
        source_words, test_points,
    )
    # fmt: on
else:
    __getattr__, __dir__ = door(__name__)
