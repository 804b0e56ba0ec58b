"""Numbers from outside, with their sources, that the analysis is held to.

Each stands with how it is known: *seen* (read in a stored copy of the publication or package), *from memory* (a
published number, given from memory and recomputed with a general-purpose library) or *made here* (worked out exactly
for these tests: it checks code and is no publication). Recomputed with statsmodels 0.15 and scipy 1.17.
"""

from __future__ import annotations

# Newcombe 1998, Statistics in Medicine 17:857–872, Table I, method 3 (score, no continuity correction). From memory.
# (k, n): (lower, upper), as printed, four decimals.
WILSON_PRINTED = {(81, 263): (0.2553, 0.3662), (0, 20): (0.0, 0.1611), (1, 29): (0.0061, 0.1718)}

# The same interval to ten decimals. Made here: statsmodels.stats.proportion.proportion_confint(k, n, method="wilson").
WILSON_DIGITS = {
    (81, 263): (0.2552885199, 0.3662095770),
    (3, 5): (0.2307242813, 0.8823792258),
    (7, 20): (0.1811918241, 0.5671457233),
    (0, 1): (0.0, 0.7934506856),
}

# Newcombe 1998, Statistics in Medicine 17:873–890, Table II, method 10. Seen.
# (k1, n1, k2, n2): (lower, upper) of k1/n1 − k2/n2.
NEWCOMBE_DIFFERENCE = {
    (56, 70, 48, 80): (0.0524, 0.3339),
    (9, 10, 3, 10): (0.1705, 0.8090),
    (0, 10, 0, 20): (-0.1611, 0.2775),
    (10, 10, 0, 20): (0.6791, 1.0),
}

# Jeffreys' interval, equal-tailed. Made here: scipy.stats.beta.ppf of k + ½, n − k + ½.
JEFFREYS = {(3, 5): (0.20941666, 0.90560967), (7, 20): (0.17227621, 0.56776609)}

# Garwood 1936, Biometrika 28:437–442, 95 % limits of a Poisson mean. From memory: 0 → 3.689; 1 → .0253, 5.572;
# 5 → 1.623, 11.668; 10 → 4.795, 18.390. Recomputed as ½ χ² quantiles (R: qchisq(c(.025, .975), 2 * c(k, k + 1)) / 2).
GARWOOD = {0: (0.0, 3.689), 1: (0.0253, 5.572), 5: (1.623, 11.668), 10: (4.795, 18.390)}

# Efron & Morris 1975, Journal of the American Statistical Association 70:311–319, Table 1, and 1977, Scientific
# American 236(5):119–127: hits in the first 45 at-bats of 18 batters of 1970 and their average over the rest of the
# season. Seen (the EfronMorris data that the R package pscl carries). James–Stein estimates on the arcsine scale of
# the paper of 1975, turned back into averages: from memory, to three decimals.
AT_BATS = 45
HITS = (18, 17, 16, 15, 14, 14, 13, 12, 11, 11, 10, 10, 10, 10, 10, 9, 8, 7)
REST_OF_SEASON = (
    0.346, 0.298, 0.276, 0.222, 0.273, 0.270, 0.263, 0.210, 0.269, 0.230,
    0.264, 0.256, 0.303, 0.264, 0.226, 0.285, 0.316, 0.200,
)  # fmt: skip
# Beta-binomial by moments on the same hits. Made here.
BETA_BY_MOMENTS = (97.676, 270.312)

# P(second > first), independent uniform priors. Closed form: E. Miller 2015, "Formulas for Bayesian A/B testing"
# (seen); values made here with it, exact. (k1, n1, k2, n2): (numerator, denominator).
SECOND_BEATS_FIRST = {
    (3, 10, 9, 10): (265, 266),
    (0, 5, 1, 5): (17, 22),
    (0, 10, 0, 20): (11, 32),
    (1, 1, 1, 1): (1, 2),
}
# Probability of the highest rate among three arms, uniform priors. Made here, exact integrals.
BEST_OF_THREE = {
    ((2, 5), (9, 20), (30, 60)): (0.299801, 0.258816, 0.441383),
    ((3, 5), (2, 5), (4, 8)): (14179 / 27132, 64817 / 352716, 1233 / 4199),
}

# Benjamini & Hochberg 1995, Journal of the Royal Statistical Society B 57:289–300, §4.1 (thrombolysis). From memory.
# At .05 the procedure rejects 4, Bonferroni 3.
THROMBOLYSIS_P = (
    0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1.0,
)  # fmt: skip

