"""Texts that remember what they were made of."""

import copy
import pickle

import pytest

from combe.digits import duration, for_terminal, spoken, telling, true_minus
from combe.publishing.page_language import PageLanguage
from combe.publishing.text import capital, shortened
from combe.words import Digits, Name, chain, joined, shaped, tell, tell_number

CATALOGUE = {
    "{margin_db:.1f} dB at {place}": "{place}: {margin_db:.1f} dB",
    "the mast": "der Mast",
    " and ": " und ",
    "{count} hill": "{count} Hügel",
    "{count} hills": "{count} Hügel zusammen",
    "on {what}": "auf {what}",
    "day": "Tag",
    "days": "Tage",
    "Mast": "darf nie kommen",
}
GERMAN = PageLanguage("de", "Deutsch", ",", lambda text: CATALOGUE.get(text, text))


def test_a_text_is_its_english_and_keeps_template_and_values():
    told = tell("{margin_db:.1f} dB at {place}", margin_db=4.26, place="the mast")
    assert told == "4.3 dB at the mast"
    assert isinstance(told, str)
    assert GERMAN.words(told) == "der Mast: 4,3 dB"


def test_a_text_within_a_text_is_told_too():
    inner = tell("{margin_db:.1f} dB at {place}", margin_db=-0.5, place="the mast")
    assert GERMAN.words(tell("on {what}", what=inner)) == "auf der Mast: -0,5 dB"


def test_sums_and_joins_keep_their_parts():
    told = tell("on {what}", what="the mast")
    for whole in (told + "; 2.5", "2.5; " + told):
        assert "auf der Mast" in GERMAN.words(whole)
        assert "on the mast" in whole
    assert GERMAN.words(told + "; 2.5").endswith("; 2.5")  # a plain text is no number
    assert joined(" and ", ["the mast", told]) == "the mast and on the mast"
    assert GERMAN.words(joined(" and ", ["the mast", told])) == "der Mast und auf der Mast"
    assert joined(", ", []) == ""
    assert joined(", ", [told]) is told
    assert GERMAN.words(chain("the mast", "!")) == "der Mast!"


def test_counted_texts_have_their_own_words_for_one():
    assert tell_number(1, "{count} hill", "{count} hills") == "1 hill"
    assert GERMAN.words(tell_number(1, "{count} hill", "{count} hills")) == "1 Hügel"
    assert GERMAN.words(tell_number(0, "{count} hill", "{count} hills")) == "0 Hügel zusammen"


@pytest.mark.parametrize(
    ("shape", "english", "german"),
    [(capital, "On the mast", "Auf der Mast"), (str.upper, "ON THE MAST", "AUF DER MAST")],
)
def test_what_is_done_to_a_text_is_done_in_each_language(shape, english, german):
    told = shaped(tell("on {what}", what="the mast"), shape)
    assert told == english
    assert GERMAN.words(told) == german


def test_a_plain_text_is_looked_up_before_it_is_shaped():
    assert capital("the mast") == "The mast"
    assert GERMAN.words(capital("the mast")) == "Der Mast"


def test_a_cut_text_is_cut_in_its_own_language():
    told = tell("on {what}", what="the mast")
    assert shortened(told, 6) == "on th…"
    assert GERMAN.words(shortened(told, 6)) == "auf d…"


def test_a_name_is_the_same_in_all_languages():
    assert GERMAN.words("Mast") == "darf nie kommen"
    assert GERMAN.words(Name("Mast")) == "Mast"
    assert GERMAN.words(tell("on {what}", what=Name("Mast"))) == "auf Mast"
    assert isinstance(true_minus(Name("Mast -2")), Name)


def test_numbers_take_the_sign_of_the_language():
    assert isinstance(spoken(1234.5, 1), Digits)
    assert GERMAN.words(spoken(1234.5, 1)) == "1\u202f234,5"
    assert GERMAN.words(telling(10.02, 10.0, 1)) == "10,02"
    assert GERMAN.words(tell("{big:,.1f} and {whole}", big=12345.67, whole=3)) == "12\u202f345,7 and 3"
    assert GERMAN.words("P.1812 in version 1.2") == "P.1812 in version 1.2"


def test_durations_and_signs_are_told():
    assert duration(262_980.0) == "182 days 15 h"
    assert GERMAN.words(duration(262_980.0)) == "182 Tage 15 h"
    assert GERMAN.words(duration(5.259)) == "5,3 min"
    assert (
        GERMAN.words(true_minus(tell("{margin_db:.1f} dB at {place}", margin_db=-2.0, place="b")))
        == "b: −2,0 dB"
    )
    assert for_terminal(tell("{people} people", people=spoken(12671))) == "12 671 people"


def test_a_text_may_travel():
    told = chain("x ", tell("on {what}", what=capital("the mast")))
    for again in (pickle.loads(pickle.dumps(told)), copy.deepcopy(told)):
        assert again == told
        assert GERMAN.words(again) == "x auf Der Mast"


def test_a_value_that_is_missing_is_an_error():
    with pytest.raises(KeyError, match="place"):
        tell("{margin_db} dB at {place}", margin_db=1.0)
