"""Distributions, intervals, sensitivity and money by other libraries. Run: python estimates.py (writes estimates.json)."""

import platform

import numpy as np
import numpy_financial as npf
from importlib.metadata import version
import scipy
from matter import save
from SALib.analyze import sobol as salib_sobol
from scipy import integrate, stats
from scipy.stats import qmc

POINTS = [0.001, 0.05, 0.3, 0.5, 0.8, 0.95, 0.999]
Z = stats.norm.ppf(0.95)


def cut(mean, sigma, low, high):
    return stats.truncnorm((low - mean) / sigma, (high - mean) / sigma, loc=mean, scale=sigma)


def frozen(shape, central, low, high):
    """The shape as its documentation says, in scipy.stats; the text is the call."""
    width, place = high - low, (central - low) / (high - low) if high > low else 0.0
    if shape == "uniform":
        return stats.uniform(low, width), "uniform(low, high - low)"
    if shape == "triangular":
        return stats.triang(place, low, width), "triang((c - low)/(high - low), low, high - low)"
    if shape == "lognormal":
        sigma = np.log(high / low) / (2 * Z)
        return stats.lognorm(sigma, scale=central), "lognorm(ln(high/low)/(2 z95), scale=c)"
    if shape == "normal":
        sigma = width / (2 * Z)
        if low < 0:
            return stats.norm(central, sigma), "norm(c, (high - low)/(2 z95))"
        return cut(central, sigma, 0.0, 2 * central), "truncnorm on 0 to 2 c"
    if shape == "beta":
        return stats.beta(6 * place, 6 * (1 - place), low, width), "beta(6 p, 6 (1 - p), low, high - low)"
    if shape == "pert":
        return stats.beta(1 + 4 * place, 1 + 4 * (1 - place), low, width), "beta(1 + 4 p, 1 + 4 (1 - p), low, high - low)"
    if shape == "dirichlet":
        n = max(central * (1 - central) / (width / (2 * Z)) ** 2 - 1, 1.0)
        return stats.beta(n * central, n * (1 - central)), "beta(n m, n (1 - m)), variance that of the range"
    raise ValueError(shape)


def distributions():
    rows = [
        ("uniform", 0.7, 0.5, 1.0), ("triangular", 3.0, 0.0, 10.0), ("triangular", 5.0, 3.0, 5.0), ("lognormal", 4.0, 2.0, 8.0),
        ("lognormal", 0.001, 0.0003, 0.003), ("normal", 4.68, 3.0, 6.0), ("normal", 0.649, 0.05, 1.2), ("normal", 1.0, -4.0, 5.0),
        ("beta", 0.25, 0.1, 0.4), ("beta", 0.12, 0.1, 0.4), ("pert", 60.0, 40.0, 90.0), ("dirichlet", 0.55, 0.3, 0.85),
        ("dirichlet", 0.04, 0.01, 0.15),
    ]
    out = []
    for shape, central, low, high in rows:
        d, call = frozen(shape, central, low, high)
        out.append({
            "shape": shape, "central": central, "low": low, "high": high, "call": "scipy.stats." + call + ".ppf/.mean/.var",
            "points": POINTS, "quantiles": list(d.ppf(POINTS)), "mean": float(d.mean()), "variance": float(d.var()),
        })
    # the logarithm is triangular: no shape of scipy.stats, so its quantiles are exponentials and its moments quadratures
    for central, low, high in [(0.3, 0.12, 0.6), (1.0, 1.0, 50.0)]:
        a, b, c = np.log([low, high, central])
        d = stats.triang((c - a) / (b - a), a, b - a)
        moment = lambda k: integrate.quad(lambda x: np.exp(k * x) * d.pdf(x), a, b, points=[c], epsabs=0, epsrel=1e-12)[0]
        out.append({
            "shape": "log_triangular", "central": central, "low": low, "high": high,
            "call": "exp(scipy.stats.triang on logarithms.ppf), moments by scipy.integrate.quad(epsrel=1e-12)",
            "points": POINTS, "quantiles": list(np.exp(d.ppf(POINTS))), "mean": moment(1), "variance": moment(2) - moment(1) ** 2,
        })
    return out


def cut_normals():
    rows = [(1.0, 0.5, 0.0, 1.5), (-1.0, 0.5, -1.5, 0.0), (0.0, 1.0, 10.0, np.inf)]
    call = "scipy.stats.truncnorm((low - m)/s, (high - m)/s, m, s).ppf"
    return [
        {"mean": m, "sigma": s, "low": a, "high": b if np.isfinite(b) else None, "call": call, "points": [0.05, 0.5, 0.95],
         "quantiles": list(cut(m, s, a, b).ppf([0.05, 0.5, 0.95]))}
        for m, s, a, b in rows
    ]


