"""Fuses and inrush. Sources beside each check; ngspice where named, else arithmetic."""

import numpy as np
import pytest

from showplan.physics.fuses import (
    decaying_pulse_a2s,
    fuse_wanted_a,
    largest_fuse_a,
    least_ampacity_a,
    melting_wanted_a2s,
    pulse_a2s,
    short_circuit_a,
)
from showplan.physics.inrush import (
    capacitor_energy_mj,
    capacitor_inrush_a,
    capacitor_inrush_a2s,
    capacitor_inrush_ms,
    lamp_inrush_a,
)
from showplan.reference.fuses import borne_share, fuse_breaking, fuse_class, fuse_gates, fuse_series, pulse_life
from showplan.reference.standing import OutsideTable, UnknownKey
from showplan.reference.wires import wires
from tests.circuits import Circuit, simulate
from tests.published.tolerances import LAST_PRINTED_DIGIT


def test_rating_by_the_load():
    # fuse makers' guides: at most 75 % of the rating for long; another page: 125 % of the normal current
    wanted_a = fuse_wanted_a(np.array([0.4, 2, 4, 6, 7.2, 8]))
    assert wanted_a == pytest.approx([0.533, 2.667, 5.333, 8.0, 9.6, 10.667], abs=LAST_PRINTED_DIGIT)
    assert [fuse_class("blade").next_a(amps) for amps in wanted_a] == [1, 3, 7.5, 10, 10, 15]
    assert fuse_wanted_a(10, 0.8) == pytest.approx(12.5)
    assert fuse_class("blade").next_a(30.1) is None
    assert fuse_class("blade").largest_a(0.9) is None


def test_series():
    # IEC 60127 takes the R10 numbers, from memory
    r10 = 10 ** (np.arange(11) / 10)
    for key in ("ul", "iec-quick", "iec-time-lag"):
        assert fuse_class(key).ratings_a == pytest.approx(r10, rel=0.013)
    # ISO 8820-3, from memory
    assert fuse_class("blade").ratings_a == (1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30)
    with pytest.raises(UnknownKey, match="unknown fuse class 'wire'; known: blade, ul, iec-quick, iec-time-lag"):
        fuse_class("wire")


def test_opening_times():
    # UL 248-14 in a maker's guide; IEC 60127-2 on a web page; sheet 3 and ISO 8820-3 from memory
    gates = {(row.fuse_class, row.times_rating): (row.least_s, row.most_s) for row in fuse_gates()}
    assert gates["ul", 1.35] == (None, 3600)
    assert gates["ul", 2.0] == (None, 120)
    assert [gates["iec-quick", times] for times in (1.5, 2.1, 2.75, 4, 10)] == [
        (3600, None),
        (None, 1800),
        (0.05, 2),
        (0.01, 0.3),
        (None, 0.02),
    ]
    assert [gates["iec-time-lag", times] for times in (2.1, 2.75, 4, 10)] == [
        (None, 120),
        (0.6, 10),
        (0.15, 3),
        (0.02, 0.3),
    ]
    for row in fuse_gates():
        assert row.fuse_class in fuse_series()
        assert (row.least_s or 0) < (row.most_s or np.inf)
    # the multiple at which a class surely opens is a gate with a longest time
    for series in fuse_series().values():
        assert gates[series.key, series.opens_times][1] is not None


def test_the_conductor_rule():
    # IEC 60364-4-43 433.1, from memory: I_z of 1.448 I_n for IEC quick-acting, I_n for UL
    assert least_ampacity_a(1, 2.1) == pytest.approx(1.448, abs=LAST_PRINTED_DIGIT)
    assert least_ampacity_a(10, 1.35) == 10
    assert largest_fuse_a(16, 1.35) == 16
    assert largest_fuse_a(16, 2.1) == pytest.approx(11.05, abs=0.005)
    # a trunk of 7.6167 A: 15 A blade, which needs 1.5 mm2; leads of 0.5 and 0.75 mm2 it does not protect
    blade = fuse_class("blade")
    fuse_a = blade.next_a(fuse_wanted_a(7.6167))
    assert fuse_a == 15
    protected = [key for key, wire in wires().items() if wire.cord_a >= least_ampacity_a(fuse_a, blade.opens_times)]
    assert protected == ["1.5", "2.5", "4"]
    assert blade.largest_a(largest_fuse_a(wires()["0.75"].cord_a, blade.opens_times)) == 5


def test_breaking():
    # wiki page on fuse markings; ISO 8820-3:2015 abstract
    short_a = short_circuit_a(12, 0.02 + 0.03)
    assert short_a == pytest.approx(240)
    breaks = {key: row.amps(5) for key, row in fuse_breaking().items()}
    assert breaks == {"L": 50, "E": 150, "H": 1500, "blade": 1000}
    assert fuse_breaking()["L"].amps(2) == 35
    assert [key for key, amps in breaks.items() if amps < short_a] == ["L", "E"]


def test_pulses():
    # fuse maker's guide: I2t by shape, checked by summing; pulse life
    seconds = np.linspace(0, 1, 100_001)
    shapes = {1: np.ones_like(seconds), 1 / 2: np.sin(np.pi * seconds), 1 / 3: seconds, 1 / 5: seconds**2}
    for share, amps in shapes.items():
        assert pulse_a2s(3, 2, share) == pytest.approx(2 * np.trapezoid((3 * amps) ** 2, seconds), rel=1e-6)
    assert decaying_pulse_a2s(3, 0.04) == pytest.approx(
        np.trapezoid(9 * np.exp(-2 * seconds / 0.04), seconds), rel=1e-6
    )
    assert {row.pulses: row.share for row in pulse_life()} == {100: 0.48, 1000: 0.38, 10_000: 0.29, 100_000: 0.22}
    assert [borne_share(pulses) for pulses in (1, 100, 101, 100_000)] == [0.48, 0.48, 0.38, 0.22]
    with pytest.raises(OutsideTable, match="up to 100000"):
        borne_share(100_001)


def test_inrush_of_a_capacitor():
    # 1000 uF on 12 V through 0.25 ohm
    assert capacitor_inrush_a(12, 0.25) == pytest.approx(48)
    assert capacitor_inrush_ms(0.25, 1000) == pytest.approx(0.25)
    assert capacitor_inrush_a2s(12, 0.25, 1000) == pytest.approx(0.288)
    assert capacitor_energy_mj(12, 1000) == pytest.approx(72)
    assert melting_wanted_a2s(0.288) == pytest.approx(1.309, abs=LAST_PRINTED_DIGIT)
    assert decaying_pulse_a2s(48, 0.25e-3) == pytest.approx(0.288)
    circuit = Circuit(
        "vs a 0 12\nr1 a b 0.25\nc1 b 0 1000u ic=0\nbq q 0 v=i(vs)*i(vs)",
        ("a2s",),
        "tran 0.1u 4m 0 0.1u uic",
        ("a2s INTEG v(q) from=0 to=4m",),
    )
    ((a2s,),) = simulate([circuit])
    assert capacitor_inrush_a2s(12, 0.25, 1000) == pytest.approx(a2s, rel=5e-4)


def test_inrush_of_a_lamp():
    # from memory: 10 to 15 times the hot current
    assert lamp_inrush_a(5 / 12) == pytest.approx(6.25)
