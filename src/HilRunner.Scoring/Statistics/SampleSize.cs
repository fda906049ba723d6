using HilRunner.Core.Statistics;

namespace HilRunner.Scoring.Statistics;

/// <summary>How many independent trials a claim takes.</summary>
public static class SampleSize
{
    /// <summary>More than this is no plan for a bench.</summary>
    private const int Most = 100_000_000;

    /// <summary>
    /// The smallest n at which n trials with at most <paramref name="failures"/> failures show, with the confidence, a share of at least
    /// <paramref name="share"/>: P(B(n, 1 − share) ≤ failures) ≤ 1 − confidence. For 0 failures ⌈ln(1 − C)/ln R⌉, the success run.
    /// </summary>
    /// <param name="share">Claimed share of successes, above 0 and below 1.</param>
    /// <exception cref="ArgumentOutOfRangeException">An argument is out of range, or more than a hundred million trials would be needed.</exception>
    public static int Trials(double share, double confidence, int failures)
    {
        if (!(share is > 0 and < 1)) { throw new ArgumentOutOfRangeException(nameof(share), share, "a claimed share lies above 0 and below 1"); }
        Confidence.Check(confidence);
        ArgumentOutOfRangeException.ThrowIfNegative(failures);
        bool Shows(int n) => Binomial.AtMost(failures, n, 1 - share) <= 1 - confidence;
        int high = failures + 1;
        while (!Shows(high))
        {
            if (high > Most) { throw new ArgumentOutOfRangeException(nameof(share), share, $"takes more than {Most} trials"); }
            high *= 2;
        }
        int low = failures + 1;
        while (low < high)
        {
            int middle = low + (high - low) / 2;
            if (Shows(middle)) { high = middle; }
            else { low = middle + 1; }
        }
        return low;
    }

    /// <summary>
    /// The smallest plan of one size that keeps both risks: so many trials, accepted with at most so many failures, P(B(n, p0) &gt; c) ≤ α and P(B(n, p1) ≤ c) ≤ β.
    /// </summary>
    /// <param name="acceptable">p0: share of failures at which a device should be accepted.</param>
    /// <param name="rejectable">p1: share of failures at which it should be rejected; above p0.</param>
    public static (int Trials, int Failures) Between(double acceptable, double rejectable, double producerRisk, double consumerRisk)
    {
        if (!(acceptable > 0 && rejectable > acceptable && rejectable < 1))
        {
            throw new ArgumentOutOfRangeException(nameof(rejectable), rejectable, "0 < acceptable < rejectable < 1 is needed");
        }
        for (int failures = 0; ; failures++)
        {
            int trials = Trials(1 - rejectable, 1 - consumerRisk, failures);
            if (Binomial.AtMost(failures, trials, acceptable) >= 1 - producerRisk) { return (trials, failures); }
        }
    }
}
