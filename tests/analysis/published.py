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
