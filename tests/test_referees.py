"""Every formula and every name that people call has a referee outside the model, or a reason why not."""

import numpy as np
import pytest

from tests import referees


def test_every_mark_names_what_there_is():
    for kind, source, several in referees.marks():
        assert kind in referees.KINDS
        assert source
        assert several
        assert set(several) <= set(referees.names()), source


def test_every_formula_has_a_referee_and_every_name_one_or_a_reason():
    checked = {name for *_, several in referees.marks() for name in several}
    reasons = referees.without()
    assert [id for id in referees.formulas if id not in checked] == []
    assert sorted({*reasons} & checked) == []
    assert sorted({*referees.names()} - checked) == sorted(reasons)


@pytest.mark.parametrize(
    ("found", "expected", "off"),
    [
        (1.01, 1.0, [0.01]),
        ([2.0, 3.3], [2.0, 3.0], [0.0, 0.1]),
        (np.array([[1.0, 2.5]]), [[1.0, 2.0]], [0.0, 0.25]),
        ([2.2], 2.0, [0.1]),
        (1e-9, 0.0, []),
    ],
)
def test_each_number_is_off_by_so_much_of_itself(found, expected, off):
    assert referees._differences(found, expected) == pytest.approx(off)


def test_what_a_marked_test_compares_is_heard_and_judged_as_before():
    off = []
    near = referees._Compared(pytest.approx(2.0, rel=0.1), 2.0, off)
    assert [2.1 == near, np.float64(3.0) == near] == [True, False]  # noqa: SIM300
    assert off == pytest.approx([0.05, 0.5])
