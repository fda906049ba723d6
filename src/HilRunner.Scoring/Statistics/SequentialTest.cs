namespace HilRunner.Scoring.Statistics;

public enum SequentialOutcome { GoOn, Accept, Reject }

/// <summary>What a plan does at a true share of failures.</summary>
/// <param name="Accept">Chance that it accepts.</param>
/// <param name="Reject">Chance that it rejects.</param>
/// <param name="MeanTrials">Trials that it takes on average.</param>
public readonly record struct OperatingPoint(double Accept, double Reject, double MeanTrials);

/// <summary>
/// Wald's sequential probability ratio test of a share of failures (Wald, Sequential Analysis, 1947), with the boundaries A ≈ (1 − β)/α and
/// B ≈ β/(1 − α): accept when failures ≤ −h_a + s·n, reject when failures ≥ h_r + s·n. It ends after <see cref="MostTrials"/> trials at the latest, and
/// then accepts when failures ≤ s·n: fixed before the first trial.
/// </summary>
public sealed class SequentialTest
{
    private const int MostAttempts = 100;
    private const double Tightening = 0.97;

    /// <param name="acceptable">p0: share of failures at which a device should be accepted.</param>
    /// <param name="rejectable">p1: share of failures at which it should be rejected; above p0.</param>
    /// <param name="producerRisk">α: chance of rejecting at p0.</param>
    /// <param name="consumerRisk">β: chance of accepting at p1.</param>
    /// <param name="mostTrials">Where the test is cut off; at least 1.</param>
    public SequentialTest(double acceptable, double rejectable, double producerRisk, double consumerRisk, int mostTrials)
    {
        if (!(acceptable > 0 && rejectable > acceptable && rejectable < 1))
        {
            throw new ArgumentOutOfRangeException(nameof(rejectable), rejectable, "0 < acceptable < rejectable < 1 is needed");
        }
        if (!(producerRisk > 0 && consumerRisk > 0 && producerRisk + consumerRisk < 1))
        {
            throw new ArgumentOutOfRangeException(nameof(producerRisk), producerRisk, "both risks lie above 0, and their sum below 1");
        }
        ArgumentOutOfRangeException.ThrowIfLessThan(mostTrials, 1);
        double step = Math.Log(rejectable / acceptable) + Math.Log((1 - acceptable) / (1 - rejectable));
        Slope = Math.Log((1 - acceptable) / (1 - rejectable)) / step;
        AcceptIntercept = Math.Log((1 - producerRisk) / consumerRisk) / step;
        RejectIntercept = Math.Log((1 - consumerRisk) / producerRisk) / step;
        MostTrials = mostTrials;
    }

    /// <summary>
    /// The plan that keeps both risks exactly, its cut-off included. Wald's lines keep their sum only, and a cut-off adds to
    /// both: the lines are drawn for smaller risks until what <see cref="At"/> says is inside. Where that fails at a cut-off, a
    /// somewhat earlier one may do, since the number of failures that is accepted there grows in steps: who has more trials than
    /// a plan takes needs no other plan. Null: not with so few trials.
    /// </summary>
    /// <param name="mostTrials">Trials that there are; the plan may be cut off before.</param>
    /// <inheritdoc cref="SequentialTest(double, double, double, double, int)"/>
    public static SequentialTest? Keeping(double acceptable, double rejectable, double producerRisk, double consumerRisk, int mostTrials)
    {
        // One step of the number of failures that the cut-off accepts: what fails at all of them fails at fewer.
        int period = (int)Math.Ceiling(1 /
            new SequentialTest(acceptable, rejectable, producerRisk, consumerRisk, mostTrials).Slope);
        for (int most = mostTrials; most >= Math.Max(1, mostTrials - period); most--)
        {
            if (KeepingAt(acceptable, rejectable, producerRisk, consumerRisk, most) is { } test) { return test; }
        }
        return null;
    }

    private static SequentialTest? KeepingAt(double acceptable, double rejectable, double producerRisk, double consumerRisk,
        int mostTrials)
    {
        double alpha = producerRisk, beta = consumerRisk;
        for (int attempt = 0; attempt < MostAttempts; attempt++)
        {
            var test = new SequentialTest(acceptable, rejectable, alpha, beta, mostTrials);
            double rejects = test.At(acceptable).Reject, accepts = test.At(rejectable).Accept;
            if (rejects <= producerRisk && accepts <= consumerRisk) { return test; }
            if (rejects > producerRisk) { alpha *= Tightening; }
            if (accepts > consumerRisk) { beta *= Tightening; }
        }
        return null;
    }

    /// <summary>s.</summary>
    public double Slope { get; }
    /// <summary>h_a.</summary>
    public double AcceptIntercept { get; }
    /// <summary>h_r.</summary>
    public double RejectIntercept { get; }
    public int MostTrials { get; }

    /// <summary>Most failures with which n trials accept; negative: none.</summary>
    public int AcceptAt(int trials) => (int)Math.Floor(-AcceptIntercept + Slope * trials);

    /// <summary>Fewest failures with which n trials reject; may be more than n.</summary>
    public int RejectAt(int trials) => (int)Math.Ceiling(RejectIntercept + Slope * trials);

    public SequentialOutcome Decide(int trials, int failures)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(failures);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(failures, trials);
        if (trials == 0) { return SequentialOutcome.GoOn; }
        if (failures <= AcceptAt(trials)) { return SequentialOutcome.Accept; }
        if (failures >= RejectAt(trials)) { return SequentialOutcome.Reject; }
        if (trials < MostTrials) { return SequentialOutcome.GoOn; }
        return failures <= Slope * trials ? SequentialOutcome.Accept : SequentialOutcome.Reject;
    }

    /// <summary>Exactly what the plan does, cut-off included, by going through all states (trials, failures).</summary>
    /// <param name="failureShare">True share of failures, 0 to 1.</param>
    public OperatingPoint At(double failureShare)
    {
        if (!(failureShare is >= 0 and <= 1)) { throw new ArgumentOutOfRangeException(nameof(failureShare), failureShare, "a share lies in 0 to 1"); }
        double accept = 0, reject = 0, mean = 0;
        double[] going = [1];
        for (int n = 1; n <= MostTrials && going.Sum() > 0; n++)
        {
            double[] next = new double[n + 1];
            for (int failures = 0; failures < going.Length; failures++)
            {
                next[failures] += going[failures] * (1 - failureShare);
                next[failures + 1] += going[failures] * failureShare;
            }
            for (int failures = 0; failures <= n; failures++)
            {
                var outcome = Decide(n, failures);
                if (outcome == SequentialOutcome.GoOn) { continue; }
                if (outcome == SequentialOutcome.Accept) { accept += next[failures]; }
                else { reject += next[failures]; }
                mean += n * next[failures];
                next[failures] = 0;
            }
            going = next;
        }
        return new(accept, reject, mean);
    }
}
