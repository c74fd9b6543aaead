"""Faults of feeds as they are built, of output sides and of aerial designs: each with its place."""

import pytest

from combe.errors import StudyError
from combe.study.file import load_study
from support_feed_study import DIGITAL
from support_study import edited, write_study

FEED = "stations[1].feed"
RECEIVER = 'kind = "receiver"\nnoise_figure_db = 6.0\ninput_limit_dbm = -15.0\nimage_rejection_db = 60.0\n'
JUMPER = 'kind = "feeder"\nname = "jumper"\nsize = "1/2 in foam"\nlength_m = 20.0'
FILTER = 'kind = "channel filter"\nloss_db = 1.5\npassband = "channel"\nrejection_db = 25.0'


def faults(folder, *changes):
    with pytest.raises(StudyError) as caught:
        load_study(write_study(folder, edited(*changes, text=DIGITAL)))
    assert "\n" not in str(caught.value)
    return list(caught.value.faults)


ONE_FAULT = {
    "flat key beside the aerial": (
        ("required_margin_db = 6.0", "required_margin_db = 6.0\naerial_height_m = 12.0"),
        f"{FEED}.aerial_height_m: stands beside aerial, which says it in full; take one out",
    ),
    "flat key beside the stages": (
        ("required_margin_db = 6.0", "required_margin_db = 6.0\nfeeder_loss_db = 2.0"),
        f"{FEED}.feeder_loss_db: stands beside stages, which says it in full; take one out",
    ),
    "unknown kind of stage": (
        ('kind = "passive splitter"', 'kind = "passive spliter"'),
        f'{FEED}.stages[1].kind: "passive spliter" is unknown; did you mean "passive splitter"?',
    ),
    "key of another kind": (
        ("ways = 4", "ways = 4\ngain_db = 3.0"),
        f'{FEED}.stages[1].gain_db: is no key of a stage of kind "passive splitter"; '
        "allowed: ways, excess_loss_db",
    ),
    "no ways": (
        ("ways = 4\n", ""),
        f"{FEED}.stages[1].ways: is missing; write ways = 4 (passive splitter: equal parts)",
    ),
    "ways out of range": (
        ("ways = 4", "ways = 0"),
        f"{FEED}.stages[1].ways: 0 is out of range; write a number of at least 1 "
        "(passive splitter: equal parts)",
    ),
    "no loss and no size": (
        (JUMPER, 'kind = "feeder"\nname = "jumper"'),
        f"{FEED}.stages[0].loss_db: is missing; write loss_db = 1.5, or size and length_m",
    ),
    "size without length": (
        ("\nlength_m = 20.0", ""),
        f"{FEED}.stages[0].length_m: is missing; write loss_db = 1.5, or size and length_m",
    ),
    "length without size": (
        ('\nsize = "1/2 in foam"', ""),
        f"{FEED}.stages[0].size: is missing; write loss_db = 1.5, or size and length_m",
    ),
    "loss and size": (
        ("length_m = 20.0", "length_m = 20.0\nloss_db = 1.0"),
        f"{FEED}.stages[0].loss_db: stands beside size and length_m; take one out",
    ),
    "unknown size": (
        ('"1/2 in foam"', '"1/2 in fome"'),
        f'{FEED}.stages[0].size: "1/2 in fome" is unknown; did you mean "1/2 in foam"?',
    ),
    "frequency without a loss": (
        ("length_m = 20.0", "length_m = 20.0\nat_mhz = 600.0"),
        f"{FEED}.stages[0].at_mhz: stands without loss_db; write the loss at that frequency",
    ),
    "two passbands": (
        ('passband = "channel"', 'passband = "channel"\npassband_mhz = [470.0, 500.0]'),
        f"{FEED}.stages[2].passband_mhz: stands beside passband; take one out",
    ),
    "passband inside out": (
        ('passband = "channel"', "passband_mhz = [500.0, 470.0]"),
        f"{FEED}.stages[2].passband_mhz: [500.0, 470.0] has no inside; write the lower edge first, over 0",
    ),
    "rejection of what": (
        ('passband = "channel"\n', ""),
        f'{FEED}.stages[2].rejection_db: stands without a passband; write passband = "channel"',
    ),
    "passband without rejection": (
        ("\nrejection_db = 25.0", ""),
        f"{FEED}.stages[2].rejection_db: is missing; write rejection_db = 25.0 "
        "(channel filter: how much more it takes beyond its edges [dB])",
    ),
    "no receiver": (
        (RECEIVER, 'kind = "attenuator"\nloss_db = 3.0\n'),
        f'{FEED}.stages: end with no receiver; write a last stage with kind = "receiver"',
    ),
    "receiver too early": (
        (FILTER, 'kind = "receiver"\nnoise_figure_db = 6.0'),
        f'{FEED}.stages[2].kind: "receiver" is not the last stage; put the others before it',
    ),
    "two stages of one name": (
        ('kind = "passive splitter"', 'kind = "passive splitter"\nname = "jumper"'),
        f'{FEED}.stages[1].name: two stages are called "jumper"; rename one',
    ),
    "window upside down": (
        ("highest_dbm = -26.0", "highest_dbm = -66.0"),
        f"{FEED}.window.highest_dbm: -66.0 is not over lowest_dbm -62.0; write a higher level",
    ),
    "mute inside the window": (
        ("mute_dbm = -74.0", "mute_dbm = -50.0"),
        f"{FEED}.window.mute_dbm: -50.0 is over lowest_dbm -62.0; write a lower level",
    ),
    "no isolation": (
        ("isolation_db = 85.0\n", ""),
        f"{FEED}.own_output.isolation_db: is missing; write isolation_db = 85.0, or separation_m and "
        "arrangement for an estimate",
    ),
    "measured and estimated": (
        ("isolation_db = 85.0", 'isolation_db = 85.0\nseparation_m = 9.0\narrangement = "side by side"'),
        f"{FEED}.own_output.separation_m: stands beside isolation_db; take the estimate out",
    ),
    "separation without arrangement": (
        ("isolation_db = 85.0", "separation_m = 9.0"),
        f'{FEED}.own_output.arrangement: is missing; write arrangement = "one above the other" '
        "(how the two aerials stand)",
    ),
    "loop without a channel in common": (
        ("[stations.output]", "[stations.feed.on_channel]\n\n[stations.output]"),
        f"{FEED}.on_channel: no service is radiated on the channel it is received on; take the table out",
    ),
    "too few powers": (
        ("power_w = [8.3, 8.3, 8.3]", "power_w = [8.3, 8.3]"),
        "stations[1].output.power_w: holds 2 powers for 3 services; write one for each, in their order",
    ),
    "a silent amplifier": (
        ("power_w = [8.3, 8.3, 8.3]", "power_w = [8.3, 0.0, 8.3]"),
        "stations[1].output.power_w[1]: 0.0 is out of range; write more than 0, up to 100000 W",
    ),
    "intercept without a limit": (
        ("intermodulation_limit_db = -54.0\n", ""),
        "stations[1].output.intermodulation_limit_db: is missing; write intermodulation_limit_db = -54.0 "
        "(strongest third-order product allowed, relative to the service's power [dB]); "
        "it goes with oip3_dbm",
    ),
    "output stage without a loss": (
        ('name = "combiner"\nloss_db = 1.0', 'name = "combiner"'),
        "stations[1].output.stages[0].loss_db: is missing; write loss_db = 1.5, or size and length_m",
    ),
    "misspelt key of the window": (
        ("mute_dbm = -74.0", "mute_db = -74.0\nmute_dbm = -74.0"),
        f'{FEED}.window.mute_db: is no key of a study; did you mean "mute_dbm"?',
    ),
    "pattern of the receive aerial": (
        ("count = 2", 'count = 2\npattern = "gone.csv"'),
        f"{FEED}.aerial.pattern: aerial pattern ",
    ),
    "aerial of no kind": (
        ("[stations.output]", '[stations.array]\nkind = "yagis"\n\n[stations.output]'),
        "stations[1].array: gain_dbi of yagis is missing; allowed: a number; it is needed here",
    ),
    "key that the aerial's kind has not": (
        ("[stations.output]", '[stations.array]\nkind = "dipoles"\nopening_deg = 90.0\n\n[stations.output]'),
        "stations[1].array: opening_deg of dipoles is 90.0; allowed: none; leave it out",
    ),
    "aerial that cannot be built": (
        ("[stations.output]", '[stations.array]\nkind = "trough"\nopening_deg = 70.0\n\n[stations.output]'),
        "stations[1].array: opening_deg is 70.0; allowed: 180, 90, 60 or 45",
    ),
}


