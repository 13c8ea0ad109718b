"""What people write becomes one number in the dataset's unit, or a refusal that says how to write it."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from toolkit.errors import StudyError
from toolkit.quantities import INPUTS, OUTCOMES, REGISTER, Quantity
from toolkit.quantities.units import BEARINGS, OFF, example, format_interval, format_value, parse, user_label

KNOT = 1852.0 / 3600.0

NUMBERS = [quantity for quantity in INPUTS.values() if not quantity.is_choice]


@pytest.mark.parametrize(
    ("name", "text", "expected"),
    [
        ("bollard_pull", "45 t", 45 * 9806.65),
        ("bollard_pull", "45 tonnes", 45 * 9806.65),
        ("bollard_pull", "45 tf", 45 * 9806.65),
        ("bollard_pull", "300 kN", 300e3),
        ("line_mbl", "100t", 100 * 9806.65),
        ("barge_fitting_swl", "20 kip", 20 * 4448.2216152605),
        ("displacement", "454 t", 454e3),
        ("displacement", "1000000 lb", 453592.37),
        ("wind_speed", "12 kn", 12 * KNOT),
        ("wind_speed", "12 knots", 12 * KNOT),
        ("wind_speed", "6.5 m/s", 6.5),
        ("wind_speed", "6.5 m s-1", 6.5),
        ("line_length", "50 ft", 15.24),
        ("line_length", "1.5e1 m", 15.0),
        ("wind_from", "from 240 deg", 240.0),
        ("wind_from", "240°", 240.0),
        ("wind_from", "from 360 deg", 0.0),
        ("current_to", "to 090 degrees", 90.0),
        ("initial_heading", "360 deg", 0.0),
        ("target_angle", "360 deg", 360.0),
        ("target_angle", "0.5 turn", 180.0),
        ("power_setting", "50 percent", 0.5),
        ("power_setting", "50 %", 0.5),
        ("power_setting", "50 per cent", 0.5),
        ("power_setting", "0.5", 0.5),
        ("power_setting", 0.5, 0.5),
        ("loading", 1, 1.0),
        ("swing_rate_limit", "45 deg/min", 0.75),
        ("swing_rate_limit", "45 degrees per minute", 0.75),
        ("swing_rate_limit", "off", 20.0),
        ("water_density", "1.025 t/m^3", 1025.0),
        ("water_density", "1025 kg/m3", 1025.0),
        ("time_limit", "0.5 h", 1800.0),
        ("order_delay", "-0 s", 0.0),
        ("current_shear", "0.001 1/s", 0.001),
        ("current_shear", "0.001 /s", 0.001),
        ("current_shear", "0.001 per second", 0.001),
        ("current_shear", "0.06 per minute", 0.001),
        ("current_shear", "-0.001 m/s/m", -0.001),
        ("current_shear", "0.001 s-1", 0.001),
    ],
)
def test_reads_the_trades_units(name: str, text: object, expected: float) -> None:
    assert parse(INPUTS[name], text) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("quantity", [q for q in REGISTER.values() if q.unit], ids=lambda quantity: quantity.name)
def test_what_is_printed_reads_back(quantity: Quantity) -> None:
    """Every number that is told, for its default, the ends of its interval and between, in the unit it is told in."""
    low, high = max(quantity.low, -3.7), min(quantity.high, 1234.5 + max(quantity.low, 0.0))
    told = {low, high, 0.5 * (low + high), float(quantity.default), quantity.low, quantity.high}
    for value in told:
        if math.isfinite(value):
            text = format_value(quantity, value, digits=12)
            back = parse(quantity, text, wrap=False)
            assert back == pytest.approx(value, rel=1e-10, abs=1e-12), text
            label = user_label(quantity)
            assert not label or text.endswith(label) or text == "off"


def test_end_of_a_range_keeps_a_full_circle() -> None:
    assert parse(INPUTS["wind_from"], "360 deg", wrap=False) == 360.0


def test_limit_on_an_outcome_is_read_by_its_register_entry() -> None:
    assert parse(OUTCOMES["time_to_steady"], "12 min") == pytest.approx(720.0)
    assert parse(OUTCOMES["peak_contact_force"], "20 t") == pytest.approx(20 * 9806.65)


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("wind_from", "to 240 deg", "takes the word 'from'"),
        ("current_to", "from 90 deg", "takes the word 'to'"),
        ("initial_heading", "from 90 deg", "takes no such word"),
        ("wind_speed", "from 12 kn", "takes no such word"),
        ("wind_speed", "1,5 m/s", "1.5, or 1500"),
        ("displacement", "1,000 t", "comma"),
        ("wind_speed", "nan kn", "finite"),
        ("wind_speed", "inf kn", "finite"),
        ("power_setting", math.nan, "finite"),
        ("power_setting", math.inf, "finite"),
        ("power_setting", 10**400, "finite"),
        ("wind_speed", "1e400 kn", "not"),
        ("wind_speed", 12, "no unit"),
        ("wind_speed", "12", "'30 kn'"),
        ("wind_speed", "12 degC", "'degC'"),
        ("wind_speed", "12 kn!", "'!'"),
        ("wind_speed", "12 knits", "nearest unit known is 'knots'"),
        ("wind_speed", "12 m", "a length and not a speed"),
        ("wind_speed", "kn", "number"),
        ("wind_speed", "", "number"),
        ("wind_speed", True, "not a value"),
        ("wind_speed", None, "not a value"),
        ("wind_speed", "off", "switched off"),
        ("wind_from", "50 percent", "a ratio and not an angle"),
        ("power_setting", "20 deg", "an angle and not a ratio"),
        ("bollard_pull", "30000 kg", "a mass and not a force"),
        ("displacement", "454 tf", "a force and not a mass"),
        ("bollard_pull", "900 t", "[3 t, 120 t]"),
        ("bollard_pull", "-30 t", "[3 t, 120 t]"),
        ("line_length", "15 ms", "'ms'"),
        ("line_length", "15 m**999999999", "'99"),
        ("manoeuvre", "swing_pul", "'swing_pull'"),
        ("manoeuvre", 1, "swing_push"),
        ("manoeuvre", ["swing_pull"], "swing_push"),
    ],
)
def test_refuses_in_words(name: str, value: object, said: str) -> None:
    with pytest.raises(StudyError) as refusal:
        parse(INPUTS[name], value, where="basin.toml: here")
    (problem,) = refusal.value.problems
    assert problem.where == "basin.toml: here"
    assert said in str(problem)
    assert problem.remedy


@pytest.mark.parametrize("quantity", INPUTS.values(), ids=INPUTS)
def test_example_of_every_input_can_be_read(quantity: object) -> None:
    text = example(quantity)  # type: ignore[arg-type]
    parse(quantity, text.strip("'"))  # type: ignore[arg-type]


@pytest.mark.parametrize("quantity", NUMBERS, ids=[quantity.name for quantity in NUMBERS])
@settings(max_examples=20)
@given(share=st.floats(0.0, 1.0))
def test_text_of_a_value_reads_back_as_it(quantity: object, share: float) -> None:
    low, high = quantity.low, quantity.high  # type: ignore[attr-defined]
    value = low + share * (high - low)
    back = parse(quantity, format_value(quantity, value, digits=15))  # type: ignore[arg-type]
    if quantity.name in BEARINGS:  # type: ignore[attr-defined]
        assert math.isclose((float(back) - value + 180.0) % 360.0, 180.0, abs_tol=1e-9)
    else:
        assert back == pytest.approx(value, rel=1e-12, abs=1e-12)


@given(st.text(max_size=40))
def test_any_text_is_read_or_refused(text: str) -> None:
    for name in ("wind_speed", "wind_from", "power_setting", "manoeuvre", "swing_rate_limit"):
        quantity = INPUTS[name]
        try:
            value = parse(quantity, text)
        except StudyError as refusal:
            assert len(refusal.problems) == 1
        else:
            assert value in quantity.choices or quantity.low <= float(value) <= quantity.high


@pytest.mark.parametrize(
    ("name", "value", "text"),
    [
        ("bollard_pull", 294199.5, "30 t"),
        ("wind_speed", 12 * KNOT, "12 kn"),
        ("wind_from", 240.0, "from 240 deg"),
        ("current_to", 90.0, "to 90 deg"),
        ("displacement", 454e3, "454 t"),
        ("power_setting", 0.5, "50 %"),
        ("swing_rate_limit", 0.75, "45 deg/min"),
        ("swing_rate_limit", 20.0, "off"),
        ("gust_factor", 1.35, "1.35"),
        ("tug_length", math.nan, "not given"),
        ("manoeuvre", 1, "swing_push"),
        ("manoeuvre", "swing_pull", "swing_pull"),
    ],
)
def test_words_for_captions(name: str, value: float | str, text: str) -> None:
    assert format_value(INPUTS[name], value) == text


def test_interval_is_in_the_users_unit() -> None:
    assert format_interval(INPUTS["bollard_pull"]) == "[3 t, 120 t]"
    assert user_label(INPUTS["swing_rate_limit"]) == "deg/min"


def test_bearings_are_those_of_the_register() -> None:
    assert set(BEARINGS) == {name for name, quantity in INPUTS.items() if quantity.why == "a bearing"} | {
        "initial_heading"
    }
    assert set(INPUTS) >= OFF
