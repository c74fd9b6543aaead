"""The output side of a study: ERP from the chain, third-order products, isolation, and what check notes."""

import pytest

from combe.answers.check import check_report
from combe.answers.output_side import isolation_words, output_side, own_outputs
from combe.propagation.p525 import free_space_loss_db
from combe.standards.feeders import feeder_loss_db
from combe.study.project_of import load_project
from support_feed_study import DIGITAL, FEEDS
from support_study import STUDY, edited, write_study


def relay_of(folder, text):
    project = load_project(write_study(folder, text))
    return project, project.stations[1]


def side_of(folder, text):
    return output_side(*relay_of(folder, text))


def test_the_erp_is_power_less_losses_and_gain(tmp_path):
    """8.3 W, 1 dB combiner, 40 m of 7/8 in foam at 634 MHz, 10 dBd."""
    first = side_of(tmp_path, DIGITAL).services[0]
    lost = 1.0 + feeder_loss_db("7/8 in foam", 634.0, 40.0)
    assert first.budget.erp_w == pytest.approx(8.3 * 10.0 ** ((10.0 - lost) / 10.0))
    assert first.erp_difference_db == pytest.approx(-0.06, abs=0.01)


def test_without_a_power_the_amplifier_is_what_the_erp_needs(tmp_path):
    side = side_of(tmp_path, edited(("power_w = [8.3, 8.3, 8.3]\n", ""), text=DIGITAL))
    for each in side.services:
        assert each.budget.erp_w == pytest.approx(50.0)
        assert each.erp_difference_db == pytest.approx(0.0, abs=1e-9)


def test_a_study_that_says_nothing_has_no_output_side(tmp_path):
    assert side_of(tmp_path, STUDY) is None


def test_products_of_a_common_amplifier_fall_into_the_services_channels(tmp_path):
    """Channels 41, 44, 47: 2·44 − 47 = 41 and 2·44 − 41 = 47, 2(P − OIP3); 41 + 47 − 44 = 44, 6 dB more."""
    side = side_of(tmp_path, DIGITAL)
    power_dbm = side.services[0].budget.points[0].power_dbm
    low, middle, high = (each.products.worst_relative_db for each in side.services)
    assert low == high == pytest.approx(2.0 * (power_dbm - 70.0))
    assert middle == pytest.approx(low + 6.02, abs=0.01)
    assert (
        side_of(tmp_path, edited(("common_amplifier = true", ""), text=DIGITAL)).services[0].products is None
    )


def test_a_picture_alone_makes_its_own_product_between_vision_and_colour(tmp_path):
    """System I: vision + sound − colour is 6 − 4.43 = 1.57 MHz over vision (3-tone test)."""
    first = side_of(tmp_path, FEEDS["analogue"]).services[0]
    over_vision = first.products.worst.frequency_mhz - (630.0 + 1.25)
    assert over_vision == pytest.approx(1.566, abs=0.001)


def test_the_isolation_is_measured_or_estimated(tmp_path):
    project, relay = relay_of(tmp_path, DIGITAL)
    section = project.fed[0][1].own_output
    assert [apart for _, apart in own_outputs(project, relay, None, section)] == [85.0] * 3
    assert isolation_words(section) == "Isolation as the study states it"
    text = 'separation_m = 10.0\narrangement = "side by side"\ntransmit_gain_dbi = -10.0'
    project, relay = relay_of(tmp_path, edited(("isolation_db = 85.0", text), text=DIGITAL))
    section = project.fed[0][1].own_output
    found = [apart for _, apart in own_outputs(project, relay, None, section)]
    assert found[0] == pytest.approx(float(free_space_loss_db(0.01, 634.0)) + 10.0)
    assert found == sorted(found), "more at higher frequencies"
    assert isolation_words(section).startswith("Isolation estimated from 10 m side by side")


def test_without_an_output_side_the_erp_stands_for_the_power(tmp_path):
    project, relay = relay_of(tmp_path, DIGITAL)
    (first, *_) = own_outputs(project, relay, None, project.fed[0][1].own_output)
    assert first[0].power_dbm == pytest.approx(46.99, abs=0.01)
    (first, *_) = own_outputs(project, relay, output_side(project, relay), project.fed[0][1].own_output)
    assert first[0].power_dbm == pytest.approx(36.93, abs=0.01)


def test_check_notes_an_erp_that_the_chain_does_not_make(tmp_path):
    notes = check_report(load_project(write_study(tmp_path, DIGITAL))).notes
    assert not [note for note in notes if "make" in note]
    text = edited(("power_w = [8.3, 8.3, 8.3]", "power_w = [8.3, 16.6, 8.3]"), text=DIGITAL)
    (note,) = (
        each for each in check_report(load_project(write_study(tmp_path, text))).notes if "make" in each
    )
    assert note.startswith("Upper Combe Mux B: amplifier, losses and gain make 98.")
    assert note.endswith("W ERP, +2.9 dB to erp_w 50")
