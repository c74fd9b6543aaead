"""Tests of the encoder of texts."""

import html
import json
import math

import pytest

from combe.publishing.text import breakable, encode, encode_data, number

HOSTILE = "<script>alert(1)</script> ${alert(2)} `x` \\u0041 {{7*7}} {% raw %} \" ' & = \n\r\t \u2028"


def test_encoded_text_shows_the_same_text():
    assert html.unescape(encode(HOSTILE)) == HOSTILE


@pytest.mark.parametrize("sign", list("<>\"'`$\\{}=\n\r\t\u2028\u2029"))
def test_no_active_sign_is_left(sign):
    assert sign not in encode(HOSTILE + sign)


def test_control_characters_are_replaced():
    assert encode("a\x00b\x1fc") == "a\ufffdb\ufffdc"


def test_only_words_longer_than_a_column_may_break():
    assert breakable("Mux A of the Northern Counties") == "Mux A of the Northern Counties"
    assert breakable("a" * 16 + " b") == "a" * 16 + " b"
    assert breakable("a" * 33) == "<wbr>".join(("a" * 16, "a" * 16, "a"))
    assert breakable("x diffraction_median_db") == "x diffraction_<wbr>median_<wbr>db"
    shown = breakable(HOSTILE + "<b>" * 20)
    assert shown.replace("<wbr>", "") == encode(HOSTILE + "<b>" * 20)


def test_data_cannot_end_its_script_and_keep_their_value():
    text = encode_data({"name": HOSTILE})
    assert "<" not in text
    assert ">" not in text
    assert json.loads(text) == {"name": HOSTILE}


def test_data_refuse_nan():
    with pytest.raises(ValueError, match="Out of range float"):
        encode_data([math.nan])


def test_numbers_for_readers():
    assert number(-1234567.89, 1) == "−1\u202f234\u202f567.9"
    assert number(math.nan) == "–"
