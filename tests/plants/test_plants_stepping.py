"""The matrices of a step against scipy's exponential of the augmented matrix."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.linalg import expm

from plants.kernel.exponential import phi_matrices, rate_bound
from tests.plants.strategies import HERMS, setups


def augmented(a, seconds):
    """exp, phi1 and phi2 from one exponential (Van Loan 1978, IEEE Trans. Autom. Control 23:395-404)."""
    n = len(a)
    whole = np.zeros((3 * n, 3 * n))
    whole[:n, :n] = a * seconds
    whole[:n, n : 2 * n] = whole[n : 2 * n, 2 * n :] = np.eye(n)
    top = expm(whole)[:n]
    return top[:, :n], top[:, n : 2 * n], top[:, 2 * n :]


@settings(max_examples=40)
@given(setups(), st.booleans(), st.integers(1, 250))
def test_matrices_of_a_plant_are_those_of_scipy(setup, pumping, ms):
    plant = HERMS(setup)
    plant.command([1, 0, int(pumping)])
    plant.advance(6000)
    a = plant._net.matrix()[:, : len(plant._net.states)]
    units = plant._net.units()
    found = phi_matrices(a, rate_bound(a, units), ms * 1e-3)
    for mine, theirs in zip(found, augmented(a, ms * 1e-3), strict=True):
        difference = (mine - theirs) * units[:, None] / units[None, :]
        assert np.abs(difference).max() < 1e-11 * np.abs(theirs * units[:, None] / units[None, :]).max()


@pytest.mark.parametrize("rate", [0.0, 1e-6, 1.0, 400.0])
def test_scalars(rate):
    """phi1(z) = (exp(z) - 1) / z and phi2(z) = (phi1(z) - 1) / z."""
    a = np.array([[-rate]])
    e, phi1, phi2 = (float(one[0, 0]) for one in phi_matrices(a, rate, 0.25))
    z = -0.25 * rate
    assert e == pytest.approx(np.exp(z), abs=1e-15)
    assert phi1 == pytest.approx(np.expm1(z) / z if z else 1.0, rel=1e-9)
    assert phi2 == pytest.approx(0.5 + z / 6.0 if z > -1e-3 else (np.expm1(z) / z - 1.0) / z, rel=1e-9)


@settings(max_examples=40)
@given(setups(), st.booleans())
def test_no_rate_is_faster_than_the_bound_and_the_bound_is_not_far_off(setup, pumping):
    plant = HERMS(setup)
    plant.command([1, 0, int(pumping)])
    plant.advance(6000)
    a = plant._net.matrix()[:, : len(plant._net.states)]
    fastest = np.abs(np.linalg.eigvals(a)).max()
    assert fastest <= rate_bound(a, plant._net.units()) < 10.0 * fastest
