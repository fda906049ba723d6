using HilRunner.Core.Scenarios;

namespace HilRunner.Scoring.Latency;

/// <summary>
/// The trials that enter a latency statistic: the counted ones, without those that were already in their class; a trial that
/// never got there counts as +∞. For settling that is a trial whose end was not in its class; for report latency, a missed one.
/// </summary>
internal sealed class LatencySamples
{
    private readonly List<(long Ns, long? UncertaintyNs)> _samples = [];

    private LatencySamples()
    {
    }

    public int N => _samples.Count;
    public int Never { get; private set; }
    public int Already { get; private set; }

    /// <summary>Reached, but with a latency that is not known: left out of the statistics.</summary>
    public int Unknown { get; private set; }

    /// <summary>Reached, with a latency whose uncertainty is not known: in the statistics as it stands.</summary>
    public int Unproven => _samples.Count(s => s.Ns != Quantile.Never && s.UncertaintyNs is null);

    public static LatencySamples Reaction(IEnumerable<TrialScore> trials) => Of(trials, t => t.ReactionNs ?? Quantile.Never, t => t.UncertaintyNs);

    public static LatencySamples Settling(IEnumerable<TrialScore> trials) =>
        Of(trials.Where(t => !t.IsEvent), t => t.SettlingNs ?? Quantile.Never, t => t.UncertaintyNs);

    /// <param name="known">False where nothing was played on a known clock: then missed trials say nothing either.</param>
    public static LatencySamples Report(IEnumerable<TrialScore> trials, bool known) =>
        Of(trials, t => !known ? null : t.Missed ? Quantile.Never : t.ReportLatencyNs, t => t.ReportUncertaintyNs);

    /// <summary>The samples of both.</summary>
    public LatencySamples And(LatencySamples other)
    {
        var both = new LatencySamples { Never = Never + other.Never, Already = Already + other.Already, Unknown = Unknown + other.Unknown };
        both._samples.AddRange([.. _samples, .. other._samples]);
        return both;
    }

    public LatencySummary Summary() => new(
        N, Never, Already, Value(Statistic.P50), Value(Statistic.P90), Value(Statistic.P95), Value(Statistic.P99),
        Value(Statistic.Max), Value(Statistic.Mean))
    {
        UncertaintyNs = Unproven > 0 ? null : _samples.Where(s => s.Ns != Quantile.Never).Max(s => s.UncertaintyNs),
    };

    /// <summary>Seconds; null without samples.</summary>
    public double? Value(Statistic statistic) => Value(statistic, 0);

    /// <summary>
    /// The figure with every latency at the low (−1) or high (+1) end of its uncertainty, an unknown one taken as it stands. All
    /// statistics rise with each latency, so the figure of the true latencies lies between the two.
    /// </summary>
    public double? Value(Statistic statistic, int end)
    {
        long[] sorted = [.. _samples.Select(s => s.Ns == Quantile.Never ? s.Ns : s.Ns + end * (s.UncertaintyNs ?? 0)).Order()];
        return statistic switch
        {
            Statistic.P50 => Quantile.Type7(sorted, 50),
            Statistic.P90 => Quantile.Type7(sorted, 90),
            Statistic.P95 => Quantile.Type7(sorted, 95),
            Statistic.P99 => Quantile.Type7(sorted, 99),
            Statistic.Max => Quantile.Type7(sorted, 100),
            Statistic.Mean => Quantile.Mean(sorted),
            _ => throw new ArgumentOutOfRangeException(nameof(statistic), statistic, "is no statistic"),
        };
    }

    private static LatencySamples Of(IEnumerable<TrialScore> trials, Func<TrialScore, long?> latency, Func<TrialScore, long?> uncertainty)
    {
        var samples = new LatencySamples();
        foreach (var trial in trials.Where(t => t.Counted))
        {
            if (trial.Already)
            {
                samples.Already++;
                continue;
            }
            if (latency(trial) is not { } ns)
            {
                samples.Unknown++;
                continue;
            }
            if (ns == Quantile.Never) { samples.Never++; }
            samples._samples.Add((ns, uncertainty(trial)));
        }
        return samples;
    }
}