@pytest.mark.parametrize(("change", "fault"), ONE_FAULT.values(), ids=ONE_FAULT.keys())
def test_a_fault_of_the_feed_is_told_once_with_its_place(tmp_path, change, fault):
    (found,) = faults(tmp_path, change)
    assert found == fault or (fault.endswith(" ") and found.startswith(fault))


def test_a_loop_asks_for_the_isolation(tmp_path):
    own = DIGITAL[DIGITAL.index("[stations.feed.own_output]") : DIGITAL.index("[stations.output]")]
    found = faults(
        tmp_path, (own, "[stations.feed.on_channel]\n\n"), ('"Mux A", channel = 41', '"Mux A", channel = 22')
    )
    assert found == [
        f"{FEED}.own_output: is missing; a loop needs the isolation of the aerials: "
        "write a [stations.feed.own_output] table"
    ]


def test_a_feed_without_either_wording_says_both(tmp_path):
    cut = DIGITAL[DIGITAL.index("[stations.feed.aerial]") : DIGITAL.index("[stations.feed.window]")]
    found = faults(tmp_path, (cut, ""))
    assert found == [
        f"{FEED}.aerial_height_m: is missing; write aerial_height_m = 12.0 "
        "(receiving aerial above ground [m]), or write a [stations.feed.aerial] table",
        f"{FEED}.aerial_gain_dbi: is missing; write aerial_gain_dbi = 14.0 "
        "(gain of the receiving aerial [dBi]), or write a [stations.feed.aerial] table",
        f"{FEED}.feeder_loss_db: is missing; write feeder_loss_db = 2.0 (loss of the feeder [dB]), "
        "or write [[stations.feed.stages]] tables",
        f"{FEED}.noise_figure_db: is missing; write noise_figure_db = 6.0 "
        "(noise figure of the receiver [dB]), or write [[stations.feed.stages]] tables",
    ]
