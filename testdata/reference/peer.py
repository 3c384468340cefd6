#!/usr/bin/env python3
"""The yardstick of `make bench`: what a practitioner with numpy, scipy and
pandas would write to get the numbers of `halfstick measure` and the demand of
`halfstick propose` out of a recording. Everything is vectorised; nothing is
slowed down on purpose. It takes short cuts where vectors have no answer: no
likelihood of a rounded Gaussian, no worn band with its interval, no phases
found in unlabelled data, no intervals but those that cost nothing.

    python3 peer.py RECORDING > numbers.json

Seconds of its parts go to standard error, as JSON.
"""
import json
import sys
import time

import numpy as np
import pandas as pd
from scipy import ndimage, signal, stats


def clock(laps, name, since):
    now = time.perf_counter()
    laps[name] = round(now - since, 3)
    return now


def runs(labels):
    """(label, from, to) of each run of equal labels."""
    edge = np.flatnonzero(labels[1:] != labels[:-1]) + 1
    starts, ends = np.r_[0, edge], np.r_[edge, len(labels)]
    return [(labels[a], a, b) for a, b in zip(starts, ends)]


def step_of(counts, spec):
    """The sensor's step: the greatest common divisor of the codes' differences."""
    values = np.unique(counts)
    if len(values) < 2:
        return None, len(values)
    per = 65535 / (spec["raw_max"] - spec["raw_min"]) if "raw_max" in spec else 1.0
    codes = np.rint((values.astype(np.float64) + 32768) / per).astype(np.int64)
    return float(np.gcd.reduce(np.diff(codes)) * per), len(values)


def report_period(t, columns):
    """Report interval of a device: the comb of its changes' spectrum, refined."""
    changed = np.zeros(len(t) - 1, dtype=bool)
    for x in columns:
        changed |= x[1:] != x[:-1]
    at = t[1:][changed]
    if len(at) < 200:
        return None
    row = np.median(np.diff(t[:10000]))
    f, power = signal.welch(changed.astype(np.float32), fs=1 / row, nperseg=8192)
    strong = np.flatnonzero((power > 0.3 * power[20:].max()) & (np.arange(len(f)) >= 20))
    period = 1 / f[strong[0]]
    for _ in range(3):  # regress the changes on whole numbers of periods
        k = np.rint((at - at[0]) / period)
        near = np.abs((at - at[0]) / period - k) < 0.3
        if near.sum() < 100:
            break
        period = np.polyfit(k[near], at[near], 1)[0]
    return float(period)


def thinned(t, x, period, row):
    """One row a report."""
    if period is None or period < 1.3 * row:
        return t, x
    number = np.floor(t / period).astype(np.int64)
    first = np.flatnonzero(np.r_[True, number[1:] != number[:-1]])
    return t[first], x[first]


def hampel(x, half=7, gate=6.0, floor=1.0):
    """Spikes against the running median, and the values without them."""
    middle = ndimage.median_filter(x, size=2 * half + 1, mode="nearest")
    off = np.abs(x - middle)
    scale = 1.4826 * ndimage.median_filter(off, size=2 * half + 1, mode="nearest")
    spike = off > np.maximum(gate * scale, floor)
    return spike, np.where(spike, middle, x)


def allan(x, dt):
    """Overlapping Allan deviation by octaves."""
    total = np.cumsum(np.r_[0.0, x])
    out, m = [], 1
    while 4 * m < len(x):
        mean = (total[m:] - total[:-m]) / m
        d = mean[m:] - mean[:-m]
        out.append((m * dt, float(np.sqrt(0.5 * np.mean(d * d)))))
        m *= 2
    return out


def rest_of(parts, step):
    out = {}
    t = np.concatenate([p[0] for p in parts])
    x = np.concatenate([p[1] for p in parts])
    spike, clean = hampel(x, floor=4 * step)
    minutes = sum(p[0][-1] - p[0][0] for p in parts) / 60
    fit = stats.linregress(t, clean)
    residual = clean - fit.intercept - fit.slope * t
    dt = float(np.median(np.diff(t)))
    f, power = signal.welch(residual, fs=1 / dt, nperseg=min(1024, len(residual)))
    correlation = np.corrcoef(residual[1:], residual[:-1])[0, 1]
    n = len(x) * (1 - correlation) / (1 + correlation)
    sigma = stats.median_abs_deviation(residual, scale="normal") if step < 2 else residual.std()
    sigma = float(np.sqrt(max(0.0, sigma**2 - step**2 / 12)))
    out["sigma"] = [sigma, *(sigma * np.sqrt((n - 1) / stats.chi2.ppf([0.975, 0.025], n - 1)))]
    out["sigma_ordinary"] = float(x.std())
    out["peak_to_peak"] = float(np.ptp(x))
    out["drift_per_minute"] = 60 * float(fit.slope)
    out["spikes_per_minute"] = float(np.sum(spike[1:] & ~spike[:-1]) / minutes)
    out["correlation"] = float(correlation)
    out["allan"] = allan(clean, dt)
    out["strongest_line_hz"] = float(f[1 + np.argmax(power[1:])])
    out["mean"] = float(clean.mean())
    return out


