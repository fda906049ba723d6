using HilRunner.Core.Scenarios;
using HilRunner.Scoring.Limits;

namespace HilRunner.Scoring.Pooling;

/// <summary>
/// Judges limits with a confidence over the independent trials: held when the exact one-sided bound at the limit's confidence is inside, broken when the opposite bound is
/// outside, else open. Within a unit nothing is assumed: for what is to be shown, a unit counts as its worst play, against the limit as its best.
/// </summary>
public static class PooledJudge
{
    /// <summary>
    /// Whether a limit on this measure may carry a confidence: it is a share of trials, a quantile of their latencies, or at most
    /// so many false alarms an hour.
    /// </summary>
    public static bool Takes(Limit limit) => limit.Measure switch
    {
        Measure.Recognised => true,
        Measure.FalseAlarmsPerHour => limit.AtMost is not null,
        _ => LimitText.IsLatency(limit.Measure)
            && limit.Statistic is Statistic.P50 or Statistic.P90 or Statistic.P95 or Statistic.P99,
    };

    /// <summary>The limit in words: "recognised carried ≥ 0.95 with confidence 0.9".</summary>
    public static string Text(Limit limit) => LimitText.Of(limit);

    /// <summary>The limit on every output that it applies to; one outcome, open, where there is no trial at all.</summary>
    /// <param name="limit">With a confidence.</param>
    /// <param name="trials">Of all runs that count; those of other classes and outputs are passed over.</param>
    /// <param name="heard">What was played in these runs: what false alarms are counted in. Run by run, in the order of
    /// each.</param>
    /// <exception cref="ArgumentException">The limit has no confidence, or its measure takes none.</exception>
    public static IReadOnlyList<PooledOutcome> Judge(
        Limit limit, IReadOnlyList<PlayedTrial> trials, IReadOnlyList<HeardStretch>? heard = null)
    {
        ArgumentNullException.ThrowIfNull(limit);
        heard ??= [];
        var said = limit.Measure == Measure.FalseAlarmsPerHour ? heard.Select(h => h.Output) : trials.Select(t => t.Output);
        string[] outputs = limit.Output is { } named ? [named] : [.. said.Distinct().Order(StringComparer.Ordinal)];
        return [.. (outputs.Length == 0 ? [""] : outputs).Select(o =>
        {
            var outcome = JudgeOne(limit, trials.Where(t => t.Output == o), heard.Where(h => h.Output == o));
            return outcome with { Judged = outcome.Judged with { Output = o } };
        })];
    }

    /// <summary>As the other, tested trial by trial.</summary>
    /// <param name="runs">Trials of all runs that count, run by run in the order in which they were played.</param>
    /// <exception cref="ArgumentException">It is no claim for a sequential plan.</exception>
    public static IReadOnlyList<PooledOutcome> Judge(Limit claim, SequentialPlan plan, IReadOnlyList<IReadOnlyList<PlayedTrial>> runs)
    {
        string[] outputs = claim.Output is { } named ? [named] : [.. runs.SelectMany(r => r).Select(t => t.Output).Distinct().Order(StringComparer.Ordinal)];
        return [.. (outputs.Length == 0 ? [""] : outputs).Select(output =>
        {
            var outcome = SequentialJudge.Judge(claim, plan, [.. runs.Select(r => (IReadOnlyList<PlayedTrial>)[.. r.Where(t => t.Output == output && Enters(claim, t))])]);
            return outcome with { Judged = outcome.Judged with { Output = output } };
        })];
    }

    private static bool Enters(Limit limit, PlayedTrial trial) => trial.Score.Counted && (limit.Class is null || trial.Score.Class == limit.Class);

    private static PooledOutcome JudgeOne(Limit limit, IEnumerable<PlayedTrial> trials, IEnumerable<HeardStretch> heard)
    {
        if (limit.Confidence is not { } confidence || !Takes(limit))
        {
            throw new ArgumentException($"{LimitText.Of(limit)} is no limit that is judged over pooled trials", nameof(limit));
        }
        if (limit.Measure == Measure.FalseAlarmsPerHour) { return AlarmJudge.Judge(limit, confidence, [.. heard]); }
        var mine = trials.Where(t => Enters(limit, t)).ToList();
        return limit.Measure == Measure.Recognised ? ShareJudge.Judge(limit, confidence, mine)
            : LatencyJudge.Judge(limit, confidence, mine);
    }

    internal static PooledOutcome Outcome(Limit limit, double? figure, double? low, double? high, Func<Outcome, string> why)
    {
        double bound = LimitText.Bound(limit);
        bool atLeast = limit.AtLeast is not null;
        Outcome outcome = (atLeast ? low >= bound : high <= bound) ? Scoring.Outcome.Held
            : (atLeast ? high < bound : low > bound) ? Scoring.Outcome.Broken
            : Scoring.Outcome.Open;
        double? shown = figure is { } f && double.IsFinite(f) ? f : null;
        return new(new(limit, LimitText.Of(limit), shown, bound, outcome, why(outcome), "")) { Shown = atLeast ? low : high };
    }

    internal static string Confidence(double confidence) => $"{LimitText.Rounded(confidence * 100, 0)} %";
}
