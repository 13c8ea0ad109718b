"""The register of quantities is whole: nothing without a meaning, an interval, a unit that can be read."""

from __future__ import annotations

import math
import tomllib
from collections import Counter

import pint
import pytest

from toolkit.quantities import DERIVED, INPUTS, OUTCOMES, REGISTER, Outcome, Quantity, RangeFlag
from toolkit.quantities.units import example, parse, to_user_unit

SECTIONS = ("tug", "barge", "towline", "environment", "manoeuvre", "crew", "failure", "numerics")

every_quantity = pytest.mark.parametrize("quantity", REGISTER.values(), ids=REGISTER)
every_input = pytest.mark.parametrize("quantity", INPUTS.values(), ids=INPUTS)
every_number = pytest.mark.parametrize(
    "quantity",
    [q for q in INPUTS.values() if not q.is_choice],
    ids=[q.name for q in INPUTS.values() if not q.is_choice],
)
every_choice = pytest.mark.parametrize(
    "quantity", [q for q in INPUTS.values() if q.is_choice], ids=[q.name for q in INPUTS.values() if q.is_choice]
)


@pytest.fixture(scope="module")
def units() -> pint.UnitRegistry[float]:
    registry: pint.UnitRegistry[float] = pint.UnitRegistry()
    registry.define("tonne_force = metric_ton_force")
    return registry


def udunits_to_pint(unit: str) -> str:
    """`m s-1` as `m * s ** -1`."""
    factors = []
    for part in unit.split():
        letters = part.rstrip("-0123456789")
        power = part[len(letters) :]
        factors.append(f"{letters} ** ({power})" if letters and power else part)
    return " * ".join(factors)


def test_names_are_unique_across_roles() -> None:
    names = Counter([*INPUTS, *DERIVED, *OUTCOMES])
    assert [name for name, count in names.items() if count > 1] == []
    assert len(REGISTER) == len(INPUTS) + len(DERIVED) + len(OUTCOMES)


def test_long_names_are_unique() -> None:
    names = Counter(quantity.long_name for quantity in REGISTER.values())
    assert [name for name, count in names.items() if count > 1] == []


@pytest.mark.parametrize(
    ("table", "role"),
    [(INPUTS, "input"), (DERIVED, "derived"), (OUTCOMES, "outcome")],
    ids=["input", "derived", "outcome"],
)
def test_entries_stand_under_their_name_and_role(table: dict[str, Quantity], role: str) -> None:
    assert [name for name, quantity in table.items() if quantity.name != name or quantity.role != role] == []


@every_quantity
def test_name_can_be_a_key_and_a_variable(quantity: Quantity) -> None:
    assert quantity.name.isidentifier()
    assert quantity.name == quantity.name.lower()


@every_quantity
def test_has_a_definition_of_one_line(quantity: Quantity) -> None:
    assert quantity.long_name.strip()
    assert len(quantity.help) > 10
    assert "\n" not in quantity.help
    assert quantity.help.endswith(".")


@every_quantity
def test_units_can_be_read_and_agree(quantity: Quantity, units: pint.UnitRegistry[float]) -> None:
    if quantity.unit in ("", "1"):
        assert quantity.user_unit == "" or units.Unit(quantity.user_unit).dimensionless
        return
    stored = units.Unit(udunits_to_pint(quantity.unit))
    assert quantity.user_unit
    assert stored.is_compatible_with(units.Unit(quantity.user_unit))


@every_input
def test_input_belongs_to_a_table_of_the_study(quantity: Quantity) -> None:
    assert quantity.section in SECTIONS


@every_number
def test_interval_is_finite_and_has_a_reason(quantity: Quantity) -> None:
    assert math.isfinite(quantity.low)
    assert math.isfinite(quantity.high)
    assert quantity.low < quantity.high
    assert quantity.why.strip()
    assert quantity.source.strip()


@every_number
def test_default_lies_inside_the_interval(quantity: Quantity) -> None:
    assert isinstance(quantity.default, float)
    assert quantity.derived_unless_given or quantity.low <= quantity.default <= quantity.high


@every_number
def test_interval_can_be_written_in_the_unit_that_people_use(
    quantity: Quantity, units: pint.UnitRegistry[float]
) -> None:
    if quantity.unit in ("", "1"):
        return
    stored = units.Quantity([quantity.low, quantity.high], udunits_to_pint(quantity.unit))
    low, high = stored.to(quantity.user_unit).magnitude
    assert low < high
    assert max(abs(low), abs(high)) < 1e5


@every_quantity
def test_conversion_agrees_with_the_units_that_pint_ships(quantity: Quantity, units: pint.UnitRegistry[float]) -> None:
    """The toolkit reads units from a registry of its own, written by hand."""
    if quantity.unit in ("", "1"):
        expected = 100.0 if quantity.user_unit == "percent" else 1.0
    else:
        expected = units.Quantity(1.0, udunits_to_pint(quantity.unit)).to(quantity.user_unit).magnitude
    assert to_user_unit(quantity, 1.0) == pytest.approx(expected, rel=1e-9)


@every_input
def test_example_shown_in_messages_is_accepted(quantity: Quantity) -> None:
    value = parse(quantity, tomllib.loads(f"value = {example(quantity)}")["value"])
    assert value in quantity.choices if quantity.is_choice else quantity.low <= float(value) <= quantity.high


@every_choice
def test_default_is_one_of_the_choices(quantity: Quantity) -> None:
    assert quantity.default in quantity.choices
    assert len(set(quantity.choices)) == len(quantity.choices) > 1
    assert quantity.unit == quantity.user_unit == ""


def test_outcome_codes_are_dense_and_zero_is_not_run() -> None:
    assert Outcome.not_run == 0
    assert sorted(Outcome) == list(range(len(Outcome)))
    assert max(Outcome) < 128, "outcome is stored in one byte"


def test_range_flags_are_single_bits() -> None:
    assert [flag.value for flag in RangeFlag] == [1 << place for place in range(len(RangeFlag))]
