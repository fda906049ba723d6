# What published libraries make of the same numbers. JSON in, JSON out.
import json
import sys

import numpy
import scipy.stats
import statsmodels.api

job = json.load(sys.stdin)
answers = {"mean": [], "difference": [], "logistic": []}
for values in job["mean"]:
    low, high = scipy.stats.t.interval(0.95, len(values) - 1, loc=numpy.mean(values), scale=scipy.stats.sem(values))
    answers["mean"].append([float(numpy.mean(values)), float(low), float(high)])
for before, now in job["difference"]:
    test = scipy.stats.ttest_ind(now, before, equal_var=False)
    a, b = numpy.var(before, ddof=1) / len(before), numpy.var(now, ddof=1) / len(now)
    degrees = (a + b) ** 2 / (a ** 2 / (len(before) - 1) + b ** 2 / (len(now) - 1))
    half = scipy.stats.t.ppf(0.975, degrees) * (a + b) ** 0.5
    shift = float(numpy.mean(now) - numpy.mean(before))
    answers["difference"].append([shift, shift - half, shift + half, float(test.pvalue)])
for levels, switched in job["logistic"]:
    fit = statsmodels.api.GLM(switched, statsmodels.api.add_constant(levels), family=statsmodels.api.families.Binomial()).fit(tol=1e-13, maxiter=200)
    b0, b1 = fit.params
    gradient = numpy.array([-1 / b1, b0 / b1 ** 2])
    error = float(gradient @ fit.cov_params() @ gradient) ** 0.5
    half = float(scipy.stats.norm.ppf(0.975)) * error
    answers["logistic"].append([-b0 / b1, -b0 / b1 - half, -b0 / b1 + half, b1, float(fit.bse[1])])
json.dump(answers, sys.stdout)
