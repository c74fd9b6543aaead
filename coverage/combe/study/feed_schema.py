"""The shape of a relay's feed in a study file: flat keys for a first budget, or the chain as it is built."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from combe.study.section import Name, Section, Shares, Text


class ReceiveAerialSection(Section):
    """The receiving aerial, in place of aerial_height_m and aerial_gain_dbi."""

    height_m: float = Field(
        ge=1.0, le=500.0, description="centre of the aerial above ground [m]", examples=[12.0]
    )
    gain_dbi: float = Field(
        ge=-10.0, le=40.0, description="gain of one aerial on its axis [dBi]", examples=[12.0]
    )
    count: int = Field(default=1, ge=1, le=16, description="equal aerials stacked and combined in phase")
    stacking_loss_db: float = Field(
        default=0.0, ge=0.0, le=6.0, description="what the stack falls short of 10 log count [dB]"
    )
    bearing_deg: float | None = Field(
        default=None,
        ge=0.0,
        le=360.0,
        description="bearing of the axis from true north [degrees]; without it, at the parent",
        examples=[135.0],
    )
    polarization: Literal["horizontal", "vertical"] | None = Field(
        default=None,
        description="polarization received; without it the parent's",
        examples=["vertical"],
    )
    pattern: Text | None = Field(
        default=None,
        description="CSV file of bearing_deg,relative_db about the axis; without it ITU-R BT.419",
        examples=["receive_pattern.csv"],
    )
    cross_polar_db: float = Field(
        default=16.0, ge=0.0, le=60.0, description="discrimination against the other polarization [dB]"
    )


class StageSection(Section):
    """One stage of the feed, in the order of the signal's way; the receiver is the last."""

    kind: Literal[
        "feeder",
        "masthead amplifier",
        "passive splitter",
        "active splitter",
        "attenuator",
        "channel filter",
        "receiver",
    ] = Field(description="what it is; decides which of the other keys it has", examples=["feeder"])
    name: Name | None = Field(
        default=None, description="name in tables; without it the kind", examples=["jumper"]
    )
    size: Text | None = Field(
        default=None,
        description="feeder: size of the table of generic 50 ohm feeders, with length_m",
        examples=["1/2 in foam"],
    )
    length_m: float | None = Field(
        default=None, ge=0.0, le=500.0, description="feeder: length [m]", examples=[25.0]
    )
    loss_db: float | None = Field(
        default=None,
        ge=0.0,
        le=60.0,
        description="feeder, attenuator, channel filter: loss [dB]",
        examples=[1.5],
    )
    at_mhz: float | None = Field(
        default=None,
        ge=30.0,
        le=3000.0,
        description="feeder: where loss_db holds [MHz], as the root of the frequency elsewhere; "
        "without it everywhere",
        examples=[600.0],
    )
    ways: int | None = Field(
        default=None, ge=1, le=64, description="passive splitter: equal parts", examples=[4]
    )
    excess_loss_db: float | None = Field(
        default=None,
        ge=0.0,
        le=20.0,
        description="passive splitter: loss beside that of ideal division [dB]",
        examples=[0.5],
    )
    gain_db: float | None = Field(
        default=None,
        ge=-20.0,
        le=60.0,
        description="amplifier, active splitter: gain to one output [dB]",
        examples=[20.0],
    )
    noise_figure_db: float | None = Field(
        default=None,
        ge=0.0,
        le=30.0,
        description="amplifier, active splitter, receiver: noise figure [dB]",
        examples=[3.0],
    )
    output_limit_dbm: float | None = Field(
        default=None,
        ge=-60.0,
        le=60.0,
        description="amplifier, active splitter: greatest power of all signals together at an output [dBm]",
        examples=[0.0],
    )
    input_limit_dbm: float | None = Field(
        default=None,
        ge=-100.0,
        le=60.0,
        description="receiver: greatest power of all signals together at the input [dBm]",
        examples=[-15.0],
    )
    passband: Literal["channel"] | None = Field(
        default=None,
        description="channel filter: each service has its own, over its channel",
        examples=["channel"],
    )
    passband_mhz: tuple[float, float] | None = Field(
        default=None,
        strict=False,
        description="channel filter: one for all services, lower and upper edge [MHz]",
        examples=[[470.0, 542.0]],
    )
    rejection_db: float | None = Field(
        default=None,
        ge=0.0,
        le=150.0,
        description="channel filter: how much more it takes beyond its edges [dB]",
        examples=[25.0],
    )
    image_rejection_db: float | None = Field(
        default=None,
        ge=0.0,
        le=150.0,
        description="receiver: rejection of its image, filters aside [dB]; without it images are not judged",
        examples=[60.0],
    )
    intermediate_frequency_mhz: float | None = Field(
        default=None,
        ge=10.0,
        le=200.0,
        description="receiver: centre of a digital channel, or vision carrier, at its intermediate frequency "
        "[MHz]; without it the usual",
        examples=[36.125],
    )


