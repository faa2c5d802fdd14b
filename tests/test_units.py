"""Quantities as people write them: what is read, what is refused and with which words, what is printed."""

import math
import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from detentlib.knife import parts, units
from detentlib.knife.units import UnitError, Within, both, convert, quantity, show

READ = [
    ("0.42", "mm", 0.42, None),
    (0.42, "mm", 0.42, None),
    (7, "N", 7.0, None),
    (np.float64(0.5), "mm", 0.5, None),
    ("0.002 in", "mm", 0.0508, None),
    ("0.0520 in", "mm", 1.3208, None),
    ("0.0465in", "mm", 1.1811, None),
    ("1/16 in", "mm", 1.5875, None),
    ('1/16"', "mm", 1.5875, None),
    ("1 1/2 inches", "mm", 38.1, None),
    ("-1/16 in", "mm", -1.5875, None),
    ("−0.06 mm", "mm", -0.06, None),
    ("+.5 mm", "mm", 0.5, None),
    ("5. mm", "mm", 5.0, None),
    ("2 thou", "mm", 0.0508, None),
    ("5 µm", "mm", 0.005, None),
    ("5 μm", "mm", 0.005, None),
    ("5um", "mm", 0.005, None),
    ("0.6 in.", "mm", 15.24, None),
    ("0.42\u00a0mm", "mm", 0.42, None),
    ("1.10 ± 0.01 mm", "mm", 1.1, 0.01),
    ("1.10 +/- 0.01 mm", "mm", 1.1, 0.01),
    ("1.10+-0.01", "mm", 1.1, 0.01),
    ("1.10 mm ± 1 thou", "mm", 1.1, 0.0254),
    ("1.10 mm ± 0.01", "mm", 1.1, 0.01),
    ("0.0520 ± 0.0005 in", "mm", 1.3208, 0.0127),
    ("15 ± 5 %", "N", 15.0, 0.75),
    ("15 N ± 5%", "N", 15.0, 0.75),
    ("-2 mm ± 10 %", "mm", -2.0, 0.2),
    ("1 ± 0 mm", "mm", 1.0, 0.0),
    ("0.420 within 0.02 mm", "mm", 0.42, Within(0.02)),
    ("0.420 mm, Within ± 1 thou", "mm", 0.42, Within(0.0254)),
    ("15 N within 5 %", "N", 15.0, Within(0.75)),
    ("2.7 lbf", "N", 2.7 * 4.4482216152605, None),
    ("16 ozf", "N", 4.4482216152605, None),
    ("100 gf", "N", 0.980665, None),
    ("1 kgf", "N", 9.80665, None),
    ("1 lbf·in", "N·mm", 112.9848290276167, None),
    ("1 lbf-in", "N·mm", 112.9848290276167, None),
    ("1 in lbf", "N·mm", 112.9848290276167, None),
    ("3 N·mm", "N·mm", 3.0, None),
    ("3 N mm", "N·mm", 3.0, None),
    ("3 Nmm", "N·mm", 3.0, None),
    ("3 N.mm", "N·mm", 3.0, None),
    ("0.003 N·m", "N·mm", 3.0, None),
    ("60 lbf / in", "N/mm", 60 * 4.4482216152605 / 25.4, None),
    ("10300 N/m", "N/mm", 10.3, None),
    ("113.8 GPa", "MPa", 113800.0, None),
    ("7.4e-5 kg·m²", "g·mm²", 74000.0, None),
    ("7.4e-5 kg·m^2", "g·mm²", 74000.0, None),
    ("7.4E-5 kg m2", "g·mm²", 74000.0, None),
    ("178°", "deg", 178.0, None),
    ("-8.2 ± 0.3 deg", "deg", -8.2, 0.3),
    ("0.0045 mm/N", "mm/N", 0.0045, None),
    ("0.12 ± 0.04", "", 0.12, 0.04),
    ("1/8", "", 0.125, None),
    ("2.5 N", "lbf", 2.5 / 4.4482216152605, None),
    ("#55", "mm", 1.3208, None),  # 0.0520 in, ASME B94.11M
    ("# 80", "mm", 0.3429, None),
    ("No. 52", "mm", 1.6129, None),
    ("no 40 drill", "mm", 2.4892, None),
    ("No. 55 ± 0.02 mm", "mm", 1.3208, 0.02),
    ("2.7 lb", "N", 2.7 * 4.4482216152605, None),  # a scale shows the mass that would press as hard (NIST SP 811, B.8)
    ("40 oz", "N", 2.5 * 4.4482216152605, None),
    ("1.2 ± 0.1 kg", "N", 1.2 * 9.80665, 0.980665),
    ("300 g", "N", 0.3 * 9.80665, None),
]

