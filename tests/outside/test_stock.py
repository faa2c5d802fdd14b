"""Stock sizes against the standards they come from.

Sources: ISO 3290-1:2014 and DIN 5401:2002 (balls); ASME B94.11M (number drills); BS 328 (metric drills). Three-decimal ball sizes are from
memory.
"""

from itertools import pairwise

import pytest

from detentlib.tune import stock


def diameters(sizes):
    return {size.name: size.diameter for size in sizes}


@pytest.mark.checked_by("published", "ISO 3290-1:2014, DIN 5401:2002", "stock")
def test_inch_balls_are_exact():
    assert {name: size for name, size in diameters(stock.BALLS).items() if name.endswith("in")} == {
        "1/64 in": 0.396875,
        "1/32 in": 0.79375,
        "3/64 in": 1.190625,
        "1/16 in": 1.5875,
        "5/64 in": 1.984375,
        "3/32 in": 2.38125,
        "7/64 in": 2.778125,
        "1/8 in": 3.175,
    }
    printed = (0.397, 0.794, 1.191, 1.588, 1.984, 2.381, 2.778, 3.175)
    inch = [size.diameter for size in stock.BALLS if size.name.endswith("in")]
    assert inch == pytest.approx(printed, abs=5.1e-4)


@pytest.mark.checked_by("published", "ISO 3290-1:2014, DIN 5401:2002", "stock")
def test_metric_balls():
    assert {1.5, 2.0, 2.5, 3.0} < {size.diameter for size in stock.BALLS}
    assert len(stock.BALLS) == 18


PRINTED = """80 .0135 79 .0145 78 .0160 77 .0180 76 .0200 75 .0210 74 .0225 73 .0240 72 .0250 71 .0260 70 .0280 69 .0292 68 .0310 67 .0320
66 .0330 65 .0350 64 .0360 63 .0370 62 .0380 61 .0390 60 .0400 59 .0410 58 .0420 57 .0430 56 .0465 55 .0520 54 .0550 53 .0595 52 .0635
51 .0670 50 .0700 49 .0730 48 .0760 47 .0785 46 .0810 45 .0820 44 .0860 43 .0890 42 .0935 41 .0960 40 .0980"""
NUMBERS = PRINTED.split()


@pytest.mark.checked_by("published", "ASME B94.11M", "stock")
@pytest.mark.parametrize(("number", "inches"), list(zip(NUMBERS[::2], NUMBERS[1::2], strict=True)))
def test_number_drill(number, inches):
    assert diameters(stock.NUMBER_DRILLS)[f"No. {number}"] == pytest.approx(float(inches) * 25.4, rel=1e-15)


def test_number_drills_shrink_as_the_number_grows():
    numbers = [int(size.name.split()[1]) for size in stock.NUMBER_DRILLS]
    assert numbers == list(range(80, 39, -1))
    assert diameters(stock.NUMBER_DRILLS)["No. 55"] == 1.3208
    assert diameters(stock.NUMBER_DRILLS)["No. 56"] == 1.1811


@pytest.mark.checked_by("published", "BS 328", "stock")
def test_metric_drills():
    sizes = [size.diameter for size in stock.METRIC_DRILLS]
    assert sizes[:8] == [0.20, 0.22, 0.25, 0.28, 0.30, 0.32, 0.35, 0.38]
    assert (sizes[0], sizes[31], sizes[32], sizes[71], sizes[72], sizes[-1]) == (0.20, 0.98, 1.00, 2.95, 3.0, 13.9)
    assert 1.30 in sizes
    assert 1.32 not in sizes
    assert len(set(sizes)) == len(sizes)
    assert stock.near(1.30, stock.METRIC_DRILLS).below.name == "1.30 mm"


def test_near():
    between = stock.near(1.4, stock.NUMBER_DRILLS)
    assert (between.below.name, between.above.name) == ("No. 54", "No. 53")
    assert stock.near(1.4, stock.DRILLS).below == stock.near(1.4, stock.DRILLS).above == stock.Size("1.40 mm", 1.4)
    on = stock.near(1.5875, stock.BALLS)
    assert on.below == on.above == stock.Size("1/16 in", 1.5875)
    assert stock.near(0.1, stock.BALLS).below is None
    assert stock.near(99.0, stock.BALLS).above is None
    for bad in (0.0, -1.0, float("nan")):
        with pytest.raises(ValueError, match="not above zero"):
            stock.near(bad, stock.BALLS)


@pytest.mark.parametrize("sizes", [stock.BALLS, stock.DRILLS, stock.NUMBER_DRILLS, stock.METRIC_DRILLS], ids=["balls", "drills", "number", "metric"])
def test_lists_rise(sizes):
    steps = [high.diameter - low.diameter for low, high in pairwise(sizes)]
    assert min(steps) >= 0
