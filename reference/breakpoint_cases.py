#!/usr/bin/env python3
"""Makes breakpoint_cases.json: the chloramine mechanism written down and integrated a second time, by SciPy.

    python breakpoint_cases.py > breakpoint_cases.json      (needs scipy)

The rate constants are those of Jafvert & Valentine 1992 (Environ. Sci. Technol. 26:577) and Vikesland, Ozekin & Valentine
2001 (Water Res. 35:1766) as a general drinking-water package lists them; a second program with the same constants checks
the equations' writing and the integration, not the constants. Constant pH; equilibrium constants at zero ionic strength
from the same sources as ours (phreeqc.dat; Morris 1966 for hypochlorous acid). mol, kg, s.
"""
import json
import sys

import numpy as np
from scipy.integrate import solve_ivp

LABELS = ["ammonia", "free_chlorine", "monochloramine", "dichloramine", "trichloramine", "intermediate"]


def log_k(t, a1, a2=0.0, a3=0.0, a4=0.0, a5=0.0, a6=0.0):
    return a1 + a2 * t + a3 / t + a4 * np.log10(t) + a5 / t**2 + a6 * t**2


def setting(t_c, ph, alkalinity):
    t = t_c + 273.15
    h = 10.0**-ph
    oh = 10.0**log_k(t, 293.29227, 0.1360833, -10576.913, -123.73158, 0.0, -6.996455e-5) / h
    k2 = log_k(t, 107.8871, 0.03252849, -5151.79, -38.92561, 563713.9)
    k12 = log_k(t, 464.1965, 0.09344813, -26986.16, -165.75951, 2248628.9)
    k1, k2 = 10.0**(k2 - k12), 10.0**-k2
    hco3 = max(alkalinity - oh + h, 0.0) / (1 + 2 * k2 / h)
    co3, co2 = hco3 * k2 / h, hco3 * h / k1
    acid = 1 / (1 + 10.0**-(3000.0 / t - 10.0686 + 0.0253 * t) / h)
    base = 1 - 1 / (1 + 10.0**log_k(t, 0.6322, -0.001225, -2835.76) / h)
    e = lambda a, b: a * np.exp(-b / t)
    k = [e(6.6e8, 1510), e(1.38e8, 8800), e(3.0e5, 2010), 6.5e-7,
         e(1.05e7, 2169) * h + e(4.2e31, 22144) * hco3 + e(8.19e6, 4026) * co2, 6.0e4 * h, 1.1e2 * oh, 2.8e4, 8.3e3,
         1.5e-2, 3.28e9 * oh + 6.0e6 * co3, 9e4, 5.56e10 * oh, 1.39e9 * oh, 2.31e2]
    return k, acid, base


def rates(t, y, k, acid, base):
    n, cl, mono, di, tri, i = y
    hocl, ocl, nh3 = acid * cl, (1 - acid) * cl, base * n
    v1, v2 = k[0] * hocl * nh3, k[1] * mono
    v3, v4 = k[2] * hocl * mono, k[3] * di
    v5, v6 = k[4] * mono * mono, k[5] * di * nh3
    v7, v8, v9 = k[6] * di, k[7] * i * di, k[8] * i * mono
    v10 = k[9] * mono * di
    v11 = (k[10] + k[11] * ocl) * hocl * di
    v12, v13, v14 = k[12] * di * tri, k[13] * mono * tri, k[14] * di * ocl
    return [-v1 + v2 + v5 - v6,
            -v1 + v2 - v3 + v4 + v8 - v11 + 2 * v12 + v13 - 2 * v14,
            v1 - v2 - v3 + v4 - 2 * v5 + 2 * v6 - v9 - v10 - v13,
            v3 - v4 + v5 - v6 - v7 - v8 - v10 - v11 - v12 - v14,
            v11 - v12 - v13,
            v7 - v8 - v9]


def cases():
    """t_c, pH, mg/L of nitrogen, mg Cl2 per mg N, minutes."""
    for ratio in (2, 4, 5, 6, 7, 7.6, 8, 9, 10, 12, 15):
        for t_c, ph in ((25, 7.0), (25, 7.5), (25, 8.0), (10, 7.5), (38, 7.5)):
            for minutes in (10, 60):
                yield t_c, ph, 1.0, ratio, minutes


def main():
    out = []
    for t_c, ph, n_mg, ratio, minutes in cases():
        alkalinity = 80 / 50043.5
        n, cl = n_mg / 14007, n_mg * ratio / 70906
        args = setting(t_c, ph, alkalinity)
        s = solve_ivp(rates, (0, 60 * minutes), [n, cl, 0, 0, 0, 0], "Radau", args=args, rtol=1e-11, atol=1e-18)
        if not s.success:
            sys.exit(s.message)
        out.append({"t_c": t_c, "pH": ph, "alkalinity_eq_per_kg": alkalinity, "minutes": minutes, "start":
                    {"ammonia": n, "free_chlorine": cl}, "end": dict(zip(LABELS, map(float, s.y[:, -1])))})
    print(json.dumps({"made_by": "breakpoint_cases.py", "cases": out}, indent=1))


if __name__ == "__main__":
    main()
