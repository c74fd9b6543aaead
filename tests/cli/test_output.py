"""What is printed: JSON and tables."""

import json
import math

import numpy as np

from combe.cli.output import print_json, print_table
from combe.publishing.as_json import plain


def test_json_knows_no_nan_and_no_numpy(capsys):
    print_json({"a": math.nan, "b": np.float32(1.5), "c": (np.int64(2), math.inf), "d": "µ"})
    text = capsys.readouterr().out
    assert json.loads(text) == {"a": None, "b": 1.5, "c": [2, None], "d": "µ"}
    assert text.isascii()


def test_plain_keeps_what_json_has(tmp_path):
    assert plain({"path": tmp_path, "yes": True, "none": None}) == {
        "path": str(tmp_path),
        "yes": True,
        "none": None,
    }


def test_tables_are_aligned(capsys):
    print_table(("name", "dB", "people"), [("A", -1.25, 1234567), ("Longer", math.nan, None)])
    assert capsys.readouterr().out.splitlines() == [
        "  name      dB     people",
        "  A       −1.2  1 234 567",
        "  Longer     –          –",
    ]


def test_columns_that_would_show_nothing_but_zero_may_be_left_out(capsys):
    heads, rows = ("name", "other dB", "fade dB"), [("A", 0.0, 0.0), ("B", -0.01, 4.3)]
    print_table(heads, rows, unless_zero=("other dB", "fade dB"))
    assert capsys.readouterr().out.splitlines() == ["  name  fade dB", "  A         0.0", "  B         4.3"]
    print_table(heads, rows)
    shown = capsys.readouterr().out
    assert "other dB" in shown
    assert "−0.0" not in shown