# Spector & Mazzeo 1980, Journal of Economic Education 11:37–44 (n = 32; carried by statsmodels as datasets.spector).
# Seen, as in Greene's Econometric Analysis: logit of GRADE on const, GPA, TUCE, PSI.
SPECTOR = {"const": -13.0213, "GPA": 2.8261, "TUCE": 0.0952, "PSI": 2.3787}
SPECTOR_LOG_LIKELIHOOD = -12.8896
# Leave-one-out (Brier, log loss) of that model and of the base rate. Made here.
SPECTOR_UNSEEN = (0.180415, 0.584099)
SPECTOR_BASE = (0.240375, 0.676524)

# Firth's logistic regression of a saturated 2 × 2 table is the log odds ratio with ½ added to each cell. Made here:
# 2/5 v 5/5 is ln(15.4), 3/5 v 5/5 is ln(55/7).
FIRTH_SLOPES = {(2, 5, 5, 5): 2.73436751, (3, 5, 5, 5): 2.06142304}

# Cohen 1960, Educational and Psychological Measurement 20:37–46. From memory: p₀ .70, pₑ .41, κ .492.
COHEN = ([[88, 14, 18], [10, 40, 10], [2, 6, 12]], 0.70, 0.41, 0.492)
# Two-by-two tables much used in texts on κ (the last two show how margins move it). From memory.
KAPPA_SQUARES = (([[20, 5], [10, 15]], 0.4000), ([[45, 15], [25, 15]], 0.1304), ([[25, 35], [5, 35]], 0.2593))
# Timed events, in seconds: tolerance → (pairs, F). Made here, exact.
REFERENCE_S = (1, 5, 5.4, 10, 14, 20)
ESTIMATE_S = (1.3, 5.2, 9, 14.9, 15.2, 20.1, 25)
PAIRED = {0.25: (2, 0.307692), 0.5: (3, 0.461538), 1.0: (5, 0.769231)}
# Nearest-first pairs only one of these at .65; two can be paired. Made here.
NOT_NEAREST_FIRST = ((10.0, 10.8), (10.5, 11.4), 0.65, 2)
# κ over time units with tolerance, after Bakeman, Quera & Gnisci 2009, Behavior Research Methods 41:137–147. Made
# here: tolerance → κ.
TIME_UNITS = ("AAAAABBBBBAAAAACCCCC", "AAAAAABBBBBAAAACCCCC")
TIME_KAPPA = {0: 0.84, 1: 1.0}

# Eight schools: Rubin 1981, Journal of Educational Statistics 6:377–401; effects and errors; posterior means, and 95 %
# of the first and the fifth, recomputed by a grid that is flat in the mean and the standard deviation.
SCHOOLS = ((28, 15), (8, 10), (-3, 16), (7, 11), (-1, 9), (1, 11), (18, 10), (12, 18))
SCHOOLS_MEANS = (11.4, 7.9, 6.1, 7.6, 5.1, 6.1, 10.7, 8.5)
SCHOOLS_BOUNDS = {0: (-2.0, 31.0), 4: (-9.0, 16.5)}

# Tumours in rats: Gelman et al., Bayesian Data Analysis, 3rd ed., table 5.1 (from memory; mean and standard deviation
# of the first 70 rates are the book's .136 and .103, the posterior means of a and b in its §5.3 are 2.4 and 14.3).
RAT_TUMOURS = (
    *((0, 20),) * 7, *((0, 19),) * 4, *((0, 18),) * 2, (0, 17), *((1, 20),) * 4, *((1, 19),) * 2, *((1, 18),) * 2,
    (2, 25), (2, 24), (2, 23), *((2, 20),) * 6, (1, 10), (5, 49), (2, 19), (5, 46), (3, 27), (2, 17), (7, 49), (7, 47),
    *((3, 20),) * 2, (2, 13), (9, 48), (10, 50), *((4, 20),) * 7, (10, 48), *((4, 19),) * 3, (5, 22), (11, 46),
    (12, 49), *((5, 20),) * 2, (6, 23), (5, 19), (6, 22), *((6, 20),) * 3, (16, 52), (15, 47), (15, 46),
    (9, 24), (4, 14),
)  # fmt: skip

# Admissions to Berkeley by department, Bickel, Hammel & O’Connell 1975, Science 187:398–404, the six departments as R
# carries them. From memory. Men admitted, refused, women admitted, refused. As one the odds ratio is 1.841; Mantel–
# Haenszel 1959 within departments .9047, χ² corrected for continuity 1.4269, p .2323. Recomputed.
ADMITTED = (
    (512, 313, 89, 19),
    (353, 207, 17, 8),
    (120, 205, 202, 391),
    (138, 279, 131, 244),
    (53, 138, 94, 299),
    (22, 351, 24, 317),
)