def intervals():
    def ci(count, draws, method):
        found = stats.binomtest(count, draws).proportion_ci(0.95, method)
        return [found.low, found.high]

    counts = [(81, 263), (15, 148), (0, 20), (1, 29), (20, 20), (5, 10), (0, 10)]

    def ranks(n, p):
        below = stats.binom(n, p)
        low = [l for l in range(1, n + 1) if below.cdf(l - 1) <= 0.025]
        high = [u for u in range(1, n + 1) if below.sf(u - 1) <= 0.025]
        return [max(low) if low else None, min(high) if high else None]

    return {
        "wilson": {"call": "scipy.stats.binomtest(count, draws).proportion_ci(0.95, 'wilson')",
                   "rows": [[c, n, *ci(c, n, "wilson")] for c, n in counts]},
        "clopper_pearson": {"call": "scipy.stats.binomtest(count, draws).proportion_ci(0.95, 'exact')",
                            "rows": [[c, n, *ci(c, n, "exact")] for c, n in counts]},
        "order_ranks": {"call": "largest l with scipy.stats.binom(n, p).cdf(l - 1) <= 0.025, least u with .sf(u - 1) <= 0.025",
                        "rows": [[n, p, *ranks(n, p)] for n, p in
                                 [(10, 0.5), (20, 0.5), (25, 0.5), (71, 0.05), (72, 0.05), (71, 0.95), (500, 0.95)]]},
    }


def ishigami(x):
    x = (x - 0.5) * 2 * np.pi
    return np.sin(x[0]) + 7 * np.sin(x[1]) ** 2 + 0.1 * x[2] ** 4 * np.sin(x[0])


def sobol_g(x):
    a = np.array([0, 0.5, 3, 9, 99, 99, 99, 99])[:, None]
    return np.prod((np.abs(4 * x - 2) + a) / (1 + a), axis=0)


def indices():
    """First 256 points of Sobol's sequence, origin included: first columns A, next B."""
    out = []
    for name, f, d in [("ishigami", ishigami, 3), ("g", sobol_g, 8)]:
        points = qmc.Sobol(2 * d, scramble=False).random(256)
        a, b = points[:, :d], points[:, d:]
        mixed = []
        for i in range(d):
            m = a.copy()
            m[:, i] = b[:, i]
            mixed.append(f(m.T))
        fa, fb, mixed = f(a.T), f(b.T), np.array(mixed)
        centre = np.mean([fa, fb])
        given = dict(f_A=fa[None], f_B=fb[None], f_AB=mixed[:, None])
        raw = stats.sobol_indices(func=given, n=256)
        # SALib takes the mean off every outcome before it estimates; given zero mean of A and B it sees what our centred form sees
        order = np.concatenate([[fa[j], *mixed[:, j], fb[j]] for j in range(256)])
        problem = {"num_vars": d, "names": [str(i) for i in range(d)], "bounds": [[0, 1]] * d}
        theirs = salib_sobol.analyze(problem, order, calc_second_order=False, num_resamples=2, seed=1)
        out.append({
            "function": name, "rows": 256, "inputs": d,
            "scipy": {"call": "scipy.stats.sobol_indices(func={f_A, f_B, f_AB}, n=256)",
                      "variance": float(np.var(np.concatenate([fa, fb]))),
                      "first": list(np.ravel(raw.first_order)), "total": list(np.ravel(raw.total_order))},
            "salib": {"call": "SALib.analyze.sobol.analyze(problem, Y, calc_second_order=False)",
                      "first": list(theirs["S1"]), "total": list(theirs["ST"]),
                      "mean_of_a_and_b": float(centre), "mean_of_all": float(order.mean())},
        })
    return out


def money():
    flows = [-100000.0, 35000, 35000, 35000, 35000, 55000]
    years = range(1, 8)
    return {
        "annuity": {"call": "-numpy_financial.pmt(i, n, P)",
                    "rows": [[p, i, n, -npf.pmt(i, n, p)] for p, i, n in
                             [(1, 0.08, 5), (500, 0.0425, 5), (60000, 0.07, 7), (60000, 0.07 / 12, 84), (1000, 0.0, 10)]]},
        "present": {"call": "-numpy_financial.pv(i, n, 1)", "rows": [[i, n, -npf.pv(i, n, 1)] for i, n in [(0.08, 5), (0.03, 40)]]},
        "future": {"call": "-numpy_financial.fv(i, n, 1, 0)", "rows": [[i, n, -npf.fv(i, n, 1, 0)] for i, n in [(0.08, 10), (0.03, 40)]]},
        "loan": {"call": "-numpy_financial.ipmt/ppmt(0.07, year, 7, 60000)",
                 "rows": [[y, float(-npf.ipmt(0.07, y, 7, 60000)), float(-npf.ppmt(0.07, y, 7, 60000))] for y in years]},
        "value": {"call": "numpy_financial.npv(i, flows)", "flows": flows, "rows": [[i, npf.npv(i, flows)] for i in [0.0, 0.08, 0.5]]},
        "rate": {"call": "numpy_financial.irr(flows)", "flows": flows, "rate": float(npf.irr(flows))},
    }


if __name__ == "__main__":
    save("estimates.json", {
        "script": "tests/reference/estimates.py",
        "libraries": {"python": platform.python_version(), "numpy": np.__version__, "scipy": scipy.__version__,
                      "SALib": version("SALib"), "numpy_financial": version("numpy-financial")},
        "distributions": distributions(), "cut_normals": cut_normals(), "intervals": intervals(), "indices": indices(),
        "money": money(),
    })
