"""What several tests of physics take."""

import pytest

from boomwright.physics.programme import load_programmes


@pytest.fixture(params=sorted(load_programmes()))
def programme(request):
    """Each programme that ships with the package."""
    return load_programmes()[request.param]
