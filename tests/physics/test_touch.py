"""Touch: monotone, in order, burn and design limits together."""

import numpy as np
import pytest

from boomwright.physics.touch import burn_limit, touch_limit


@pytest.mark.parametrize("material", ["metal", "glass", "plastic", "wood"])
@pytest.mark.parametrize("law", [burn_limit, touch_limit])
def test_longer_touches_burn_at_lower_temperatures(law, material):
    limit = law(material, duration=np.geomspace(0.2, 1e5, 80))
    assert np.all(np.diff(limit) <= 0.0)
    assert limit[0] > limit[-1]


def test_metal_burns_at_lower_temperatures_than_glass_and_plastic():
    for law in (burn_limit, touch_limit):
        metal, glass, plastic = (float(law(m, duration=4.0)) for m in ("metal", "glass", "plastic"))
        assert metal < glass < plastic


@pytest.mark.parametrize("material", ["metal", "glass", "plastic"])
@pytest.mark.parametrize("duration", [1.0, 10.0, 60.0])
def test_the_design_limit_is_below_the_burn_limit_at_the_short_end_of_its_class(material, duration):
    assert float(touch_limit(material, duration=duration)) <= float(
        burn_limit(material, duration=duration)
    )


def test_touch_limits_name_what_is_wrong():
    with pytest.raises(ValueError, match="got 'felt'"):
        burn_limit("felt", duration=1.0)
    with pytest.raises(ValueError, match="got 0 s"):
        touch_limit("metal", duration=0.0)