class WindowSection(Section):
    """The range of input, each service by itself, over which automatic gain control holds the output."""

    lowest_dbm: float = Field(
        ge=-130.0,
        le=40.0,
        description="least input that holds the output [dBm]",
        examples=[-62.0],
    )
    highest_dbm: float = Field(
        ge=-130.0, le=40.0, description="greatest input that does [dBm]", examples=[-28.0]
    )
    mute_dbm: float = Field(
        ge=-130.0, le=40.0, description="input under which the relay goes off the air [dBm]", examples=[-74.0]
    )


class OwnOutputSection(Section):
    """The relay's own output on its receiving aerial: isolation as measured, or the aerials' distance."""

    isolation_db: float | None = Field(
        default=None,
        ge=0.0,
        le=200.0,
        description="from the transmitting aerial's terminals to the receiving one's, measured [dB]",
        examples=[85.0],
    )
    separation_m: float | None = Field(
        default=None,
        ge=0.5,
        le=1000.0,
        description="between the centres of the two aerials [m]; gives an estimate, with arrangement",
        examples=[12.0],
    )
    arrangement: Literal["side by side", "one above the other"] | None = Field(
        default=None, description="how the two aerials stand", examples=["one above the other"]
    )
    transmit_gain_dbi: float | None = Field(
        default=None,
        ge=-40.0,
        le=30.0,
        description="side by side: of the transmitting aerial towards the other [dBi]; without it 0",
        examples=[-10.0],
    )
    receive_gain_dbi: float | None = Field(
        default=None,
        ge=-40.0,
        le=30.0,
        description="side by side: of the receiving aerial towards the other [dBi]; without it 0",
        examples=[-10.0],
    )
    out_of_channel_db: float | None = Field(
        default=None,
        ge=20.0,
        le=200.0,
        description="emission in a received channel under the output's power, filter included [dB]; "
        "without it left out",
        examples=[100.0],
    )


class OnChannelSection(Section):
    """The loop of a relay that radiates on the channel it receives."""

    gain_db: float | None = Field(
        default=None,
        ge=0.0,
        le=160.0,
        description="from the receiving aerial's terminals to the transmitting one's [dB]; "
        "without it what the powers make it",
        examples=[70.0],
    )
    canceller_db: float = Field(
        default=0.0, ge=0.0, le=60.0, description="by how much an echo canceller lowers the return [dB]"
    )
    required_margin_db: float = Field(
        default=10.0, ge=0.0, le=60.0, description="least margin of isolation over gain [dB]"
    )


