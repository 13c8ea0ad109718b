from __future__ import annotations

import numpy as np
import pytest

from toolkit.execution.attributes import RESULT_NAMES, flag_words, result_attributes, result_type
from toolkit.quantities import REGISTER, Outcome, RangeFlag
from toolkit.quantities.channels import CHANNELS
from toolkit.quantities.units import format_value


@pytest.mark.parametrize("name", RESULT_NAMES)
def test_every_result_is_described(name: str) -> None:
    found = result_attributes(name)
    assert found["long_name"] and found["comment"]
    assert found["units"] == "1" or "flag_meanings" not in found
    for key in ("flag_values", "flag_masks"):
        if key in found:
            assert len(found[key]) == len(found["flag_meanings"].split())
            assert found[key].dtype == result_type(name)


def test_codes_fit_their_type() -> None:
    assert max(Outcome) <= np.iinfo(result_type("outcome")).max
    assert sum(RangeFlag) <= np.iinfo(result_type("range_flags")).max
    assert Outcome.not_run == 0


def test_words_of_codes() -> None:
    outcome = flag_words(np.array([[1, 0], [10, 77]]), result_attributes("outcome"))
    assert outcome.tolist() == [["completed", "not_run"], ["not_converged", "code_77"]]
    marks = flag_words(np.array([0, 6]), result_attributes("range_flags"))
    assert marks.tolist() == ["", "drag_speed tug_family"]


def test_channels_have_units_that_can_be_read_and_no_name_of_the_register() -> None:
    assert not set(CHANNELS) & set(REGISTER)
    for channel in CHANNELS.values():
        assert channel.long_name and channel.help
        if channel.unit:
            assert format_value(channel, 1.0)
