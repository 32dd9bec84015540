#!/usr/bin/env python3
"""Values that tests/analysis/filters.rs is checked against, computed with numpy and scipy.

    python3 tests/analysis/reference/make.py > tests/analysis/reference/filters.json

Made with numpy 2.4.6 and scipy 1.17.1. Nothing here calls the program: each value comes from the library's own
function for the thing, on inputs that are written out as formulas.
"""

import json
import sys

import numpy
import scipy
from scipy import interpolate, optimize, signal

TAU = 2 * numpy.pi


def spline():
    """scipy.interpolate.CubicSpline with natural ends: slopes at the middles of the parts."""
    k = numpy.arange(20)
    places = (15.0 * k + 3.0 * numpy.sin(1.7 * k)) / 1440
    values = 1440 * places + 4 * numpy.sin(2 * TAU * 4 * places)
    curve = interpolate.CubicSpline(places, values, bc_type="natural")
    finest = 5.0
    at = []
    for index in range(19):
        parts = max(1, int(numpy.ceil((values[index + 1] - values[index]) / finest)))
        width = places[index + 1] - places[index]
        at += [places[index] + width * (part + 0.5) / parts for part in range(parts)]
    return {
        "places": places.tolist(),
        "values": values.tolist(),
        "finest": finest,
        "at": at,
        "slopes": curve(numpy.array(at), 1).tolist(),
    }


def wave(t):
    phase = TAU * t / 0.6
    return 3 * numpy.cos(phase) + 1.5 * numpy.cos(4 * phase + 0.7) - 0.4 * numpy.sin(7 * phase)


def rows(count):
    """Uneven rows over six seconds."""
    i = numpy.arange(count)
    return 6.0 / count * (i + 0.3 * numpy.sin(1.7 * i))


def bin_means(time, values, start, end, bins):
    """Means of the straight lines through the rows: exact integrals, by numpy.interp and cumulative trapezoids."""
    edges = numpy.linspace(start, end, bins + 1)
    knots = numpy.union1d(time[(time > start) & (time < end)], edges)
    heights = numpy.interp(knots, time, values)
    steps = numpy.diff(knots) * (heights[1:] + heights[:-1]) / 2
    area = numpy.concatenate([[0], numpy.cumsum(steps)])
    return numpy.diff(area[numpy.searchsorted(knots, edges)]) / numpy.diff(edges)


def harmonics(row, most):
    """numpy.fft.rfft; phase 0 at the first bin's edge, each bin a mean over its width (numpy.sinc)."""
    bins = len(row)
    h = numpy.arange(1, most + 1)
    parts = 2 / bins * numpy.fft.rfft(row)[1 : most + 1] * numpy.exp(-1j * numpy.pi * h / bins)
    parts = parts / numpy.sinc(h / bins)
    return [[part.real, part.imag] for part in parts]


def one_cycle():
    """One cycle of uneven rows with a trend: scipy.signal.detrend, then rfft."""
    time = rows(1200)
    values = wave(time) + 0.8 * time
    row = bin_means(time, values, 1.2, 1.8, 180)
    return {"rows": 1200, "from": 1.2, "to": 1.8, "harmonics": harmonics(signal.detrend(row), 16)}


def mean_cycle():
    """Eight cycles with a drift that decays. The drift is a cubic spline with a knot per cycle
    (scipy.interpolate.BSpline), found by scipy.linalg.lstsq from what differs between cycles at the same
    phase, with a light pull towards straightness; errors are numpy.var between cycles."""
    time = rows(6000)
    values = wave(time) + 8 * numpy.exp(-time / 1.5) + 0.3 * numpy.sin(2.1 * time) * wave(0.97 * time)
    cuts = 0.6 * numpy.arange(1, 10)
    cycles, bins, stride = len(cuts) - 1, 180, 4
    table = numpy.array([bin_means(time, values, a, b, bins) for a, b in zip(cuts, cuts[1:])])
    knots = cycles + 2
    at = numpy.arange(cycles)[:, None] + (numpy.arange(bins)[None, :] + 0.5) / bins
    base = interpolate.BSpline.basis_element([-2, -1, 0, 1, 2], extrapolate=False)
    basis = numpy.nan_to_num(base(at[..., None] - (numpy.arange(knots) - 1.0)))
    thin, seen = basis[:, ::stride], table[:, ::stride]
    design = (thin - thin.mean(axis=0)).reshape(-1, knots)
    target = (seen - seen.mean(axis=0)).reshape(-1)
    weight = numpy.sum(design**2) / knots * 1e-4
    bend = numpy.diff(numpy.eye(knots), 2, axis=0) * numpy.sqrt(weight)
    small = numpy.eye(knots) * numpy.sqrt(weight * 1e-4)
    stacked = numpy.concatenate([design, bend, small])
    wanted = numpy.concatenate([target, numpy.zeros(len(bend) + knots)])
    weights = scipy.linalg.lstsq(stacked, wanted)[0]
    drift = basis @ weights
    table = table - drift + drift.mean()
    each = numpy.array([harmonics(row, 16) for row in table])
    raw = each.var(axis=0, ddof=1).mean(axis=1) / cycles
    near = [raw[max(h - 1, 0) : h + 2].mean() for h in range(16)]
    return {
        "rows": 6000,
        "cuts": cuts.tolist(),
        "mean": table.mean(),
        "harmonics": each.mean(axis=0).tolist(),
        "errors": numpy.sqrt(0.5 * raw + 0.5 * numpy.array(near)).tolist(),
    }


