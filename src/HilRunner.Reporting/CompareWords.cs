using System.Globalization;
using HilRunner.Core.Scenarios;
using HilRunner.Scoring.Comparing;

namespace HilRunner.Reporting;

/// <summary>A comparison as a colleague would say it.</summary>
public static class CompareWords
{
    public static string Of(Change change) => change switch
    {
        Change.Worse => "worse",
        Change.Better => "better",
        Change.TooFew => "too few trials",
        _ => "no change shown",
    };

    public static string Of(Basis basis) => basis switch
    {
        Basis.TheseRecordings => "these recordings",
        Basis.MotionLikeThis => "motion like this",
        _ => "neither",
    };

    /// <summary>
    /// Which of the two questions the word rests on, what it takes for granted, and what would bring the other.
    /// </summary>
    public static string RestsOn(CompareResult result)
    {
        ArgumentNullException.ThrowIfNull(result);
        var comparison = result.Comparison;
        var of = comparison.Differences.Where(d => d.Basis is not null).ToList();
        if (!comparison.Paired || of.Count == 0) { return ""; }
        // Worse and better rest on what decided them; anything else on the shares.
        var deciding = of.FirstOrDefault(d => d.Change == comparison.Overall
            && d.Change is Change.Worse or Change.Better) ?? of[0];
        string more = deciding.RunsForHere is { } runs ? $"{runs} runs of each scenario on both builds" : "";
        return deciding.Basis switch
        {
            Basis.TheseRecordings => "rests on these recordings, run for run: beyond how a build varies from one run to the next",
            Basis.MotionLikeThis => "rests on motion like this: too few runs to tell how a build varies from one to the next"
                + (deciding.SharesRuns ? ", so that trials of one run are taken to err independently of each other" : "")
                + (more.Length > 0 ? $"; {more} would tell without that" : ""),
            _ when deciding.HangsTogether =>
                "rests on neither question: trials of one run come out alike on one and the same build, so that only runs count"
                + (more.Length > 0 ? $", and {more} would be needed" : ""),
            _ => $"rests on neither question: too few independent trials to tell of motion like this{(more.Length > 0 ? $", and {more} would be needed to tell of these recordings" : "")}",
        };
    }

    /// <summary>The answer in a sentence, what decided it included.</summary>
    public static string Answer(CompareResult result)
    {
        var comparison = result.Comparison;
        var deciding = comparison.Differences.Where(d => d.Change == comparison.Overall && d.Change is Change.Worse or Change.Better).ToList();
        if (deciding.Count > 0)
        {
            string more = deciding.Count > 1 ? $"; and {deciding.Count - 1} more" : "";
            string trials = Trials(deciding[0]);
            return $"{Name(deciding[0], result.SeveralOutputs)}: {Shown(deciding[0])}{(trials.Length > 0 ? ", " + trials : "")}{more}";
        }
        if (comparison.Differences.Count == 0 || (comparison.Pairs.Count == 0 && comparison.Paired)) { return "the two have no trial in common"; }
        var shares = comparison.Differences.Where(d => d.Measure == Measure.Recognised).ToList();
        int changed = shares.Sum(d => d.Lost + d.Gained);
        var able = shares.Where(d => d.Smallest is not null).OrderBy(d => d.Smallest).ToList();
        string could = able.Count == 0 ? "" : able.Count == 1 || able[0].Smallest == able[^1].Smallest
            ? $"; it takes a drop of {Figure.Share(able[0].Smallest)} of {string.Join(" or ", able.Select(d => d.Class))} to be seen"
            : $"; it takes a drop of {Figure.Share(able[0].Smallest)} ({able[0].Class}) to {Figure.Share(able[^1].Smallest)} ({able[^1].Class}) to be seen";
        return comparison.Overall == Change.TooFew
            ? $"no class has enough trials to show a change ({comparison.Pairs.Count} in all)"
            : $"{(changed == 0 ? "every trial came out as before" : $"{changed} of {comparison.Pairs.Count} trials came out otherwise, which is no more than chance")}{could}";
    }

    /// <summary>"conveyed recognised", "device resets".</summary>
    /// <param name="several">The devices have several outputs, so that each is named.</param>
    public static string Name(Difference d, bool several)
    {
        string output = !several || d.Output.Length == 0 ? "" : $" ({d.Output})";
        string measure = d.Measure switch { Measure.ChatterPerMinute => "chatter a trial", Measure.FalseAlarmsPerHour => "false alarms a run", var m => Words.Of(m) };
        return d.Class is { } c ? $"{c} {measure}{output}" : measure + output;
    }

