import numpy as np
import pytest
from tests.outcome.builds import AGM, REAL, build_of

from boomwright.build.draws import Draws
from boomwright.outcome.room import gross_volume_of, inside_size, net_volume_of, taken_of
from boomwright.outcome.run import run_build

SIZES = '[cabinet]\nwidth = "24 cm"\nheight = "38 cm"\ndepth = "19 cm"\n'
LITRES = '[cabinet]\nvolume = "17.5 L"\n'


def net(text, *, versions=0):
    return net_volume_of(build_of(text), Draws(versions))[:, 0]


def test_three_sizes_make_the_volume():
    cabinet = build_of(REAL + SIZES).cabinet
    assert inside_size(cabinet) == pytest.approx((0.24, 0.38, 0.19), rel=1e-12)
    assert gross_volume_of(cabinet) == pytest.approx(17.328e-3, rel=1e-12)


def test_volume_alone_is_given_a_usual_shape_of_the_same_volume():
    cabinet = build_of(REAL + LITRES).cabinet
    width, height, depth = inside_size(cabinet)
    assert width * height * depth == pytest.approx(17.5e-3, rel=1e-12)
    assert height > width > depth
    assert gross_volume_of(cabinet) == pytest.approx(17.5e-3, rel=1e-12)


def test_battery_and_boards_take_their_room():
    # 7 Ah of 12 V are 84 Wh, a litre of lead; boards 0.3 L.
    assert net(REAL + LITRES)[0] == pytest.approx(17.5e-3 - 84 * 0.012e-3 - 0.3e-3, rel=1e-9)
    lithium = REAL.replace(AGM, AGM.replace("lead-agm", "li-ion-nmc").replace("= 6", "= 3"))
    taken = 7 * 3 * 3.4 * 0.006e-3 + 0.3e-3
    assert net(lithium + LITRES)[0] == pytest.approx(17.5e-3 - taken, rel=1e-9)
    assert 0.4e-3 < 84 * 0.012e-3 / 2 < taken_of(build_of(REAL + LITRES)).low


def test_stated_room_is_taken_as_stated():
    assert net(REAL + LITRES + 'taken = "2.5 L (standard)"\n')[0] == pytest.approx(15e-3, rel=1e-9)


def test_electronics_apart_take_nothing():
    assert net(REAL + LITRES + "electronics_apart = true\n")[0] == pytest.approx(17.5e-3, rel=1e-9)


def test_magnets_take_their_room():
    text = REAL.replace("count = 2", 'count = 2\nvolume_taken = "0.4 L"')
    assert net(REAL + LITRES)[0] - net(text + LITRES)[0] == pytest.approx(0.8e-3, rel=1e-9)


def test_overfull_box_keeps_a_twentieth():
    assert net(REAL + LITRES.replace("17.5", "0.9"))[0] == pytest.approx(0.9e-3 / 20, rel=1e-9)


def test_unknown_room_varies():
    values = net(REAL + LITRES, versions=60)
    assert values.shape == (61,)
    assert values.min() < values[0] < values.max() <= 17.5e-3


def test_box_without_cabinet_has_no_volume():
    assert np.isnan(run_build(build_of(REAL), versions=0).volume_net.likely)
    with pytest.raises(ValueError, match="without a cabinet"):
        net(REAL)