def returns_of(parts):
    """Where releases end: mean and spread of their last half seconds."""
    ends = np.array([x[t > t[-1] - 0.5].mean() for t, x in parts])
    half = stats.t.ppf(0.975, len(ends) - 1) * ends.std(ddof=1) / np.sqrt(len(ends)) if len(ends) > 1 else None
    return {"mean": float(ends.mean()), "half": half, "spread": float(ends.std(ddof=1)) if len(ends) > 1 else None}


def sweep_of(parts, rest, step):
    """Stops, noise along the throw, hysteresis, the loudest band."""
    x = np.concatenate([p[1] for p in parts])
    low, high = np.quantile(x, [0.002, 0.998])
    level_low = x[x < low + 0.01 * (high - low)].mean()
    level_high = x[x > high - 0.01 * (high - low)].mean()
    centre = rest.get("mean", (low + high) / 2)
    positions, residuals, ways = [], [], []
    for t, x in parts:
        dt = np.median(np.diff(t))
        w = max(7, int(0.12 / dt) | 1)
        if len(x) < 3 * w:
            continue
        fit = signal.savgol_filter(x, w, 2)
        speed = np.gradient(fit)
        moving = np.abs(speed) > 0.15 * np.quantile(np.abs(speed), 0.7)
        inside = (fit > low + 0.04 * (high - low)) & (fit < high - 0.04 * (high - low))
        keep = moving & inside
        positions.append(np.where(fit > centre, (fit - centre) / (high - centre), (fit - centre) / (centre - low))[keep])
        residuals.append(((x - fit) / np.sqrt(1 - 9 / (4 * w)))[keep])
        zone = np.where(x < low + 0.02 * (high - low), -1, np.where(x > high - 0.02 * (high - low), 1, 0))
        seen = np.flatnonzero(zone)
        turn = seen[:-1][zone[seen[1:]] != zone[seen[:-1]]], seen[1:][zone[seen[1:]] != zone[seen[:-1]]]
        for a, b in zip(*turn):
            share = np.interp(np.linspace(0.025, 0.975, 20), np.linspace(0, 1, b - a + 1), x[a : b + 1])
            ways.append((zone[b] > 0, share))
    out = {"low": float(level_low), "high": float(level_high), "centre": float(centre), "ways": len(ways)}
    if positions:
        u, r = np.concatenate(positions), np.concatenate(residuals)
        band = np.clip(((u + 1) * 10).astype(int), 0, 19)
        n = np.bincount(band, minlength=20)
        noise = np.sqrt(np.maximum(0, np.bincount(band, r * r, 20) / np.maximum(n, 1) - step**2 / 12))
        out["bands"] = noise.tolist()
        quiet = np.median(noise[n > 25]) if (n > 25).any() else 0
        out["worn_ratio"] = float(noise[n > 25].max() / quiet) if quiet > 0 else None
    up = [s for rising, s in ways if rising]
    down = [s[::-1] for rising, s in ways if not rising]
    if len(up) > 1 and len(down) > 1:
        out["hysteresis"] = float(np.abs(np.mean(up, 0) - np.mean(down, 0)).max())
    return out


def longest_stall(t, x, step):
    """The longest time without a change that ends with a jump."""
    at = np.flatnonzero(x[1:] != x[:-1]) + 1
    if len(at) < 3:
        return 0.0
    wait = np.diff(t[at])
    jump = np.abs(np.diff(x[at].astype(np.int32)))
    before = np.r_[0, jump[:-1]] / np.r_[1, wait[:-1]]
    held = (jump > 4 * step) & (jump > 0.4 * before * wait) & (before > 0)
    return float(1000 * wait[held].max()) if held.any() else 0.0