REFUSED = [
    ("", "mm", "empty", "Give a number in mm"),
    ("   ", "N", "empty", "leave the field out"),
    (None, "mm", "not a number", "1.2 mm"),
    (True, "mm", "not a number", "1.2 mm"),
    ([1], "N", "not a number", "1.2 N"),
    ("nan", "mm", "not a finite number", "Measure it"),
    ("-inf mm", "mm", "not a finite number", "Measure it"),
    (math.nan, "mm", "not a finite number", "Measure it"),
    (math.inf, "mm", "not a finite number", "Measure it"),
    ("1e999 mm", "mm", "not a finite number", "Measure it"),
    (10**400, "mm", "too large", "unit"),
    ("1" * 101, "mm", "too long", "1.2 mm"),
    ("0,42 mm", "mm", "comma", 'write "0.42 mm"'),
    ("1,5 ± 0,1 mm", "mm", "comma", 'write "1.5 ± 0.1 mm"'),
    ("113,800 MPa", "MPa", "comma", '"113800 MPa" for thousands'),
    ("1/16", "mm", "fraction without a unit", '"1/16 in"'),
    ("1/0 in", "mm", "divides by zero", "1.2 mm"),
    ("3 N", "mm", "N, a unit of force, where a length is wanted", "mm, cm, m, µm, in or thou"),
    ("3 mm", "deg", "mm, a unit of length, where an angle is wanted", "deg"),
    ("0.12 mm", "", "a unit of length, where a ratio is wanted", "without a unit"),
    ("5 mil", "mm", "thousandths of an inch or millimetres", "thou or mm?"),
    ("5 MM", "mm", "unit MM", "Did you mean mm?"),
    ("1 mPa", "MPa", "unit mPa", "Did you mean MPa?"),
    ("3 lbff", "N", "unit lbff", "Did you mean lbf?"),
    ("38 mn", "mm", "unit mn", "Did you mean mm?"),
    ("3 furlongs", "mm", "unit furlongs", "mm, cm, m, µm, in or thou"),
    ("1.0 ± 0.1 furlongs", "mm", "unit furlongs", "thou"),
    ("1.0 mm ± 0.1 N", "mm", "a unit of force", "thou"),
    ("1.0-1.2 mm", "mm", "cannot be read", "1.2 ± 0.1 mm"),
    ("1.5.2 mm", "mm", "cannot be read", "1.2 mm"),
    ("about 3", "mm", "cannot be read", "1.2 mm"),
    ("#12", "mm", "outside 40 to 80", "diameter"),
    ("#55", "N", "cannot be read", "1.2 N"),
    ("2 kg", "N·mm", "a unit of mass", "N·mm"),
    ("± 0.1 mm", "mm", "cannot be read", "1.2 ± 0.1 mm"),
    ("1 ± 0.1 ± 0.2 mm", "mm", "cannot be read", "1.2 ± 0.1 mm"),
    ("1 ± -0.1 mm", "mm", "below zero", "positive"),
    ("within 0.1 mm", "mm", "cannot be read", "1.2 within 0.1 mm"),
    ("1 within 0.1 ± 0.2 mm", "mm", "cannot be read", "1.2 within 0.1 mm"),
    ("0.40-0.44 mm", "mm", "cannot be read", "1.2 within 0.1 mm"),
    ("1.32 + 0.02/-0 mm", "mm", "further to one side", "1.33 within 0.01 mm"),
    ("12 %", "", "per cent", "without a unit"),
    (3, "furlong", "unit furlong", "mm"),
]


@pytest.mark.parametrize(("written", "unit", "value", "doubt"), READ)
def test_what_is_written_is_read(written, unit, value, doubt):
    read = quantity(written, unit)
    assert read.value == pytest.approx(value, rel=1e-15)
    assert read.doubt == (doubt if isinstance(doubt, Within | None) else pytest.approx(doubt, rel=1e-15))


@pytest.mark.parametrize(("written", "unit", "wrong", "cure"), REFUSED)
def test_what_cannot_be_meant_is_refused_with_help(written, unit, wrong, cure):
    with pytest.raises(UnitError) as caught:
        quantity(written, unit)
    assert wrong in caught.value.wrong
    assert cure in caught.value.cure
    assert caught.value.wrong in str(caught.value)
    assert caught.value.cure in str(caught.value)


def test_inch_sizes_are_exact_in_mm():
    assert quantity("0.0520 in", "mm").value == 1.3208
    assert convert(0.0465, "in", "mm") == 1.1811
    assert quantity("5/64 in", "mm").value == 1.984375


