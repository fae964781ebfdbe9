"""Studies as published turned into differences with errors, for the pooling checks."""

from math import log, sqrt

from pmulab.estimate.pooling import between_variance, common_effect, pooled
from pmulab.estimate.shift import small_sample_factor


def log_risk_ratios(cells):
    """Log risk ratios and variances of fourfold tables (cases and others, in two groups)."""
    effects = [log(a / (a + b) / (c / (c + d))) for a, b, c, d in cells]
    variances = [1 / a - 1 / (a + b) + 1 / c - 1 / (c + d) for a, b, c, d in cells]
    return {"effects": effects, "variances": variances}


def of_variances(effects, variances, spread="REML"):
    """Everything that a printed table shows of one set of studies."""
    errors = [sqrt(v) for v in variances]
    found = pooled(effects, errors, spread=spread)
    value, common = common_effect(effects, errors)
    return {
        "pooled": found,
        "half": (found.interval.high - found.interval.low) / 2,
        "i2": 100 * found.i2,
        "common": value,
        "common_interval": common,
        "tau2": {
            name: between_variance(effects, errors, spread=name)
            for name in ("REML", "Paule-Mandel", "DerSimonian-Laird")
        },
    }


def of_risks(cells, spread="REML"):
    return of_variances(**log_risk_ratios(cells), spread=spread)


def of_errors(effects, errors, spread="REML"):
    return of_variances(effects, [s * s for s in errors], spread)


def of_means(groups, spread="REML"):
    """Plain differences of two means with separate variances: n, mean, sd, n, mean, sd."""
    effects = [m1 - m2 for _, m1, _, _, m2, _ in groups]
    variances = [s1**2 / n1 + s2**2 / n2 for n1, _, s1, n2, _, s2 in groups]
    return of_variances(effects, variances, spread)


def of_standardised(groups, spread="REML"):
    """Hedges' g with the book's variance: mean, sd, n, mean, sd, n."""
    effects, variances = [], []
    for m1, s1, n1, m2, s2, n2 in groups:
        deviation = sqrt(((n1 - 1) * s1**2 + (n2 - 1) * s2**2) / (n1 + n2 - 2))
        d = (m1 - m2) / deviation
        factor = small_sample_factor(n1 + n2 - 2)
        effects.append(factor * d)
        variances.append(factor**2 * ((n1 + n2) / (n1 * n2) + d * d / (2 * (n1 + n2))))
    return of_variances(effects, variances, spread)