def demand_of(t, x, sweep):
    """The density of |y| in flight, long holds and idle times left out."""
    c, low, high = sweep["centre"], sweep["low"], sweep["high"]
    u = np.where(x > c, (x - c) / (high - c), (x - c) / max(1.0, c - low)).astype(np.float32)
    lasts = np.minimum(0.1, np.diff(t, append=t[-1]))
    second = max(1, int(1 / np.median(np.diff(t[:10000]))))
    whole = len(u) // second * second
    blocks = u[:whole].reshape(-1, second)
    held = (np.abs(blocks).min(1) > 0.5) & (np.ptp(blocks, 1) < 0.15)
    idle = np.abs(blocks).max(1) < 0.02
    out = np.repeat(ndimage.binary_opening(held, np.ones(5)) | ndimage.binary_opening(idle, np.ones(2)), second)
    keep = np.r_[~out, np.ones(len(u) - whole, dtype=bool)]
    weight, _ = np.histogram(np.abs(u[keep]), bins=1000, range=(0, 1), weights=lasts[keep])
    seconds = weight.sum()
    if seconds == 0:
        return {"minutes": 0.0}
    smooth = ndimage.gaussian_filter1d(weight / seconds * 1000, 15, mode="mirror")
    y = (np.arange(1000) + 0.5) / 1000
    return {"minutes": seconds / 60, "sigma_y": float(np.sqrt(np.trapezoid(y * y * smooth, y) if hasattr(np, "trapezoid") else np.trapz(y * y * smooth, y)))}


def main(path):
    laps, since = {}, time.perf_counter()
    begin = since
    with open(path) as f:
        f.readline()
        header = json.loads(f.readline()[2:])
    names = [d["id"] + "." + a["label"] for d in header["devices"] for a in d["axes"]]
    frame = pd.read_csv(path, comment="#", dtype={"t_us": np.int64, "phase": "category"})
    since = clock(laps, "read_s", since)

    t = frame["t_us"].to_numpy() * 1e-6
    row = float(np.median(np.diff(t[:: max(1, len(t) // 5000)])) / max(1, len(t) // 5000))
    phases = frame["phase"].cat
    stretches = [(str(phases.categories[c]) if c >= 0 else "", a, b) for c, a, b in runs(phases.codes.to_numpy())]
    columns = {}
    lost = {}
    for name in names:
        x = frame[name]
        lost[name] = int(x.isna().sum())
        columns[name] = (x.ffill().fillna(0) if lost[name] else x).to_numpy().astype(np.int16)
    del frame

    result = []
    for device in header["devices"]:
        mine = [device["id"] + "." + a["label"] for a in device["axes"]]
        period = report_period(t, [columns[n] for n in mine])
        for axis, name in zip(device["axes"], mine):
            x = columns[name]
            step, distinct = step_of(x, axis)
            step = step or 1.0

            def of(kind):
                return [
                    thinned(t[a:b], x[a:b].astype(np.float64), period, row)
                    for label, a, b in stretches
                    if label == kind or label == kind + ":" + axis["label"]
                ]

            out = {"axis": name, "step": step, "distinct": distinct, "lost": lost[name],
                   "report_hz": 1 / period if period else None,
                   "longest_stall_ms": max((longest_stall(t[a:b], x[a:b], step) for label, a, b in stretches if label.startswith("flight")), default=0.0)}
            rests, sweeps = of("rest"), of("sweep")
            out["rest"] = rest_of(rests, step) if rests else {}
            for side in ("release-low", "release-high"):
                parts = of(side)
                if parts:
                    out[side] = returns_of(parts)
            if sweeps:
                out["sweep"] = sweep_of(sweeps, out["rest"], step)
                for label, a, b in stretches:
                    if label == "sweep:" + axis["label"]:
                        own = x[a:b].astype(np.float64)
                        out["coupling"] = {n: float(np.polyfit(own, columns[n][a:b], 1)[0]) for n in mine if n != name}
            result.append((name, out))
    since = clock(laps, "measure_s", since)

    flights = [(a, b) for label, a, b in stretches if label.startswith("flight")]
    for name, out in result:
        if flights and "sweep" in out:
            out["demand"] = demand_of(np.concatenate([t[a:b] for a, b in flights]), np.concatenate([columns[name][a:b] for a, b in flights]), out["sweep"])
    clock(laps, "demand_s", since)
    laps["all_s"] = round(time.perf_counter() - begin, 3)
    json.dump([out for _, out in result], sys.stdout, indent=1)
    print(json.dumps(laps), file=sys.stderr)


if __name__ == "__main__":
    main(sys.argv[1])
