using HilRunner.Core.Scenarios;
using HilRunner.Scoring.Changes;
using HilRunner.Scoring.Latency;

namespace HilRunner.Scoring.Limits;

/// <summary>The value of each measure for one output. Undefined values say why.</summary>
internal static class LimitFigures
{
    public static Figure Of(Limit limit, ScoredOutput output)
    {
        var score = output.Score;
        string? c = limit.Class;
        var trials = score.Trials.Where(t => c is null || t.Class == c).ToList();
        return limit.Measure switch
        {
            Measure.Accuracy => Figure.Of(score.Graced.Accuracy, "no time is scored"),
            Measure.BalancedAccuracy => Figure.Of(score.Graced.BalancedAccuracy, "no time is scored"),
            Measure.Recall or Measure.Precision or Measure.F1 => AgreementFigures.Of(limit.Measure, c, score.Graced),
            Measure.Recognised => Recognised(trials, output.WithinNs, c),
            Measure.Missed => Missed(trials, c),
            Measure.Reaction => Of(limit, LatencySamples.Reaction(trials), c),
            Measure.Settling => Of(limit, LatencySamples.Settling(trials), c),
            Measure.ReportLatency => Report(limit, LatencySamples.Report(trials, output.ReportKnown), c),
            Measure.Dropouts => Dropouts(trials, c),
            Measure.ChatterPerMinute => ChatterPerMinute(trials, c, score),
            Measure.SurplusPerMinute when c is not null => Figure.Undefined("surplus changes belong to no class"),
            Measure.SurplusPerMinute => Figure.Of(score.Changes.SurplusPerMinute, "no time is scored"),
            Measure.ShortestDwell => ShortestDwell(output.Dwells, c),
            Measure.Insertions or Measure.Deletions or Measure.Fragmented or Measure.Merged => Segments(limit.Measure, c, score),
            Measure.FalseAlarmsPerHour => FalseAlarms(c, score),
            _ => throw new ArgumentOutOfRangeException(nameof(limit), limit.Measure, "is no measure of an output"),
        };
    }

    private static string NoTrial(string? c) => c is null ? "no trial is counted" : $"no trial of {c} is counted";

    /// <summary>Why there is no latency where nothing changed, and what to record.</summary>
    internal static string AllAlready(int trials) =>
        $"all {trials} counted trials were already in their class; record motion of another class before them, so that they begin with a change";

    private static Figure Recognised(List<TrialScore> trials, long? withinNs, string? c)
    {
        var counted = trials.Where(t => t.Counted).ToList();
        if (counted.Count == 0) { return Figure.Undefined(NoTrial(c)); }
        int recognised = counted.Count(t => t.Recognised);
        // Where the time of a decision is uncertain, so may be on which side of `within` it lies.
        int surely = counted.Count(t => TrialCertainty.Surely(t, withinNs));
        int possibly = counted.Count(t => TrialCertainty.Possibly(t, withinNs));
        int unproven = withinNs is null ? 0 : counted.Count(t => !t.Missed && !t.Already && t.UncertaintyNs is null);
        double n = counted.Count;
        string why = $"{recognised} of {counted.Count}" + (unproven == 0 ? "" : $" ({Unproven(unproven)})");
        return new(recognised / n, surely / n, possibly / n, why);
    }

    /// <summary>What stands beside a figure that rests on times whose uncertainty is not known.</summary>
    private static string Unproven(int n) => n == 1 ? "the timing of 1 trial is not proven" : $"the timing of {n} trials is not proven";

    private static Figure Missed(List<TrialScore> trials, string? c)
    {
        var counted = trials.Where(t => t.Counted).ToList();
        return counted.Count == 0
            ? Figure.Undefined(NoTrial(c))
            : Figure.Exact(counted.Count(t => t.Missed), $"of {counted.Count} trials");
    }

    private static Figure Of(Limit limit, LatencySamples samples, string? c)
    {
        var statistic = limit.Statistic!.Value;
        if (samples.Value(statistic) is not { } value)
        {
            return Figure.Undefined(samples.Already == 0 ? NoTrial(c) : AllAlready(samples.Already));
        }
        string[] why =
        [
            .. samples.Never == 0 ? [] : new[] { $"never in {samples.Never} of {samples.N}" },
            .. samples.Unproven == 0 ? [] : new[] { Unproven(samples.Unproven) },
        ];
        return new(value, samples.Value(statistic, -1), samples.Value(statistic, +1), string.Join("; ", why));
    }

    private static Figure Report(Limit limit, LatencySamples samples, string? c) => samples.Unknown == 0
        ? Of(limit, samples, c)
        : Figure.Undefined($"the report latency of {samples.Unknown} trials is not known");

    private static Figure Dropouts(List<TrialScore> trials, string? c)
    {
        var reached = trials.Where(t => t.Dropouts is not null).ToList();
        return reached.Count == 0
            ? Figure.Undefined(c is null ? "no trial of a state was reached" : $"no trial of {c} was reached")
            : Figure.Exact(reached.Sum(t => t.Dropouts!.Value));
    }

    private static Figure ChatterPerMinute(List<TrialScore> trials, string? c, OutputScore score)
    {
        long ns = c is null ? score.Strict.ScoredNs : score.Strict.ConfusionNs.GetValueOrDefault(c)?.Values.Sum() ?? 0;
        return Figure.Of(
            ChangeScorer.PerMinute(trials.Sum(t => t.Chatter ?? 0), ns),
            c is null ? "no time is scored" : $"no time of {c} is scored");
    }

    private static Figure ShortestDwell(IReadOnlyList<Dwell> dwells, string? c)
    {
        long[] ns = [.. dwells.Where(d => c is null || d.Class == c).Select(d => d.Ns)];
        return ns.Length == 0
            ? Figure.Undefined("no two changes were seen in one stretch of scored time")
            : Figure.Exact(ns.Min() / 1e9);
    }

    private static Figure Segments(Measure measure, string? c, OutputScore score)
    {
        if (score.Strict.ScoredNs == 0) { return Figure.Undefined("no time is scored"); }
        var segments = score.Segments.Where(s => c is null || s.Key == c).Select(s => s.Value).ToList();
        if (measure == Measure.Insertions)
        {
            return Figure.Exact(segments.Sum(s => s.Observed.Insertion));
        }
        int references = segments.Sum(s =>
            s.Reference.Correct + s.Reference.Deletion + s.Reference.Fragmented + s.Reference.Merged + s.Reference.FragmentedAndMerged);
        if (references == 0) { return Figure.Undefined($"the reference holds no {c}"); }
        int count = segments.Sum(s => measure switch
        {
            Measure.Deletions => s.Reference.Deletion,
            Measure.Fragmented => s.Reference.Fragmented + s.Reference.FragmentedAndMerged,
            _ => s.Reference.Merged + s.Reference.FragmentedAndMerged,
        });
        return Figure.Exact(count, $"of {references} segments");
    }

    private static Figure FalseAlarms(string? c, OutputScore score)
    {
        var events = score.Events.Where(e => c is null || e.Key == c).Select(e => e.Value).ToList();
        if (events.Count == 0) { return Figure.Undefined(c is null ? "the scenario has no events" : $"{c} is no event"); }
        if (events.Any(e => e.FalseAlarmsPerHour is null)) { return Figure.Undefined("nothing was played"); }
        int count = events.Sum(e => e.FalseAlarms);
        return Figure.Exact(events.Sum(e => e.FalseAlarmsPerHour!.Value), count == 0 ? "" : $"{count} in all");
    }
}
