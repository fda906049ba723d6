using HilRunner.Core.Scenarios;
using HilRunner.Core.Statistics;
using HilRunner.Scoring.Limits;
using HilRunner.Scoring.Statistics;

namespace HilRunner.Scoring.Pooling;

/// <summary>The share of trials that are recognised.</summary>
internal static class ShareJudge
{
    public static PooledOutcome Judge(Limit limit, double confidence, List<PlayedTrial> trials)
    {
        var units = TrialUnit.Of(trials);
        int surely = units.Count(u => u.Plays.All(Surely)), possibly = units.Count(u => u.Plays.Any(Possibly));
        int recognised = units.Count(u => u.Plays.All(p => p.Score.Recognised)), plays = trials.Count(t => t.Score.Recognised);
        double? low = BinomialBounds.Lower(surely, units.Count, confidence), high = BinomialBounds.Upper(possibly, units.Count, confidence);
        var outcome = PooledJudge.Outcome(limit, trials.Count == 0 ? null : (double)plays / trials.Count, low, high, Why);
        return outcome with
        {
            Units = units.Count, UnitsRecognised = recognised, Plays = trials.Count, PlaysRecognised = plays, Sources = units.Count(u => u.Source is not null),
        };

        string Why(Outcome ended)
        {
            if (units.Count == 0) { return limit.Class is null ? "no trial is counted" : $"no trial of {limit.Class} is counted"; }
            string counted = $"{recognised} of {Trials(units.Count)} recognised" + (surely == recognised ? "" : $" ({surely} beyond the uncertainty of their timing)");
            bool least = (limit.AtLeast is not null) == (ended != Outcome.Broken);
            string shows = least ? $"at least {Share(low, up: false)}" : $"at most {Share(high, up: true)}";
            return $"{counted}: shows {shows} at {PooledJudge.Confidence(confidence)}" + (ended == Outcome.Open ? Missing(limit, confidence, units.Count, units.Count - surely) : "");
        }
    }

    /// <summary>What would close an open limit.</summary>
    private static string Missing(Limit limit, double confidence, int units, int failures)
    {
        if (limit.AtLeast is not (> 0 and < 1) || failures > units / 2) { return ""; }
        int needed = SampleSize.Trials(limit.AtLeast.Value, confidence, failures);
        return $"; {needed} with {(failures == 0 ? "no" : "as many as these " + LimitText.Number(failures))} {(failures == 1 ? "failure" : "failures")} would do";
    }

    internal static bool Surely(PlayedTrial trial) => TrialCertainty.Surely(trial.Score, trial.WithinNs);

    internal static bool Possibly(PlayedTrial trial) => TrialCertainty.Possibly(trial.Score, trial.WithinNs);

    private static string Trials(int n) => n == 1 ? "1 independent trial" : $"{n} independent trials";

    /// <summary>Three digits, towards the side that claims less: a lower bound down, an upper bound up.</summary>
    private static string Share(double? share, bool up) => share is { } s ? LimitText.RoundedAway(s, up, decimals: 3) : "nothing";
}
