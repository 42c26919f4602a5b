"""Names and meanings of every key of a component in `results.json`. The dictionary page prints this table."""

from __future__ import annotations

from dataclasses import dataclass

ONE_STEP = "one step"
"""How refits held their variances where many clocks were stopped: the censored likelihood gave the answer."""


@dataclass(frozen=True)
class ResultKey:
    """One key: where it stands below a component, its unit, what it means, when it is null."""

    path: str
    unit: str
    meaning: str
    null_when: str = ""


_FEW = "fewer than 3 growers with a baseline at this share"
_NOT_ENOUGH = "the verdict is not enough"
_NO_MODEL = "no share was measured by 3 growers with a baseline"

RESULT_KEYS: tuple[ResultKey, ...] = (
    ResultKey("shares", "", "Freshly filled pots: one entry per share measured, rising, without 0."),
    ResultKey("shares.share", "percent by volume", "The share; those within 2 points count as one."),
    ResultKey("shares.ratio", "times", "Pooled drain rate against the same series' own straight base.", _FEW),
    ResultKey(
        "shares.ci",
        "times",
        "95 % confidence interval of the ratio (CR2, never narrower than the model's).",
        _FEW,
    ),
    ResultKey(
        "shares.df",
        "",
        "Independent growers less 1: degrees of freedom of t in the plain estimate.",
        _FEW,
    ),
    ResultKey("shares.new_series", "times", "95 % prediction interval for one new grower's series.", _FEW),
    ResultKey(
        "shares.p_faster",
        "0-1",
        "Probability that a new grower's series drains faster than its baseline.",
        _FEW,
    ),
    ResultKey(
        "shares.p_clears", "0-1", "Probability that it drains at least the target ratio as fast.", _FEW
    ),
    ResultKey("shares.p_faster_pot", "0-1", "The same as p_faster for one pot beside one pot.", _FEW),
    ResultKey("shares.p_clears_pot", "0-1", "The same as p_clears for one pot beside one pot.", _FEW),
    ResultKey(
        "shares.p_all",
        "0-1",
        "Chance that one new grower reaches the target at this share and at every larger supported one.",
        "the share is not supported, or clocks were stopped",
    ),
    ResultKey(
        "shares.reml",
        "",
        "new_series and the probabilities by the plain estimate, its spread taken as known: the check.",
        _FEW,
    ),
    ResultKey(
        "shares.clubs",
        "",
        "With fewer than 5 clubs: each club's growers, ratio, ci and p_clears, those of 3 growers or more.",
    ),
    ResultKey(
        "shares.stopped_clocks",
        "",
        "Where stopped clocks decided: ratio and p_clears with level and ratio unrelated (plain) and going together "
        "(related, by rho), and whether rho was estimated. p_clears of the share is the lowest.",
        "clocks did not decide",
    ),
    ResultKey(
        "shares.members",
        "growers",
        "Growers with a contrast to their own baseline; who share rounds or bags, once.",
    ),
    ResultKey("shares.growers", "growers", "The same by member code, nobody joined."),
    ResultKey("shares.series", "series", "Series with a contrast to their own baseline."),
    ResultKey("shares.pots", "pots", "Pots tested at the share, stopped ones included."),
    ResultKey("shares.stopped", "pots", "Pots whose clock was stopped before the water was out."),
    ResultKey("shares.ran_dry", "runs", "Runs that ended dry: the mix kept the water."),
    ResultKey("shares.verdict", "", "too_few, clears, falls_short or undecided."),
    ResultKey(
        "shares.why",
        "",
        "A sentence where a figure is missing or a verdict is withheld.",
        "nothing is missing",
    ),
    ResultKey("heterogeneity.sd_member", "ln", "Spread between growers at the reference share.", _NO_MODEL),
    ResultKey(
        "heterogeneity.sd_series", "ln", "Spread between series of one grower, fillings included.", _NO_MODEL
    ),
    ResultKey(
        "heterogeneity.sd_member_median",
        "ln",
        "Median of what prior and data say of sd_member; never 0.",
        "100 growers or more, stopped clocks decided, or no model",
    ),
    ResultKey(
        "heterogeneity.sd_series_median",
        "ln",
        "The same of sd_series.",
        "100 growers or more, stopped clocks decided, or no model",
    ),
    ResultKey(
        "heterogeneity.prior_scale",
        "ln",
        "Scale of the half-normal prior on every spread behind the stated chances.",
        "100 growers or more, stopped clocks decided, or no model",
    ),
    ResultKey(
        "heterogeneity.alike",
        "",
        "True where tests agree more closely than pots repeat: their range is not to be trusted.",
    ),
    ResultKey(
        "heterogeneity.i2",
        "0-1",
        "Part of all scatter that is not pouring error, reference share.",
        _NO_MODEL,
    ),
    ResultKey(
        "repeatability.cv_pot", "", "Coefficient of variation of single pots of one mix by one grower."
    ),
    ResultKey(
        "repeatability.cv_member", "", "The same of a ratio of single pots by different growers.", _NO_MODEL
    ),
    ResultKey("repeatability.sd_pot", "ln", "s_r, the spread the variances rest on."),
    ResultKey(
        "repeatability.measured", "", "True where the pool's own repeated pots gave it, False where assumed."
    ),
    ResultKey("repeatability.degrees", "", "Repeated pots beyond the first of each mix."),
    ResultKey("repeatability.members", "growers", "Growers with repeated pots."),
    ResultKey("repeatability.sd_small_shares", "ln", "s_r of shares up to 20 %.", "there are no repeats"),
    ResultKey("repeatability.sd_large_shares", "ln", "s_r of shares from 40 %.", "there are no repeats"),
    ResultKey(
        "repeatability.cochran",
        "0-1",
        "Largest variance of a mix over the sum of all; a screen.",
        "there are no repeats",
    ),
    ResultKey("recommendation.share", "percent by volume", "The share advised.", "the verdict is not enough"),
    ResultKey(
        "recommendation.parts", "base:component", "Whole parts up to 5 for it.", "no such ratio is near"
    ),
    ResultKey("recommendation.verdict", "", "enough, hinges_on_one, grades_differ, too_few or not_reached."),
    ResultKey("recommendation.text", "", "The recommendation in plain words, with counts."),
    ResultKey("recommendation.deciding_state", "", "fresh or settled: the state whose answer it is."),
    ResultKey("recommendation.ratio", "times", "That state's ratio at the share.", _NOT_ENOUGH),
    ResultKey("recommendation.ci", "times", "Its 95 % confidence interval.", _NOT_ENOUGH),
    ResultKey("recommendation.new_series", "times", "95 % range for one new grower's series.", _NOT_ENOUGH),
    ResultKey("recommendation.p_clears", "0-1", "That state's p_clears at the share.", _NOT_ENOUGH),
    ResultKey(
        "recommendation.p_all",
        "0-1",
        "Chance that one new grower reaches the target there and at every larger supported share.",
        f"{_NOT_ENOUGH}, or clocks were stopped",
    ),
    ResultKey("recommendation.behind", "", "Members, series and pots behind it.", _NOT_ENOUGH),
    ResultKey("refits", "", "The refits without one grower, club or lot that every verdict leans on."),
    ResultKey("refits.count", "refits", "How many there were."),
    ResultKey(
        "refits.variances",
        "",
        "re-estimated in each refit; beyond 100 growers held fixed; with many stopped clocks moved by one step.",
        _NO_MODEL,
    ),
    ResultKey("scope", "", "Whom the answer is for: any grower, or these clubs."),
    ResultKey(
        "counts", "", "Growers, series and runs of the component that may stand in a headline, any pour."
    ),
    ResultKey("waits", "runs", "Runs of the component that wait for an answer and are counted in no figure."),
    ResultKey(
        "settled", "", "The same for settled pots: pour 2, else the first later pour that 4 members share."
    ),
    ResultKey("settled.pour", "", "Which pour stands for settled pots."),
    ResultKey(
        "grades",
        "",
        "The same keys for fine, medium and coarse: counts of the grade, figures that borrow from the whole pool.",
    ),
    ResultKey("grades.difference", "", "The grade against the rest of the pool at the reference share."),
    ResultKey(
        "grades.difference.ratio",
        "times",
        "Ratio of the ratios, drawn towards 1.",
        "fewer than 3 growers on either side, or clocks were stopped",
    ),
    ResultKey("grades.difference.ci", "times", "Its 95 % interval.", "the same"),
    ResultKey("grades.difference.word", "", "shown, ruled_out (beyond 1.25 times) or cannot_tell."),
    ResultKey("grades.share", "percent by volume", "The share of its recommendation.", _NOT_ENOUGH),
    ResultKey("grades.verdict", "", "The verdict of its recommendation."),
    ResultKey("grades.alone", "", "The same keys by the grade's own tests alone, as description."),
    ResultKey("bases", "", "Other bases: counts, and the same keys where 5 members or more allow."),
    ResultKey(
        "sensitivity",
        "",
        "Shares with ratio and p_clears of the headline without the growers' slope in share.",
    ),
    ResultKey(
        "choices",
        "",
        "Verdict and share for other targets and assurances, all leave-one-out refits included.",
    ),
    ResultKey(
        "robustness", "", "One line per other way to look: ratio, p_clears at one share, the enough-share."
    ),
    ResultKey("robustness.check", "", "Short name of the look."),
    ResultKey("robustness.words", "", "The look in plain words."),
    ResultKey("robustness.share", "percent by volume", "The share the line is about."),
    ResultKey("robustness.ratio", "times", "Ratio at that share.", "too few tests of this kind"),
    ResultKey("robustness.p_clears", "0-1", "p_clears at that share.", "too few growers"),
    ResultKey(
        "robustness.enough",
        "percent by volume",
        "Enough-share, leave-one-out refits aside.",
        "no share would be enough",
    ),
    ResultKey("evidence", "", "Do series without a baseline agree with the others?"),
    ResultKey("evidence.series_by_differences", "series", "Series that take part by differences only."),
    ResultKey("evidence.members_by_differences", "growers", "Growers of these series."),
    ResultKey(
        "evidence.slope_difference", "ln per unit of share", "Their slope less that of the others.", "too few"
    ),
    ResultKey("evidence.p", "0-1", "Two-sided p of that difference.", "too few growers to test"),
    ResultKey(
        "spread_intervals",
        "ln",
        "Each spread with its 95 % profile-likelihood interval; level, slope, series, mix.",
    ),
    ResultKey(
        "contrasts",
        "",
        "The six contrasts declared beforehand: ratio of ratios above 25 %, interval, Holm's p.",
    ),
    ResultKey("exploratory", "", "Contrasts looked at besides, with interval and never a p."),
    ResultKey("settling", "", "Change of the ratio from the first to each later pour, inside pots."),
    ResultKey(
        "small_shares", "", "Do small shares slow a mix? One-sided p (Holm), slowing ruled out, by setup."
    ),
    ResultKey("bend", "percent by volume", "Where the curve bends, described only.", "fewer than 8 growers"),
    ResultKey("agreement", "", "ISO 5725-2 figures of the ratio, robust mean, how many growers stand apart."),
    ResultKey(
        "apart", "", "Starts on dry mix, aged and planted pots, other parts of the pour: in no headline."
    ),
    ResultKey(
        "regret",
        "",
        "Expected regret of each supported share by the club's own weights, and the share where it is least.",
        "no weights are set",
    ),
    ResultKey("rests_on", "", "Setups, grades and pot volumes behind the headline."),
)
