import numpy as np
import pytest
from tests.outcome.builds import NO_LEAD, RAILS, REAL, place_of, plan_of

COPPER = 1.7241e-8
"""Annealed copper at 20 °C, IEC 60028 (from memory) [Ω m]."""


def node_of(plan, name):
    return plan.nodes[place_of(plan, name)]


def test_lead_counts_both_wires():
    lead = node_of(plan_of(REAL), "switch").lead
    assert lead[0, 0] == pytest.approx(2 * COPPER * 0.3 / 0.75e-6, rel=1e-3)


def test_lead_of_no_length_has_no_resistance():
    plan = plan_of(REAL.replace("0.75 mm² (standard), 0.3 m (standard)", NO_LEAD))
    assert node_of(plan, "switch").lead[0, 0] == 0


def test_connector_adds_its_resistance_to_the_lead():
    plain = node_of(plan_of(REAL), "switch").lead[0, 0]
    text = REAL.replace("0.3 m (standard)", "0.3 m (standard), no-such-plug")
    assert node_of(plan_of(text), "switch").lead[0, 0] == pytest.approx(plain + 5e-3, rel=1e-9)


def test_tree_leads_up_to_the_source():
    plan = plan_of(REAL)
    way = [plan.nodes[place].name for place in plan.upstream(place_of(plan, "amplifier"))]
    assert way == ["amplifier", "cutoff", "switch", "fuse"]
    assert [plan.nodes[place].name for place in plan.children[-1]] == ["fuse"]
    fed = {plan.nodes[place].name for place in plan.children[place_of(plan, "cutoff")]}
    assert fed == {"load", "amplifier"}


def test_cutoff_takes_its_own_current_and_a_lamp_its_share_of_time():
    plan = plan_of(REAL.replace('on_share = "100 %', 'on_share = "40 %'))
    assert node_of(plan, "cutoff").current[0, 0] == pytest.approx(9e-3, rel=1e-12)
    assert node_of(plan, "load").current[0, 0] == pytest.approx(0.4 * 0.13, rel=1e-12)


def test_series_diode_of_no_stated_drop_has_the_usual_one():
    diode = '[polarity]\ntype = "series-silicon"\n'
    plan = plan_of(REAL + diode, versions=300)
    drop = node_of(plan, "polarity").drop[:, 0]
    assert drop[0] == pytest.approx(0.9, rel=1e-12)
    assert drop.min() >= 0.7
    assert drop.max() <= 1.1


def test_rail_is_rated_by_its_volts_and_amps():
    rails = [node_of(plan_of(RAILS), name).rail for name in ("five", "high")]
    assert [float(rail.power_rated[0, 0]) for rail in rails] == [15.0, 96.0]
    assert [rail.boost for rail in rails] == [False, True]
    assert rails[1].input_min[0, 0] == 9.0


def joined(use, topology):

    text = REAL.replace(
        "[amplifier]", f'[amplifier]\nuse = "{use}"\ncurrent_max = "4 A (standard)"'
    )
    return node_of(plan_of(text.replace('"bridge"', f'"{topology}"')), "amplifier").amplifier


def test_bridged_outputs_swing_the_whole_supply_through_both_resistances():
    numbers = joined("bridged", "single-ended")
    assert numbers.rail_share == 1.0
    assert numbers.output_resistance[0, 0] == pytest.approx(2 * 0.31, rel=1e-12)
    assert numbers.current_max[0, 0] == pytest.approx(4.0, rel=1e-12)
    assert len(numbers.outputs) == 1


def test_paralleled_outputs_share_the_current():
    numbers = joined("paralleled", "bridge")
    assert numbers.rail_share == 1.0
    assert numbers.output_resistance[0, 0] == pytest.approx(0.31 / 2, rel=1e-12)
    assert numbers.current_max[0, 0] == pytest.approx(2 * 4.0, rel=1e-12)


def test_versions_are_rows():
    plan = plan_of(REAL.replace("23 mΩ (standard)", "23 mΩ [5 to 60]"), versions=12)
    assert node_of(plan, "switch").series.shape == (13, 1)
    assert node_of(plan, "cutoff").series.shape == (1, 1)
    assert np.unique(node_of(plan, "switch").series).size == 13
