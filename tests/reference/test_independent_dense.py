"""The comparison written a second time, densely and slowly, from the methods note alone, on small invented pools.

Nothing numeric of the tool is imported; only `compare_runs` is asked for its answer.
"""

from __future__ import annotations

import math
from collections import defaultdict
from typing import Any, NamedTuple, cast

import numpy as np
import polars as pl
import pytest
from numpy.typing import NDArray
from scipy.optimize import minimize, root
from scipy.stats import norm, t

from pipeline.compare.steps import compare_runs
from pipeline.settings import Settings
from schemas.kinds.run import RUN

Floats = NDArray[np.float64]
KINDS = {"text": pl.String, "date": pl.Date, "number": pl.Float64, "whole": pl.Int64, "flag": pl.Boolean}
CURVE = {0.0: 0.0, 10.0: -0.05, 25.0: 0.15, 40.0: 0.55, 60.0: 0.9, 80.0: 1.1}
SETTINGS = Settings()
NAMED = ("member", "series", "club", "component_lot", "component_share", "pot_no", "drain_time_s")
POT = {"setup_type": "rack", "pot_volume_ml": 1000.0, "base": "sphagnum_peat", "component": "perlite"}
POUR = {"pour_no": 1, "collected_ml": 150.0, "ended": "reached", "part_marked": False, "unlike_pour": False}

# Contrasts, s_r and V are plain sums: only rounding parts the two sides (1e-15 seen).
EXACT = 1e-12
# Both sides climb until the slope in every variance is nothing but rounding, the tool to a last Newton step below 1e-9
# of the largest variance (its refits too); means, widths, probabilities move less than the variances do (1e-13 seen).
FITTED = 1e-10


class Contrast(NamedTuple):
    """A mix beside its series' reference: the baseline, or the lowest share (`reference` > 0) where there is none."""

    member: str
    series: str
    club: str
    share: float
    reference: float
    y: float
    pots: tuple[int, int]
    floors: tuple[float, float]


class Growers(NamedTuple):
    """Who counts as one (`unit` of each member), how clubs enter the model, and whom the guards leave out in turn."""

    unit: dict[str, str]
    clubs: str
    left_out: tuple[frozenset[str], ...]

    def count(self, rows: list[Contrast]) -> int:
        """Units with a contrast to their own baseline."""
        return len({self.unit[row.member] for row in rows if not row.reference})


class Fit(NamedTuple):
    """Per share: mean ln ratio, half its 95 % interval (CR2, never below the model's), units with a baseline there,
    standard deviation of a new series. Then all variances, the typical sampling variance, and how far each fixed club
    lies from their middle (0 alone where clubs are not fixed)."""

    shares: list[float]
    mean: Floats
    half: Floats
    units: list[int]
    deviation: Floats
    variances: dict[str, float]
    typical: float
    clubs: tuple[float, ...] = (0.0,)

    def between(self, share: float) -> float:
        """Variance between growers at a share (percent), clubs drawn at random included."""
        v = self.variances
        return v["member"] + (share / 100) ** 2 * v["slope"] + v["club"]

    def above(self, share: float, ratio: float, pot_variance: float = 0.0) -> float:
        """Probability that a new series (or one pot beside one) drains more than `ratio` times as fast; fixed clubs count
        equally, each by its own mean (section 15)."""
        j = self.shares.index(share)
        width = math.sqrt(self.deviation[j] ** 2 + 2 * pot_variance)
        above = [self.mean[j] + club - math.log(ratio) for club in self.clubs]
        return float(np.mean(t.cdf(np.array(above) / width, self.units[j] - 1)))


