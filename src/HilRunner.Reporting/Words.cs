using HilRunner.Core.Scenarios;
using HilRunner.Scoring;

namespace HilRunner.Reporting;

/// <summary>Verdicts, outcomes and limits as a colleague would say them.</summary>
public static class Words
{
    public static string Of(Verdict verdict) => verdict switch
    {
        Verdict.Pass => "pass",
        Verdict.Fail => "fail",
        Verdict.Inconc => "inconclusive",
        Verdict.Error => "error",
        _ => "not judged",
    };

    /// <summary>What to say where a verdict came without a reason.</summary>
    public static string WithoutReason(Verdict verdict) => verdict switch
    {
        Verdict.Pass => "every limit held",
        Verdict.Fail => "a limit is broken",
        Verdict.Inconc => "nothing could be decided",
        Verdict.Error => "the tool could not finish",
        _ => "no limit was given, so nothing was judged",
    };

    public static string Of(Outcome outcome) => outcome switch { Outcome.Held => "held", Outcome.Broken => "broken", _ => "open" };

    /// <summary>One line: the limit, what was measured, what came of it and why.</summary>
    public static string Sentence(LimitOutcome l)
    {
        string output = l.Output.Length == 0 ? "" : l.Output + ": ";
        string why = l.Why.Length == 0 ? "" : " (" + l.Why + ")";
        return $"{output}{l.Text}: {Measured(l)}, {Of(l.Outcome)}{why}";
    }

    /// <summary>The measured figure with its unit; "—" where there is none.</summary>
    public static string Measured(LimitOutcome l) => Figure.Of(l.Limit.Measure, l.Figure);

    public static string Bound(LimitOutcome l) => (l.Limit.AtLeast is null ? "at most " : "at least ") + Figure.Of(l.Limit.Measure, l.Bound);

    public static string Of(Measure measure) => measure switch
    {
        Measure.Accuracy => "accuracy",
        Measure.BalancedAccuracy => "balanced accuracy",
        Measure.F1 => "F1",
        Measure.ReportLatency => "report latency",
        Measure.ChatterPerMinute => "chatter",
        Measure.SurplusPerMinute => "surplus changes",
        Measure.ShortestDwell => "shortest dwell",
        Measure.FalseAlarmsPerHour => "false alarms",
        Measure.DeviceResets => "device resets",
        Measure.DeviceSilences => "device silences",
        Measure.DeviceClockPpm => "device clock rate",
        _ => measure.ToString().ToLowerInvariant(),
    };
}
