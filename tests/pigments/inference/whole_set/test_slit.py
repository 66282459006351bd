import numpy as np
import pytest

from tests.simulation import make_set, to_chipset
from tintmix.optics.spectrum import GRID_NM
from tintmix.pigments.fit import fit
from tintmix.pigments.inference.bands import through_slit
from tintmix.pigments.inference.gather import gather
from tintmix.pigments.inference.posterior import posterior
from tintmix.pigments.inference.whole_set.slit import slit_found


def narrow(slit_nm, **how):
    return make_set(
        412, "spectrum", pairs=3, dose_error=0.02, thickness_error=0.05, family="narrow", slit_nm=slit_nm, **how
    )


def width_found(sim):
    mixture = slit_found(posterior(gather((to_chipset(sim),)).observations))
    return mixture.forward.observations.readings[0].slit_nm


@pytest.mark.parametrize("slit_nm", [0.0, 10.0])
def test_a_slit_is_found_where_narrow_dyes_were_read_through_one(slit_nm):
    assert width_found(narrow(slit_nm)) == pytest.approx(slit_nm, abs=1.0)


def test_a_wrong_dose_is_doubted_through_a_slit_and_no_sound_chip_is():
    sim = narrow(10.0, fault="dose")
    report = fit(to_chipset(sim)).report
    assert {chip["chip"] for chip in report["chips"] if chip["doubted"]} == set(sim.culprit_chips)
    assert not report["health"]["set_up"]


def test_slopes_of_a_slit_are_those_of_differences():
    nm = GRID_NM[:12]
    light = np.exp(-np.exp(3 - ((nm - 433) / 12) ** 2) - 0.04)
    read, slope = through_slit(nm, light, 10.0)
    step = 1e-6 * light
    by_step = [(through_slit(nm, light + one, 10.0)[0] - read) / step[k] for k, one in enumerate(np.diag(step))]
    assert np.abs(np.array(by_step).T - slope).max() < 1e-4 * np.abs(slope).max()
