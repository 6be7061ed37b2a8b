"""Periodic series: what a cycle of samples is between its rows, smoothed, and how fast it changes.

Question answered: what is a repeating quantity at any time of its cycle, without what is faster than a cutoff, and what
are its rates of change?

A cycle is a sum of harmonics of its period up to the cutoff; so it repeats, is smooth, and its derivatives are exact.
What does not close (the last row against the first) is taken off as an even drift. Samples run along the first axis:
C cycles of F frames, one after the other, without their closing rows. Left out: motions that do not repeat.
"""

from __future__ import annotations

import numpy as np

from viz3d.arrays import Array


def harmonics_below(cutoff: float, period: float) -> int:
    """How many harmonics of a cycle lie at or under a cutoff, Hz; one at least.

    Examples
    --------
    >>> harmonics_below(6.0, 1.04)
    6
    """
    return max(1, int(np.floor(cutoff * period + 1e-9)))


def waves(share: Array, harmonics: int) -> Array:
    """Values (M, 1 + 2 harmonics) of 1, cosines and sines at shares (M,) of the cycle."""
    turn = 2.0 * np.pi * np.outer(share, np.arange(1, harmonics + 1))
    return np.concatenate([np.ones((len(share), 1)), np.cos(turn), np.sin(turn)], axis=1)


def fitted(share: Array, values: Array, harmonics: int) -> Array:
    """Coefficients (1 + 2 harmonics, ...) of the periodic series nearest to values (M, ...) at shares (M,).

    Examples
    --------
    >>> at = np.arange(20) / 20
    >>> fitted(at, 3.0 + np.sin(2 * np.pi * at), 2).round(9) + 0.0
    array([3., 0., 0., 1., 0.])
    """
    found, *_ = np.linalg.lstsq(waves(share, harmonics), values.reshape(len(values), -1), rcond=None)
    return np.asarray(found.reshape(-1, *values.shape[1:]))


def rate(values: Array, frames: int, period: Array | float) -> Array:
    """Rate of change (C frames, ...) a second of C cycles of ``frames`` samples; ``period`` (C,) or a number, s.

    Notes
    -----
    Each harmonic's derivative; exact where the samples hold no harmonic at half their rate or beyond.

    Examples
    --------
    >>> at = np.arange(20) / 20
    >>> rate(np.sin(2 * np.pi * at), 20, 2.0)[0].round(12)
    np.float64(3.14159265359)
    """
    cycles = values.reshape(-1, frames, *values.shape[1:])
    found = np.fft.rfft(cycles, axis=1)
    order = np.arange(found.shape[1], dtype=float)
    if frames % 2 == 0:
        order[-1] = 0.0
    along = (1, -1, *([1] * (values.ndim - 1)))
    turn = 2.0 * np.pi / np.broadcast_to(np.asarray(period, dtype=float), (len(cycles),))
    found *= 1j * order.reshape(along) * turn.reshape(-1, *([1] * values.ndim))
    return np.asarray(np.fft.irfft(found, n=frames, axis=1).reshape(values.shape))


def resampled(values: Array, frames: int) -> Array:
    """One cycle of samples (M, ...) at another number of frames, (frames, ...).

    Exact where the samples hold no harmonic at half of either rate or beyond.

    Examples
    --------
    >>> resampled(np.sin(2 * np.pi * np.arange(20) / 20), 4).round(9) + 0.0
    array([ 0.,  1.,  0., -1.])
    """
    found = np.fft.rfft(values, axis=0)[: frames // 2 + 1]
    if frames % 2 == 0 and len(found) == frames // 2 + 1:
        found[-1] = 0.0
    return np.asarray(np.fft.irfft(found, n=frames, axis=0) * (frames / len(values)))