def test_every_unit_of_the_parts_is_known():
    owners = (parts.Ball, parts.Recess, parts.LockBar, parts.Blade, parts.Friction)
    wanted = {each.metadata["unit"] for owner in owners for each in parts.fields(owner) if "unit" in each.metadata}
    assert {"mm", "N", "N/mm", "N·mm", "MPa", "g", "g·mm²", "deg", "mm/N", ""} <= wanted
    for unit in wanted:
        assert quantity(f"2.5 ± 0.5 {unit}", unit) == (2.5, 0.5)


@given(st.floats(allow_nan=False, allow_infinity=False), st.sampled_from(sorted(units._UNITS)))
def test_a_float_written_with_its_unit_reads_back_the_same(value, unit):
    assert quantity(f"{value!r} {unit}", unit).value == value


@given(
    st.text(max_size=40) | st.text("0123456789./±+- eE,%inmNlbf°²·\"'", max_size=25),
    st.sampled_from(sorted(units._UNITS)),
)
def test_any_text_is_read_or_refused_never_something_else(text, unit):
    try:
        read = quantity(text, unit)
    except UnitError:
        return
    assert math.isfinite(read.value)
    assert read.doubt is None or read.doubt >= 0


def test_convert_takes_arrays_and_goes_back():
    forces = np.array([[1.0, 2.0], [3.0, 4.0]])
    assert convert(forces, "lbf", "N") == pytest.approx(forces * 4.4482216152605)
    assert convert(convert(forces, "N", "ozf"), "ozf", "N") == pytest.approx(forces)


def test_convert_refuses_another_kind():
    with pytest.raises(UnitError, match="mm, a unit of length, where a force is wanted"):
        convert(1.0, "N", "mm")


@pytest.mark.parametrize(
    ("shown", "said"),
    [
        (show(12.0394, "N"), "12.04 N"),
        (show(12.0394, "N", 0.1523), "12.04 ± 0.15 N"),
        (show(0.42, "mm", 0.01), "0.420 ± 0.010 mm"),
        (both(0.42, "mm", Within(0.02)), "0.420 within 0.020 mm (16.54 within 0.79 thou)"),
        (show(49.149, "deg"), "49.15°"),
        (show(0.12, "", 0.04), "0.120 ± 0.040"),
        (show(113_800.0, "MPa"), "113800 MPa"),
        (show(113_800.0, "MPa", 3414.0), "113800 ± 3400 MPa"),
        (show(115_000.0, "g·mm²", 85_000.0), "115000 ± 85000 g·mm²"),
        (show(9.99996, "N"), "10.00 N"),
        (show(0.0, "N"), "0 N"),
        (show(-0.0, "N"), "0 N"),
        (show(-1e-9, "N·mm"), "0 N·mm"),
        (show(-0.001, "N", 0.5), "0.00 ± 0.50 N"),
        (show(-3.25, "N"), "−3.250 N"),
        (both(12.0394, "N"), "12.04 N (2.71 lbf)"),
        (both(12.0394, "N", 0.5), "12.04 ± 0.50 N (2.71 ± 0.11 lbf)"),
        (both(0.0508, "mm"), "0.0508 mm (2.00 thou)"),
        (both(1.3208, "mm"), "1.321 mm (52.0 thou)"),
        (both(36.4, "mm"), "36.40 mm (1.43 in)"),
        (both(-1e-9, "mm"), "0 mm (0 thou)"),
        (both(168.5, "N·mm"), "168.5 N·mm (1.49 lbf·in)"),
        (both(10.3, "N/mm"), "10.30 N/mm (58.8 lbf/in)"),
        (both(476.0, "MPa"), "476.0 MPa (69.0 ksi)"),
        (both(34.0, "g"), "34.00 g (1.20 oz)"),
        (both(4.29, "mJ"), "4.290 mJ"),
        (both(4.3, "deg"), "4.300°"),
    ],
)
def test_prints(shown, said):
    assert shown == said


@given(st.floats(-1e6, 1e6), st.none() | st.floats(0, 1e5), st.sampled_from(sorted(units._UNITS)))
def test_prints_are_plain_true_and_never_minus_nothing(value, doubt, unit):
    said = show(value, unit, doubt)
    assert not re.match(r"−0(\.0*)?(?![\d.])", said)
    assert "-" not in said
    assert "e" not in said.removesuffix(unit)
    slack = doubt * 0.06 if doubt else max(abs(value) * 1e-3, 1e-4)
    assert float(re.match(r"−?[\d.]+", said)[0].replace("−", "-")) == pytest.approx(value, abs=slack)


@pytest.mark.parametrize("value", [math.nan, math.inf])
def test_what_is_no_number_is_not_printed(value):
    with pytest.raises(UnitError, match="not a finite number"):
        both(value, "N")