def invented_runs(seed: int, clubs: list[str], pots: int, bag: tuple[int, ...] = ()) -> list[dict[str, Any]]:
    """A pool: every third member with two series, unequal pots, a share few measured, and two series without a
    baseline (one of a member who has no other). `bag`: members who share one."""
    runs: list[dict[str, Any]] = []
    for i, s in [(j, k) for j in range(len(clubs)) for k in range(2 if j % 3 == 0 else 1)]:
        level, slope = np.random.default_rng([seed, i]).normal(0, (0.15, 0.3))
        rng = np.random.default_rng([seed, i, s + 1])
        own, shift = rng.normal(0, (0.4, 0.1))
        who = (f"bog-{i}", f"row {s}", clubs[i] or None, "bag-1" if i in bag else None)
        shares = list(CURVE)[: 4 if i == 1 else 6 if i in (0, 3, 4, 5) else 5]
        for k, share in enumerate(shares[1:] if i == len(clubs) - 1 or (i, s) == (0, 1) else shares):
            effect = CURVE[share] + (share > 0) * (level + shift) + slope * share / 100
            mix = own + effect + rng.normal(0, 0.08)
            for pot in range(1 + (i + k) % pots):
                seconds = round(150 * math.exp(-mix - rng.normal(0, 0.07)), 1)
                runs.append(dict(zip(NAMED, (*who, share, pot + 1, seconds), strict=True)))
    return runs


def run_frame(runs: list[dict[str, Any]]) -> pl.DataFrame:
    """The runs as the canonical frame that the tool reads."""
    rows = [{**POT, **POUR, **run, "member_key": run["member"], "series_key": run["series"]} for run in runs]
    frame = pl.DataFrame(rows, schema={column.name: KINDS[column.frame] for column in RUN.kept})
    return frame.with_columns((150 / pl.col("drain_time_s") * 60).alias("rate_ml_min_l"))


def repeatability(runs: list[dict[str, Any]]) -> tuple[float, bool]:
    """(s_r, whether it was measured): pooled over replicated cells, else the setting (section 1)."""
    cells: dict[tuple[str, str, float], list[float]] = defaultdict(list)
    for run in runs:
        cells[run["member"], run["series"], run["component_share"]].append(math.log(run["drain_time_s"]))
    given = [sum(len(cells[key]) - 1 for key in cells if key[0] == one) for one in {key[0] for key in cells}]
    if sum(given) < 10 or np.count_nonzero(given) < 3 or max(given) > sum(given) / 2:
        return SETTINGS.repeatability_sd, False
    return math.sqrt(sum(float(np.var(one) * len(one)) for one in cells.values()) / sum(given)), True


def contrasts_of(runs: list[dict[str, Any]]) -> list[Contrast]:
    """Every mix beside its series' baseline, or beside its lowest share; floors by the step of the clock."""
    made = []
    series: dict[tuple[str, str, str], dict[float, list[float]]] = defaultdict(lambda: defaultdict(list))
    for run in runs:
        label = (run["member"], f"{run['member']}/{run['series']}", run["club"] or "")
        series[label][run["component_share"]].append(run["drain_time_s"])
    for label, by_share in series.items():
        lowest, *others = sorted(by_share)
        for share in others:
            here, there = np.array(by_share[share]), np.array(by_share[lowest])
            y, pots = float(np.mean(np.log(there)) - np.mean(np.log(here))), (len(here), len(there))
            floors = [float(np.mean((SETTINGS.stopwatch_step_s / one) ** 2 / 12)) for one in (here, there)]
            made.append(Contrast(*label, share, lowest, y, pots, (floors[0], floors[1])))
    return made


def growers_of(rows: list[Contrast], runs: list[dict[str, Any]]) -> Growers:
    """Section 2, Independence: holders of a shared lot are one; from five clubs on (a blank one is a club of its
    member) clubs are the units, with fewer they are fixed where one has two members or more."""
    club = {row.member: row.club for row in rows}
    group = {run["member"]: run["component_lot"] or run["member"] for run in runs}
    named = {one: club[one] or group[one] for one in club}
    counted = {row.member for row in rows if not row.reference}
    larger = [name for name in set(club.values()) if name and sum(club[m] == name for m in counted) > 1]
    many = len({named[one] for one in counted}) >= 5
    form = "none" if not larger or (many and len(larger) == 1) else "random" if many else "fixed"
    labels = (group, named, {one: one for one in club})
    sets = {frozenset(m for m in club if label[m] == label[one]) for label in labels for one in club}
    return Growers(named if many else group, form, tuple(sorted(sets, key=sorted)))


def same(rows: list[Contrast], name: str) -> Floats:
    """1 where two contrasts agree in that field."""
    return np.array([[float(getattr(a, name) == getattr(b, name)) for a in rows] for b in rows])


