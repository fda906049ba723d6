using HilRunner.Core.Scenarios;
using HilRunner.Scoring.Latency;
using HilRunner.Scoring.Limits;
using HilRunner.Scoring.Statistics;

namespace HilRunner.Scoring.Pooling;

/// <summary>A quantile of the trials' latencies. A missed trial is one without end; those that were already in their class say nothing.</summary>
internal static class LatencyJudge
{
    public static PooledOutcome Judge(Limit limit, double confidence, List<PlayedTrial> trials)
    {
        var timed = trials.Where(t => !t.Score.Already && !(limit.Measure == Measure.Settling && t.Score.IsEvent)).ToList();
        int unknown = timed.Count(t => Of(limit.Measure, t) is null), already = trials.Count - timed.Count;
        if (unknown > 0)
        {
            return PooledJudge.Outcome(limit, null, null, null, _ => unknown == 1 ? "the report latency of 1 trial is not known" : $"the report latency of {unknown} trials is not known");
        }
        var units = TrialUnit.Of(timed);
        double[] worst = [.. units.Select(u => u.Plays.Max(p => Seconds(limit.Measure, p, +1))).Order()];
        double[] best = [.. units.Select(u => u.Plays.Min(p => Seconds(limit.Measure, p, -1))).Order()];
        double share = Share(limit.Statistic!.Value);
        double? high = QuantileBounds.Upper(worst, share, confidence), low = QuantileBounds.Lower(best, share, confidence);
        double? figure = Quantile.Type7([.. timed.Select(t => Of(limit.Measure, t)!.Value.Ns).Order()], (int)Math.Round(share * 100));
        return PooledJudge.Outcome(limit, figure, low, high, Why) with { Units = units.Count, Plays = timed.Count, Sources = units.Count(u => u.Source is not null) };

        string Why(Outcome ended)
        {
            if (units.Count == 0)
            {
                return already > 0 ? LimitFigures.AllAlready(already) : limit.Class is null
                    ? "no trial is counted" : $"no trial of {limit.Class} is counted";
            }
            string name = LimitText.Name(limit.Statistic!.Value), trialsWord = units.Count == 1 ? "1 independent trial" : $"{units.Count} independent trials";
            bool upper = (limit.AtMost is not null) == (ended != Outcome.Broken);
            if ((upper ? high : low) is not { } shown)
            {
                int needed = SampleSize.Trials(share, confidence, 0);
                return $"{trialsWord}: too few to bound {name} at {PooledJudge.Confidence(confidence)}" + (upper ? $", which takes {needed}" : "");
            }
            string value = double.IsFinite(shown) ? LimitText.RoundedAway(shown, upper) + " s"
                : "no bound, as too many were missed";
            return $"{trialsWord}: show {name} {(double.IsFinite(shown) ? upper ? "at most " : "at least " : "")}{value} at {PooledJudge.Confidence(confidence)}";
        }
    }

    private static double Seconds(Measure measure, PlayedTrial trial, int end)
    {
        var (ns, uncertainty) = Of(measure, trial)!.Value;
        return ns == Quantile.Never ? double.PositiveInfinity : (ns + end * (uncertainty ?? 0)) / 1e9;
    }

    private static (long Ns, long? UncertaintyNs)? Of(Measure measure, PlayedTrial trial) => measure switch
    {
        Measure.Reaction => (trial.Score.ReactionNs ?? Quantile.Never, trial.Score.UncertaintyNs),
        Measure.Settling => (trial.Score.SettlingNs ?? Quantile.Never, trial.Score.UncertaintyNs),
        _ when !trial.ReportKnown => null,
        _ when trial.Score.Missed => (Quantile.Never, null),
        _ => trial.Score.ReportLatencyNs is { } ns ? (ns, trial.Score.ReportUncertaintyNs) : null,
    };

    private static double Share(Statistic statistic) => statistic switch
    {
        Statistic.P50 => 0.50,
        Statistic.P90 => 0.90,
        Statistic.P95 => 0.95,
        Statistic.P99 => 0.99,
        _ => throw new ArgumentOutOfRangeException(nameof(statistic), statistic, "is no quantile"),
    };
}