class FeedSection(Section):
    """The receiving side of a relay."""

    from_: Name = Field(
        alias="from", description="name of the station that is received", examples=["Parent Hill"]
    )
    aerial_height_m: float | None = Field(
        default=None, ge=1.0, le=500.0, description="receiving aerial above ground [m]", examples=[12.0]
    )
    aerial_gain_dbi: float | None = Field(
        default=None, ge=-10.0, le=40.0, description="gain of the receiving aerial [dBi]", examples=[14.0]
    )
    feeder_loss_db: float | None = Field(
        default=None, ge=0.0, le=60.0, description="loss of the feeder [dB]", examples=[2.0]
    )
    splitter_loss_db: float | None = Field(
        default=None, ge=0.0, le=40.0, description="loss of splitters [dB]; without it none", examples=[6.5]
    )
    noise_figure_db: float | None = Field(
        default=None, ge=0.0, le=30.0, description="noise figure of the receiver [dB]", examples=[6.0]
    )
    required_margin_db: float = Field(
        ge=0.0, le=60.0, description="margin that has to stand over the required C/N [dB]", examples=[10.0]
    )
    time_percent: Shares = Field(
        default=99.0,
        description="share of an average year for which the margin has to stand [%], 50 to 99.999; a list of "
        "several is judged at the greatest",
    )
    required_cn_db: float | None = Field(
        default=None,
        ge=-10.0,
        le=60.0,
        description="required C/N of the receiver [dB]; without it that of the television mode",
        examples=[20.0],
    )
    aerial: ReceiveAerialSection | None = Field(
        default=None,
        description="in place of aerial_height_m and aerial_gain_dbi",
    )
    stages: tuple[StageSection, ...] = Field(
        default=(),
        strict=False,
        max_length=20,
        description="in place of feeder_loss_db, splitter_loss_db, noise_figure_db",
    )
    window: WindowSection | None = Field(default=None, description="the receiver's window")
    own_output: OwnOutputSection | None = Field(default=None, description="the relay's own output")
    on_channel: OnChannelSection | None = Field(
        default=None, description="the loop, where a service is radiated on the channel it is received on"
    )


class OutputStageSection(Section):
    """A passive piece between amplifier and transmitting aerial, in order."""

    name: Name = Field(description="name in tables", examples=["combiner"])
    loss_db: float | None = Field(
        default=None, ge=0.0, le=40.0, description="loss [dB], or size and length_m", examples=[1.5]
    )
    size: Text | None = Field(
        default=None, description="size of the table of generic 50 ohm feeders", examples=["7/8 in foam"]
    )
    length_m: float | None = Field(default=None, ge=0.0, le=500.0, description="length [m]", examples=[30.0])


class OutputSection(Section):
    """The output side: amplifier, what stands behind it, and the gain that makes its power an ERP."""

    power_w: tuple[float, ...] | None = Field(
        default=None,
        strict=False,
        min_length=1,
        description="at the amplifier, one for each service in order [W]; without it what erp_w needs",
        examples=[[12.0, 12.0]],
    )
    aerial_gain_dbd: float = Field(
        ge=-20.0, le=30.0, description="gain of the transmitting aerial over a dipole [dBd]", examples=[11.0]
    )
    common_amplifier: bool = Field(default=False, description="true if one amplifier carries all services")
    oip3_dbm: float | None = Field(
        default=None,
        ge=0.0,
        le=120.0,
        description="output third-order intercept of the amplifier [dBm]",
        examples=[60.0],
    )
    intermodulation_limit_db: float | None = Field(
        default=None,
        ge=-120.0,
        le=-1.0,
        description="strongest third-order product allowed, relative to the service's power [dB]",
        examples=[-54.0],
    )
    equipment_db: float | None = Field(
        default=None,
        ge=0.0,
        le=80.0,
        description="modulation error ratio (analogue: C/N) that the station's own equipment leaves [dB]",
        examples=[33.0],
    )
    regenerates: bool = Field(
        default=False, description="true if the relay demodulates to the bits and modulates anew"
    )
    stages: tuple[OutputStageSection, ...] = Field(
        default=(), strict=False, max_length=20, description="combiner, filter, feeder in order"
    )
