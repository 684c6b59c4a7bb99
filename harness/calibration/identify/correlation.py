"""How many readings one independent reading is worth: residuals of a fit hang together.

A model that is a little wrong, or a probe that steps, leaves residuals that keep their sign for a while. The
scatter of an average over them is larger than that of as many independent ones by the *integrated
autocorrelation time*

    tau = 1 + 2 (rho_1 + rho_2 + ...)

in rows, rho_k the autocorrelation at k rows. The sum is cut at the first window W of at least 5 tau rows
(Sokal 1997, Monte Carlo methods in statistical mechanics, section 3; the window from memory).
"""

from __future__ import annotations

import numpy as np

from harness.calibration.record import Array

_WINDOW = 5.0


def correlation_rows(residuals: Array) -> float:
    """tau of residuals in rows, 1 or more; the number of rows at most.

    Residuals that never settle within their own length count as one independent reading.
    """
    n = len(residuals)
    centred = residuals - residuals.mean()
    padded = 1 << (2 * n - 1).bit_length()
    spectrum = np.fft.rfft(centred, padded)
    covariance = np.fft.irfft(spectrum * spectrum.conj(), padded)[:n]
    if not covariance[0] > 0.0:
        return 1.0
    tau = 1.0 + 2.0 * np.cumsum(covariance[1:] / covariance[0])
    enough = np.flatnonzero(np.arange(1, n) >= _WINDOW * tau)
    return float(np.clip(tau[enough[0]] if len(enough) else n, 1.0, n))
