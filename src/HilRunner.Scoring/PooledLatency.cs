using HilRunner.Scoring.Latency;

namespace HilRunner.Scoring;

/// <summary>
/// The two latencies by class over the trials of several runs of one output, described by the same statistics as in one run. No bound
/// for trials to come: repeats of one recording are not independent.
/// </summary>
public static class PooledLatency
{
    public static IReadOnlyDictionary<string, LatencySummary> Reaction(IEnumerable<OutputScore> runs) =>
        ByClass(runs, (trials, _) => LatencySamples.Reaction(trials));

    public static IReadOnlyDictionary<string, LatencySummary> Report(IEnumerable<OutputScore> runs) =>
        ByClass(runs, (trials, known) => LatencySamples.Report(trials, known));

    /// <summary>The median (type 7) in seconds; a missed trial, null, is +∞. Null without trials.</summary>
    public static double? Median(IEnumerable<long?> latenciesNs)
    {
        long[] sorted = [.. latenciesNs.Select(ns => ns ?? Quantile.Never).Order()];
        return Quantile.Type7(sorted, 50);
    }

    private static SortedDictionary<string, LatencySummary> ByClass(IEnumerable<OutputScore> runs, Func<List<TrialScore>, bool, LatencySamples> samples)
    {
        // In a run that knows no report latency a missed trial says nothing either: no summary of it holds a trial.
        var all = runs.SelectMany(r => r.Trials.Select(t => (Trial: t, Known: r.Report.Values.Any(s => s.N > 0)))).ToList();
        var summaries = new SortedDictionary<string, LatencySummary>(StringComparer.Ordinal);
        foreach (var ofClass in all.GroupBy(t => t.Trial.Class, StringComparer.Ordinal))
        {
            var known = samples([.. ofClass.Where(t => t.Known).Select(t => t.Trial)], true);
            var unknown = samples([.. ofClass.Where(t => !t.Known).Select(t => t.Trial)], false);
            summaries[ofClass.Key] = known.And(unknown).Summary();
        }
        return summaries;
    }
}
