"""The share of time for which interferers are predicted: that of the system, unless the study says it."""

import pytest

from combe.study.emissions import interfering_conditions
from combe.study.file import load_study
from combe.study.resolve import resolve
from support_study import edited, write_study


@pytest.mark.parametrize(
    ("system", "percent"),
    # Tropospheric interference, 1 %: ITU-R BT.655 and GE06, from memory; F(50,10): 47 CFR 74.706(c), read.
    [("DVB-T2", 1.0), ("DVB-T", 1.0), ("PAL B/G", 1.0), ("ATSC", 10.0), ("NTSC M", 10.0)],
)
def test_the_time_of_interferers_is_that_of_the_system_unless_the_study_says_it(tmp_path, system, percent):
    mode = 'modulation = "256-QAM"\ncode_rate = "2/3"'
    ratio = ("required_margin_db = 10.0", "required_margin_db = 10.0\nrequired_cn_db = 40.0")

    def time_percent(folder, *changes):
        text = edited((mode, f'system = "{system}"'), ratio, *changes)
        return interfering_conditions(resolve(load_study(write_study(folder, text)))).time_percent

    assert time_percent(tmp_path / "usual") == percent
    asked = ("[people]", "[interference]\ntime_percent = 5.0\n\n[people]")
    assert time_percent(tmp_path / "asked", asked) == 5.0