def random_parts(rows: list[Contrast], clubs: str, slope: bool) -> dict[str, Floats]:
    """Covariance of all contrasts for a unit of each variance (section 2)."""
    level = np.array([float(not row.reference) for row in rows])
    x = np.array([(row.share - row.reference) / 100 for row in rows])
    both, series = np.outer(level, level), same(rows, "series")
    parts = {"member": both * same(rows, "member"), "series": both * series}
    parts["mix"] = np.eye(len(rows)) + np.outer(1 - level, 1 - level) * series
    if slope:
        parts["slope"] = np.outer(x, x) * same(rows, "member")
    if clubs == "random":
        parts["club"] = both * same([row._replace(club=row.club or row.member) for row in rows], "club")
    return parts


def sampling(rows: list[Contrast], sd: float) -> Floats:
    """V: own pots on the diagonal, the shared reference between all contrasts of a series (section 1)."""
    own, shared = np.array([[(sd**2 + row.floors[k]) / row.pots[k] for row in rows] for k in (0, 1)])
    return np.asarray(np.diag(own) + same(rows, "series") * shared)


def restricted(theta: Floats, y: Floats, X: Floats, V: Floats, parts: list[Floats]) -> tuple[float, Floats]:
    """Minus the restricted log-likelihood, constants aside, and its slope in every variance."""
    M = V + sum(one * part for one, part in zip(theta, parts, strict=True))
    W = np.linalg.inv(M)
    information = X.T @ W @ X
    P = W - W @ X @ np.linalg.solve(information, X.T @ W)
    logs = sum(np.linalg.slogdet(one)[1] for one in (M, information))
    slopes = np.array([np.sum(P * part) - y @ P @ part @ P @ y for part in parts])
    return 0.5 * float(logs + y @ P @ y), 0.5 * slopes


def most_likely(y: Floats, X: Floats, V: Floats, parts: list[Floats]) -> Floats:
    """Variances that maximise the restricted likelihood, 0 allowed: three starts, then the root of its slope."""
    given, count = (y, X, V, parts), len(parts)
    how = {"method": "L-BFGS-B", "jac": True, "bounds": [(0.0, None)] * count, "options": {"ftol": 1e-14}}
    tried = [minimize(restricted, [start] * count, given, **how) for start in (0.01, 0.1, 0.001)]
    theta = np.asarray(min(tried, key=lambda one: float(one.fun)).x)
    theta, moved = np.where(theta < 1e-8, 0.0, theta), np.zeros(1)
    while theta.any() and (moved <= 0).any():
        wide = np.eye(count)[:, theta > 0]
        moved = root(lambda z, w=wide: w.T @ restricted(w @ z, *given)[1], theta @ wide, tol=1e-14).x
        theta = wide @ np.maximum(moved, 0.0)
    final = restricted(theta, *given)[1]
    assert np.all(np.where(theta > 0, np.abs(final * theta) < 1e-8, final > -1e-6))
    return theta


def power(matrix: Floats, exponent: float) -> Floats:
    """A power of a symmetric matrix without negative values, its null space left at 0."""
    values, axes = np.linalg.eigh((matrix + matrix.T) / 2)
    kept = values > 1e-10 * values.max()
    return np.asarray((axes[:, kept] * values[kept] ** exponent) @ axes[:, kept].T)


def cr2(r: Floats, X: Floats, M: Floats, Q: Floats, C: Floats, cluster: list[str]) -> tuple[Floats, Floats]:
    """CR2 errors and Satterthwaite degrees of the combinations C, by the large matrices of the definition."""
    W = np.linalg.inv(M)
    H = np.eye(len(r)) - X @ Q @ X.T @ W
    scores, working = [], []
    for name in sorted(set(cluster)):
        inside = np.array([one == name for one in cluster])
        at = np.ix_(inside, inside)
        D = power(M[at], 0.5)
        pushed = C @ Q @ X[inside].T @ W[at] @ D @ power(D @ (H @ M @ H.T)[at] @ D, -0.5) @ D
        scores.append(pushed @ r[inside])
        working.append(pushed @ H[inside])
    spreads = [G @ M @ G.T for G in np.swapaxes(np.array(working), 0, 1)]
    degrees = np.array([np.trace(one) ** 2 / np.sum(one**2) for one in spreads])
    return np.sqrt(np.sum(np.array(scores) ** 2, axis=0)), degrees