    /// <summary>What was seen: counts of a share, the shift of a latency.</summary>
    public static string Shown(Difference d) => d.Measure switch
    {
        Measure.Recognised when d.Why.StartsWith("not paired", StringComparison.Ordinal) => $"{SignedShare(d.Shift)}, {d.Why}",
        Measure.Recognised when d.OnePlayEach => $"lost {d.Lost}, gained {d.Gained} of {d.Pairs}",
        Measure.Recognised when d.Lost + d.Gained == 0 => $"{Figure.Share(d.ShareNow)} of plays, as before",
        Measure.Recognised => $"{Figure.Share(d.ShareBefore)} to {Figure.Share(d.ShareNow)} of plays",
        Measure.DeviceResets or Measure.DeviceSilences or Measure.DeviceClockPpm => d.Why,
        Measure.ChatterPerMinute or Measure.FalseAlarmsPerHour => $"{Signed(d.Shift, "0.##")}{Between(d, "0.##", "")}",
        _ => $"{Signed(d.Shift * 1000, "0.#")} ms{Between(d, "0.#", " ms", 1000)}",
    };

    /// <summary>What became of a trial, in a sentence.</summary>
    public static string Became(TrialPair pair) => pair.Change switch
    {
        TrialChange.Lost => "Recognised before, not now.",
        TrialChange.Gained => "Not recognised before, now it is.",
        TrialChange.Unsteady => $"Unsteady: recognised in {pair.Baseline.Count(p => p.Trial.Recognised)} of {pair.Baseline.Count} before, {pair.Candidate.Count(p => p.Trial.Recognised)} of {pair.Candidate.Count} now.",
        _ => pair.Shift((t, _) => t.ReactionNs / 1e9) is { } shift ? FormattableString.Invariant($"Reaction {(shift > 0 ? "later" : "earlier")} by {Math.Abs(shift) * 1000:0.#} ms.") : "",
    };

    /// <summary>"18 of 20 before, 20 of 20 now": trials that came out the same in each of their plays.</summary>
    public static string Steady(Difference d)
    {
        string[] said = [.. new[] { (d.SteadyBefore, "before"), (d.SteadyNow, "now") }.Where(s => s.Item1.Trials > 0)
            .Select(s => $"{s.Item1.Same} of {s.Item1.Trials} {s.Item2}")];
        return string.Join(", ", said);
    }

    /// <summary>
    /// Of a share over several plays: how many trials went which way; "" where each was played once, or none changed.
    /// </summary>
    public static string Trials(Difference d)
    {
        if (d.Measure != Measure.Recognised || d.OnePlayEach || d.Lost + d.Gained == 0) { return ""; }
        string[] ways = [.. new[] { (d.Lost, "less often"), (d.Gained, "more often") }.Where(w => w.Item1 > 0).Select(w =>
            $"{w.Item1} {w.Item2}")];
        return $"of {d.Pairs} trials {string.Join(", ", ways)}";
    }

    public static string P(Difference d) => P(d.P);

    public static string P(double? value) =>
        value is { } p ? p.ToString(p < 0.001 ? "0.0e+0" : "0.000", CultureInfo.InvariantCulture) : Figure.Absent;

    private static string Between(Difference d, string format, string unit, double scale = 1) =>
        d.Interval is { } i ? $" ({Signed(i.Low * scale, format)} to {Signed(i.High * scale, format)}{unit})" : "";

    private static string SignedShare(double? share) => share is { } s ? Signed(s * 100, "0.#") + " %" : Figure.Absent;

    private static string Signed(double? value, string format) => value is { } v ? v.ToString($"+{format};−{format};0", CultureInfo.InvariantCulture) : Figure.Absent;

    /// <summary>
    /// What stands beside the answer, in sentences: runs that do not show delivery, and what became of those that were scored by
    /// earlier definitions.
    /// </summary>
    public static IEnumerable<string> Beside(CompareResult result)
    {
        ArgumentNullException.ThrowIfNull(result);
        if (result.MoreOfBaseline > 0)
        {
            yield return $"the baseline's image was played in {result.MoreOfBaseline} more {(result.MoreOfBaseline == 1 ? "batch" : "batches")}: name the build in place of the folder, and all of them count";
        }
        if (result.Comparison.OnOtherRigs.Count > 0)
        {
            yield return $"played on other rigs than before: {string.Join(", ", result.Comparison.OnOtherRigs.Take(MostEarlier))}{(result.Comparison.OnOtherRigs.Count > MostEarlier ? " …" : "")}: a change may be the rig's";
        }
        if (result.DeliveryNotShown > 0)
        {
            yield return $"delivery not shown in {result.DeliveryNotShown} of {result.BaselineRuns + result.CandidateRuns} runs: a change may be the link's";
        }
        if (result.ScoredAgain > 0)
        {
            yield return $"{result.ScoredAgain} {(result.ScoredAgain == 1 ? "run was" : "runs were")} scored by {DeliveryWords.Earlier}: scored again from {(result.ScoredAgain == 1 ? "its capture" : "their captures")} by today's";
        }
        if (result.EarlierLeftOut.Count == 0) { yield break; }
        string more = result.EarlierLeftOut.Count > MostEarlier ? $" and {result.EarlierLeftOut.Count - MostEarlier} more" : "";
        yield return $"left out, of {DeliveryWords.Earlier} and not to be scored again: {string.Join("; ", result.EarlierLeftOut.Take(MostEarlier))}{more}";
    }

    private const int MostEarlier = 3;
}