def coupling():
    """scipy.signal.freqs of a first-order high-pass s/(s + 1)."""
    ratios = [0.1, 0.5, 1.0, 1.6667, 4.0, 30.0]
    _, transfer = signal.freqs([1, 0], [1, 1], worN=ratios)
    return {"ratios": ratios, "transfer": [[part.real, part.imag] for part in transfer]}


def stepped():
    """scipy.signal.lsim of the continuous filters, straight lines between inputs, at the simulator's step."""
    step = 1e-4
    time = step * numpy.arange(12_001)
    dip = numpy.where(time > 0.2, 10.0 + 1.0 * numpy.sin(TAU * 6.667 * time), 12.6)
    found = {"step": step, "low_pass": [], "high_pass": []}
    kept = list(range(2200, 12_001, 700))
    found["at"] = kept
    for hertz in [300.0, 1000.0]:
        corner = TAU * hertz
        _, out, _ = signal.lsim(([corner], [1, corner]), dip - 12.6, time)
        found["low_pass"].append({"hertz": hertz, "out": (out[kept] + 12.6).tolist()})
    for hertz in [0.1, 1.0, 2.0]:
        corner = TAU * hertz
        _, out, _ = signal.lsim(([1, 0], [1, corner]), dip - 12.6, time)
        found["high_pass"].append({"hertz": hertz, "out": out[kept].tolist()})
    return found


def rhythm():
    """Where scipy.signal.periodogram, padded sixteenfold, is greatest: amplitude times frequency, as the
    starter is a low-pass; between 45 and 420 rpm of a four."""
    step, count = 1e-3, 7000
    t = step * numpy.arange(count)
    values = numpy.sin(TAU * 5.83 * t) + 0.4 * numpy.sin(TAU * 5.83 / 4 * t + 1) + 0.2 * numpy.sin(TAU * 11.66 * t)
    hertz, power = signal.periodogram(values, 1 / step, detrend="constant", nfft=16 * count)
    band = (hertz > 1.5) & (hertz < 14)
    best = hertz[band][numpy.argmax(numpy.sqrt(power[band]) * hertz[band])]
    return {"step": step, "rows": count, "hertz": best}


def nozzle():
    """Flow function of air from its differential form, integrated by scipy.integrate.quad rather than written
    down: v²/2 = ∫ dp/ρ along an isentrope, ψ = ρ·v over upstream p/√(RT)."""
    from scipy import integrate

    gamma, found = 1.4, []
    for ratio in [0.999, 0.95, 0.8, 0.7, 0.6, 0.54]:
        half_square = integrate.quad(lambda p: p ** (-1 / gamma), ratio, 1, epsabs=1e-13)[0]
        found.append([ratio, ratio ** (1 / gamma) * (2 * half_square) ** 0.5])
    # choked: the greatest that any pressure in the throat gives
    flow = lambda p: -(p ** (1 / gamma)) * (2 * integrate.quad(lambda q: q ** (-1 / gamma), p, 1)[0]) ** 0.5
    most = optimize.minimize_scalar(flow, bounds=(0.4, 0.7), method="bounded", options={"xatol": 1e-9})
    return {"flow": found, "critical": most.x, "choked": -most.fun}


def enso(path):
    """scipy.optimize.least_squares to the last digit: standard deviations as a check of the certified ones."""
    y = numpy.array([float(line) for line in open(path) if not line.startswith("#")])
    x = numpy.arange(1, 169)

    def model(b):
        found = b[0] + b[1] * numpy.cos(TAU * x / 12) + b[2] * numpy.sin(TAU * x / 12)
        for period, cos, sin in [(3, 4, 5), (6, 7, 8)]:
            found = found + b[cos] * numpy.cos(TAU * x / b[period]) + b[sin] * numpy.sin(TAU * x / b[period])
        return found - y

    start = [10, 3, 0.5, 44, -1.5, 0.5, 26, -0.1, 1.5]
    fit = optimize.least_squares(model, start, xtol=1e-15, ftol=1e-15, gtol=1e-15, x_scale="jac")
    covariance = numpy.linalg.inv(fit.jac.T @ fit.jac) * 2 * fit.cost / (168 - 9)
    return {"parameters": fit.x.tolist(), "deviations": numpy.sqrt(numpy.diag(covariance)).tolist()}


def main():
    found = {
        "made_with": f"numpy {numpy.__version__}, scipy {scipy.__version__}",
        "spline": spline(),
        "one_cycle": one_cycle(),
        "mean_cycle": mean_cycle(),
        "coupling": coupling(),
        "stepped": stepped(),
        "rhythm": rhythm(),
        "nozzle": nozzle(),
    }
    if len(sys.argv) > 1:
        found["enso"] = enso(sys.argv[1])
    json.dump(found, sys.stdout, indent=1)
    print()


if __name__ == "__main__":
    main()
