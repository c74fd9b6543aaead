"""What is printed: JSON."""

import json
import math

import numpy as np

from combe.cli.output import print_json
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
