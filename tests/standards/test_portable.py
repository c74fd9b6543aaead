"""Portable reception. The configurations of GE06 and DVB-T2's fields are cases of evidence, run there."""

from __future__ import annotations

import math

import pytest

from combe.errors import RangeError
from combe.standards.cited import Cited
from combe.standards.minimum_median import items, minimum_median_field
from combe.standards.portable import (
    ENTRY_LOSSES,
    EntryLoss,
    class_entry_loss,
    height_loss_db,
    portable_terms,
)
from combe.standards.systems import TELEVISION_SYSTEMS, in_channel_model, planning_field, television_system


def test_the_height_loss_meets_its_three_figures_and_goes_on() -> None:
    """GE06: 12, 16, 18 dB at 200, 500, 800 MHz."""
    assert [height_loss_db(mhz).value for mhz in (200.0, 500.0, 800.0)] == [12.0, 16.0, 18.0]
    assert height_loss_db(math.sqrt(200.0 * 500.0)).value == pytest.approx(14.0)
    slope = (18.0 - 16.0) / math.log10(8.0 / 5.0)
    assert height_loss_db(862.0).value == pytest.approx(18.0 + slope * math.log10(862.0 / 800.0))


def test_indoors_the_chain_has_every_item_in_order() -> None:
    field = minimum_median_field(650.0, 17.0, portable=portable_terms(650.0, class_entry_loss("GE06", 650.0)))
    names = [name for name, _, _ in items(field)]
    assert names[-9:-1] == [
        "man-made noise allowance Pmmn",
        "height loss Lh",
        "building entry loss Lb",
        "deviation of the entry loss σb",
        "locations",
        "location factor μ",
        "location standard deviation σ",
        "location correction Cl",
    ]
    assert names[-1] == "minimum median field Emed, at 10 m"
    assert field.median_field_dbuv_m == pytest.approx(
        field.minimum_field_dbuv_m + 0.0 + 17.11643 + 8.0 + 1.64 * math.hypot(5.5, 5.5), abs=1e-5
    )


def test_without_height_loss_the_field_is_that_of_the_aerial() -> None:
    with_it, without = (
        minimum_median_field(650.0, 17.0, portable=portable_terms(650.0, with_height_loss=each))
        for each in (True, False)
    )
    assert without.median_field_dbuv_m == pytest.approx(with_it.median_field_dbuv_m - 17.11643, abs=1e-5)
    assert "height loss Lh" not in [name for name, _, _ in items(without)]
    assert items(without)[-1][0] == "minimum median field Emed, at 1.5 m"


def test_a_roof_has_no_losses_of_portable_reception() -> None:
    names = [name for name, _, _ in items(minimum_median_field(650.0, 17.0))]
    assert not {"height loss Lh", "building entry loss Lb", "deviation of the entry loss σb"} & set(names)


def test_every_item_of_a_portable_chain_is_cited() -> None:
    system = in_channel_model(television_system("DVB-T2"), "rayleigh")
    chain = planning_field(
        system, 650.0, 95.0, portable_terms(650.0, class_entry_loss("BT.2033 low", 650.0))
    ).chain
    cited = {item.name: item.reference for item in chain}
    assert cited["aerial gain G"].startswith("GE06")
    assert cited["height loss Lh"].startswith("GE06")
    assert cited["building entry loss Lb"].startswith("ITU-R BT.2033-2, building entry loss in UHF")
    assert cited["location standard deviation σ"].startswith("√(σm² + σb²), σm 5.5 dB of GE06")


def test_the_channel_model_follows_where_the_table_has_it() -> None:
    """BT.2033-2 Table 2: 256-QAM 2/3 asks 20.0 dB in the Ricean and 22.1 dB in the Rayleigh channel."""
    assert in_channel_model(television_system("DVB-T2"), "rayleigh").required_cn_db == 22.1
    assert in_channel_model(television_system("DVB-T2", "QPSK", "1/2"), "rayleigh").required_cn_db == 3.4
    assert in_channel_model(television_system("DVB-T"), "rayleigh").required_cn_db == 22.3
    for name in ("ISDB-T", "ATSC", "PAL I"):
        system = television_system(name)
        assert in_channel_model(system, "rayleigh") is system


@pytest.mark.parametrize("name", TELEVISION_SYSTEMS)
def test_who_has_a_chain_of_portable_reception(name: str) -> None:
    system = television_system(name)
    if system.signal in ("DVB", "ISDB-T"):
        assert planning_field(system, 605.0, 95.0, portable_terms(605.0)).chain
        return
    with pytest.raises(RangeError, match=f"portable reception is asked of {name}; allowed: DVB-T2, DVB-T"):
        planning_field(system, 605.0, 95.0, portable_terms(605.0))


@pytest.mark.parametrize(
    ("mhz", "words"),
    [
        (62.25, "frequency_mhz of portable reception is 62.25; allowed: 174 to 230 or 470 to 862"),
        (300.0, "frequency_mhz of portable reception is 300.0; allowed: 174 to 230 or 470 to 862"),
    ],
)
def test_bands_without_a_portable_aerial(mhz: float, words: str) -> None:
    with pytest.raises(RangeError) as caught:
        portable_terms(mhz)
    assert str(caught.value) == words


def test_a_class_of_buildings_without_a_figure_for_the_band() -> None:
    assert class_entry_loss("GE06", 200.0).mean == Cited(
        9.0, "GE06 Final Acts, building entry loss, Band III", "from memory"
    )
    with pytest.raises(RangeError, match=r"BT\.2033 high is 200.0; allowed: 470 to 862"):
        class_entry_loss("BT.2033 high", 200.0)
    with pytest.raises(RangeError, match=f"building is 'hut'; allowed: {', '.join(ENTRY_LOSSES)}"):
        class_entry_loss("hut", 600.0)


def test_a_loss_from_elsewhere_enters_alike() -> None:
    own = EntryLoss(Cited(14.0, "a survey", "own choice"), Cited(7.0, "a survey", "own choice"))
    field = minimum_median_field(600.0, 17.0, portable=portable_terms(600.0, own))
    assert (field.entry_loss_db, field.entry_deviation_db) == (14.0, 7.0)
    assert field.location_deviation_db == pytest.approx(math.hypot(5.5, 7.0))