def fit(rows: list[Contrast], sd: float, growers: Growers, slope: bool = True) -> Fit:
    """The headline model of these contrasts (sections 2 to 5, 7); without `slope` its sensitivity. With fixed clubs
    every club but the first has a column of its own, and a share's mean weighs all clubs equally."""
    shares = sorted({row.share for row in rows} | {row.reference for row in rows if row.reference})
    X = np.array([[float(row.share == p) - float(row.reference == p) for p in shares] for row in rows])
    C, names = np.eye(len(shares)), sorted({row.club for row in rows if not row.reference})
    for name in names[1:] if growers.clubs == "fixed" else []:
        X = np.column_stack([X, [float(not row.reference and row.club == name) for row in rows]])
        C = np.column_stack([C, np.full(len(shares), 1 / len(names))])
    y, V = np.array([row.y for row in rows]), sampling(rows, sd)
    parts = random_parts(rows, growers.clubs, slope)
    theta = most_likely(y, X, V, list(parts.values()))
    M = V + sum(one * part for one, part in zip(theta, parts.values(), strict=True))
    Q = np.linalg.inv(X.T @ np.linalg.inv(M) @ X)
    b = Q @ X.T @ np.linalg.inv(M) @ y
    robust, degrees = cr2(y - X @ b, X, M, Q, C, [growers.unit[row.member] for row in rows])
    v, apart = {"slope": 0.0, "club": 0.0}, np.array([0.0, *b[len(shares) :]])
    v |= dict(zip(parts, theta.tolist(), strict=True))
    P = np.linalg.inv(V)
    P = P - P @ X @ np.linalg.inv(X.T @ P @ X) @ X.T @ P
    units = [growers.count([row for row in rows if row.share == p]) for p in shares]
    mean, error = C @ b, np.sqrt(np.diag(C @ Q @ C.T))
    half = np.maximum(norm.ppf(0.975) * error, t.ppf(0.975, degrees) * robust)
    found = Fit(shares, mean, half, units, error, v, float((len(y) - X.shape[1]) / np.trace(P)))
    found = found._replace(clubs=tuple((apart - apart.mean()).tolist()))
    wide = np.array([found.between(p) + v["series"] + v["mix"] for p in shares])
    for j in np.flatnonzero(np.array(units) < growers.count(rows) / 2):
        squares: dict[str, list[float]] = defaultdict(list)
        for row in (row for row in rows if row.share == shares[j] and not row.reference):
            squares[growers.unit[row.member]].append((row.y - mean[j]) ** 2)
        wide[j] = max(wide[j], sum(map(np.mean, squares.values())) / max(len(squares) - 1, 1))
    return found._replace(deviation=np.sqrt(error**2 + wide))


class Case:
    """A pool's contrasts, s_r, the dense fit and refits, and the tool's answer (neither may warn of anything)."""

    def __init__(self, runs: list[dict[str, Any]], settings: Settings) -> None:
        self.settings, self.rows = settings, contrasts_of(runs)
        self.sd, self.measured = repeatability(runs)
        self.growers = growers_of(self.rows, runs)
        self.dense = fit(self.rows, self.sd, self.growers)
        kept = [[row for row in self.rows if row.member not in left] for left in self.growers.left_out]
        self.refits = [fit(rows, self.sd, self.growers) for rows in kept]
        tool = compare_runs(run_frame(runs), settings)
        self.block = cast("dict[str, Any]", tool.components["perlite"])
        self.effects = tool.effects


POOLS = {
    "a shared bag": (invented_runs(11, [""] * 8, 3, (4, 5)), SETTINGS),
    "two clubs": (invented_runs(12, ["ash", "", *["elm", "ash"] * 4], 1), Settings("", 2.0, 0.8, 80.0)),
    "six clubs": (invented_runs(13, ["ash", "elm", "", "fir", "elm", "yew", "ash", ""], 2), SETTINGS),
}
pytestmark = pytest.mark.filterwarnings("error")


@pytest.fixture(scope="module", params=POOLS)
def case(request: pytest.FixtureRequest) -> Case:
    """Both answers of one pool."""
    return Case(*POOLS[request.param])


