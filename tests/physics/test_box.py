"""Heat in the box: energy balance, limits, monotone, shapes."""

import numpy as np
import pytest

from boomwright.physics import box
from boomwright.physics.box import box_air_temperature, box_conductance, panel_conductance
from boomwright.physics.convection import surface_coefficient

BOX = {"width": 0.34, "height": 0.27, "depth": 0.21, "thickness": 0.015, "conductivity": 0.14}

ROOM = 296.0


def test_panel_is_film_wall_and_film_in_series():
    expected = 0.31 / (1.0 / 7.0 + 0.018 / 0.15 + 1.0 / 9.0)
    found = panel_conductance(
        area=0.31, thickness=0.018, conductivity=0.15, inside=7.0, outside=9.0
    )
    assert float(found) == pytest.approx(expected, rel=1e-12)


def test_a_dead_film_stops_the_heat():
    found = panel_conductance(
        area=0.31, thickness=0.0, conductivity=0.15, inside=np.array([0.0, 7.0]), outside=0.0
    )
    assert found.tolist() == [0.0, 0.0]


def test_a_thin_metal_wall_leaves_only_the_films():
    found = panel_conductance(area=0.5, thickness=1e-6, conductivity=200.0, inside=4.0, outside=6.0)
    assert float(found) == pytest.approx(0.5 * 2.4, rel=1e-6)


@pytest.mark.parametrize("power", [0.02, 1.7, 12.0, 90.0])
@pytest.mark.parametrize("emissivity_inside", [0.0, 0.9])
def test_heat_made_is_heat_given_off(power, emissivity_inside):
    air = box_air_temperature(power, ambient=ROOM, emissivity_inside=emissivity_inside, **BOX)
    rise = float(air) - ROOM
    given = rise * box_conductance(
        rise=rise, ambient=ROOM, emissivity_inside=emissivity_inside, **BOX
    )
    assert float(given) == pytest.approx(power, rel=1e-6)


def test_every_face_passes_the_same_heat_through_film_wall_and_film():
    # Rebuilt by bisection on the wall temperature of one face, without the fixed-point loop.
    rise, wall, k = 18.0, 0.015, 0.14
    w, h, d = 0.34, 0.27, 0.21
    wi, hi, di = w - 2 * wall, h - 2 * wall, d - 2 * wall

    def face(inside, outside, length_in, length_out, facing):
        def flow(hot):
            film = surface_coefficient(
                hot - rise, length_in, ambient=ROOM + rise, emissivity=0.9, facing=facing
            )
            return float(film) * inside * (rise - hot)

        def left(hot):
            cold = hot - flow(hot) * wall / (k * 0.5 * (inside + outside))
            film = surface_coefficient(
                cold, length_out, ambient=ROOM, emissivity=0.9, facing=facing
            )
            return float(film) * outside * cold

        low, high = 0.0, rise
        for _ in range(60):
            middle = 0.5 * (low + high)
            low, high = (low, middle) if left(middle) > flow(middle) else (middle, high)
        return flow(low)

    plan, plan_in = w * d, wi * di
    edges = (plan_in / (2 * (wi + di)), plan / (2 * (w + d)))
    total = (
        face(2 * (wi + di) * hi, 2 * (w + d) * h, hi, h, "vertical")
        + face(plan_in, plan, *edges, "up")
        + face(plan_in, plan, *edges, "down")
    )
    found = rise * box_conductance(rise=rise, ambient=ROOM, **BOX)
    assert float(found) == pytest.approx(total, rel=1e-6)


def test_no_heat_leaves_the_room_temperature():
    assert float(box_air_temperature(0.0, ambient=ROOM, **BOX)) == ROOM


def test_the_box_solver_has_converged(monkeypatch):
    rng = np.random.default_rng(20)
    size = {
        name: rng.uniform(low, high, 500)
        for name, low, high in (
            ("width", 0.1, 0.6),
            ("height", 0.1, 0.6),
            ("depth", 0.08, 0.4),
            ("thickness", 0.0005, 0.025),
            ("conductivity", 0.1, 200.0),
            ("emissivity", 0.0, 1.0),
            ("emissivity_inside", 0.0, 1.0),
        )
    }
    power = 10.0 ** rng.uniform(-3.0, 2.5, 500)
    usual = box_air_temperature(power, ambient=ROOM, **size) - ROOM
    monkeypatch.setattr(box, "_PASSES", 120)
    longer = box_air_temperature(power, ambient=ROOM, **size) - ROOM
    # Near the room's 296 K a double carries 6e-14 K, which is the rest of the tolerance.
    np.testing.assert_allclose(usual, longer, rtol=1e-7, atol=1e-12)


def test_more_heat_is_hotter_and_less_than_in_proportion():
    power = np.linspace(0.0, 60.0, 40)
    rise = box_air_temperature(power, ambient=ROOM, **BOX) - ROOM
    assert np.all(np.diff(rise) > 0.0)
    assert np.all(np.diff(rise[1:] / power[1:]) < 0.0)


@pytest.mark.parametrize(
    ("change", "better"),
    [
        ({"thickness": 0.006}, True),
        ({"conductivity": 0.24}, True),
        ({"width": 0.50}, True),
        ({"emissivity": 0.1}, False),
        ({"emissivity_inside": 0.0}, False),
        ({"bottom_share": 0.0}, False),
    ],
)
def test_what_cools_a_box_and_what_does_not(change, better):
    usual = box_conductance(rise=14.0, ambient=ROOM, **BOX)
    changed = box_conductance(**{"rise": 14.0, "ambient": ROOM, **BOX, **change})
    assert bool(changed > usual) is better


def test_a_bottom_without_air_takes_away_less_than_a_third():
    whole = box_conductance(rise=14.0, ambient=ROOM, **BOX)
    carpet = box_conductance(rise=14.0, ambient=ROOM, bottom_share=0.0, **BOX)
    assert 0.67 < float(carpet / whole) < 0.95


def test_box_broadcasts():
    power = np.array([[1.0], [5.0], [25.0]])
    width = np.array([0.2, 0.3, 0.4, 0.5])
    air = box_air_temperature(power, ambient=ROOM, **{**BOX, "width": width})
    assert air.shape == (3, 4)
    alone = box_air_temperature(5.0, ambient=ROOM, **{**BOX, "width": 0.4})
    assert air[1, 2] == pytest.approx(float(alone), rel=1e-12)


def test_walls_must_leave_room():
    with pytest.raises(ValueError, match=r"box depth: got -0\.01 m"):
        box_conductance(rise=5.0, ambient=ROOM, **{**BOX, "depth": 0.02})
    with pytest.raises(ValueError, match=r"got -2 W"):
        box_air_temperature(-2.0, ambient=ROOM, **BOX)
    with pytest.raises(ValueError, match=r"got -3 K"):
        box_conductance(rise=-3.0, ambient=ROOM, **BOX)
    with pytest.raises(ValueError, match=r"got -0\.1 W/\(m K\)"):
        box_conductance(rise=5.0, ambient=ROOM, **{**BOX, "conductivity": -0.1})
