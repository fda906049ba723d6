using HilRunner.Scoring;

namespace HilRunner.History.Recording;

/// <summary>What a history shows of a batch, worked out once from its scores. Plays are counted as they are: no bound is drawn from them.</summary>
internal static class BatchFigures
{
    private const double NsPerMinute = 60e9;

    public static IReadOnlyList<BatchFigure> Of(RecordedBatch batch)
    {
        var scores = batch.Runs.Where(r => r.Counts).Select(r => r.Score).OfType<Score>().ToList();
        if (scores.Count == 0) { return []; }
        return
        [
            .. scores.SelectMany(s => s.Outputs).GroupBy(o => o.Output, StringComparer.Ordinal).SelectMany(o => OfOutput(o.Key, [.. o])),
            new("", "", "device_resets", "", scores.Sum(s => s.Device.Resets), scores.Count),
            new("", "", "device_silences", "", scores.Sum(s => s.Device.Silences), scores.Count),
        ];
    }

    private static IEnumerable<BatchFigure> OfOutput(string output, List<OutputScore> runs)
    {
        var trials = runs.SelectMany(r => r.Trials).Where(t => t.Counted).ToList();
        yield return Recognised(output, "", trials);
        foreach (var ofClass in trials.GroupBy(t => t.Class, StringComparer.Ordinal)) { yield return Recognised(output, ofClass.Key, [.. ofClass]); }
        foreach (var figure in Latencies(output, "reaction", PooledLatency.Reaction(runs))) { yield return figure; }
        foreach (var figure in Latencies(output, "report_latency", PooledLatency.Report(runs))) { yield return figure; }
        long scored = runs.Sum(r => r.Graced.ScoredNs);
        long right = runs.Sum(r => r.Graced.ConfusionNs.Sum(row => row.Value.GetValueOrDefault(row.Key)));
        yield return new(output, "", "accuracy", "", scored == 0 ? null : (double)right / scored, runs.Count);
        double minutes = runs.Sum(r => r.Strict.ScoredNs) / NsPerMinute;
        yield return new(output, "", "chatter_per_minute", "", minutes == 0 ? null : runs.Sum(r => r.Trials.Sum(t => t.Chatter ?? 0)) / minutes, runs.Count);
        foreach (var events in runs.SelectMany(r => r.Events).GroupBy(e => e.Key, StringComparer.Ordinal))
        {
            yield return new(output, events.Key, "false_alarms", "", events.Sum(e => e.Value.FalseAlarms), runs.Count);
        }
    }

    private static BatchFigure Recognised(string output, string name, List<TrialScore> trials) =>
        new(output, name, "recognised", "", trials.Count == 0 ? null : (double)trials.Count(t => t.Recognised) / trials.Count, trials.Count);

    private static IEnumerable<BatchFigure> Latencies(string output, string measure, IReadOnlyDictionary<string, LatencySummary> byClass) =>
        byClass.Where(c => c.Value.N > 0).SelectMany(c => new BatchFigure[]
        {
            new(output, c.Key, measure, "p50", c.Value.P50, c.Value.N),
            new(output, c.Key, measure, "p95", c.Value.P95, c.Value.N),
        });
}