def test_contrasts_and_repeatability(case: Case) -> None:
    """Every contrast to an own baseline, its variance, and s_r."""
    pots, V = case.block["repeatability"], np.diag(sampling(case.rows, case.sd))
    assert (pots["measured"], pots["sd_pot"]) == (case.measured, pytest.approx(case.sd, rel=EXACT))
    found = case.effects.filter(pl.col("state") == "fresh").sort("member", "series", "component_share")
    wanted = sorted((*row[1:6:2], v) for row, v in zip(case.rows, V, strict=True) if not row.reference)
    assert (found["member"] + "/" + found["series"]).to_list() == [one[0] for one in wanted]
    for at, column in enumerate(("component_share", "effect", "variance"), start=1):
        assert found[column].to_list() == pytest.approx([one[at] for one in wanted], abs=EXACT)


def test_means_intervals_and_probabilities(case: Case) -> None:
    """Ratio, intervals, degrees, the plain probabilities at every share (three growers or more each), and the spreads."""
    dense, target = case.dense, case.settings.target_ratio
    assert [line["share"] for line in case.block["shares"]] == dense.shares
    for j, line in enumerate(case.block["shares"]):
        share, mean, df = dense.shares[j], dense.mean[j], dense.units[j] - 1
        assert line["df"] == df >= 2
        assert np.log(line["ratio"]) == pytest.approx(mean, abs=FITTED)
        plain = line["reml"]
        wide = t.ppf(0.975, df) * dense.deviation[j]
        for found, half in ((line["ci"], dense.half[j]), (plain["new_series"], wide)):
            assert np.log(found) == pytest.approx([mean - half, mean + half], abs=FITTED)
        for name, ratio in (("faster", 1.0), ("clears", target)):
            assert plain[f"p_{name}"] == pytest.approx(dense.above(share, ratio), abs=FITTED)
            assert plain[f"p_{name}_pot"] == pytest.approx(dense.above(share, ratio, case.sd**2), abs=FITTED)
    spread, within = case.block["heterogeneity"], dense.variances["series"] + dense.variances["mix"]
    total = dense.between(case.settings.reference_share) + within
    wanted = [math.sqrt(total - within), math.sqrt(within), total / (total + dense.typical)]
    assert [spread[name] for name in ("sd_member", "sd_series", "i2")] == pytest.approx(wanted, abs=FITTED)
    cv = case.block["repeatability"]["cv_member"]
    assert math.log1p(cv**2) == pytest.approx(total + 2 * case.sd**2, abs=FITTED)


def test_refits_and_verdicts(case: Case) -> None:
    """The worst refit of the guards, other refits beside the headline, and the verdicts that follow from all and from the
    stated chance, which `test_spread_posterior` holds against values of its own."""
    lines = {line["check"]: line for line in case.block["robustness"]}
    share, target = lines["worst_without_one"]["share"], case.settings.target_ratio
    known = [one for one in case.refits if share in one.shares and one.units[one.shares.index(share)] > 1]
    based, half = [row for row in case.rows if not row.reference], fit(case.rows, case.sd / 2, case.growers)
    looks = {
        "worst_without_one": min(known, key=lambda one: one.above(share, target)),
        "without_slope": fit(case.rows, case.sd, case.growers, slope=False),
        "half_repeatability": half,
        "without_difference_only": fit(based, case.sd, case.growers),
    }
    for check, found in looks.items():
        mean = found.mean[found.shares.index(share)]
        assert np.log(lines[check]["ratio"]) == pytest.approx(mean, abs=FITTED)
        assert lines[check]["p_clears"] == pytest.approx(found.above(share, target), abs=FITTED)
    assert case.block["refits"] == {"count": len(case.refits), "variances": "re-estimated"}
    double = fit(case.rows, case.sd * 2, case.growers)
    sure, m = case.settings.assurance, case.growers.count(case.rows)
    others = [looks["without_difference_only"], *([] if case.measured else [half, double]), *case.refits]
    for line, units in zip(case.block["shares"], case.dense.units, strict=True):
        p = line["p_clears"]
        clubs = [club["p_clears"] for club in line["clubs"] if club["p_clears"] is not None]
        held = p >= sure and min(clubs, default=1.0) >= sure - 0.15
        held = held and all(one.above(line["share"], target) >= sure for one in [case.dense, *others])
        clears = held and (units >= m / 2 or units >= 5)
        verdict = "clears" if clears else "falls_short" if p <= 1 - sure else "undecided"
        assert line["verdict"] == (verdict if m >= 5 and units >= 4 else "too_few")
