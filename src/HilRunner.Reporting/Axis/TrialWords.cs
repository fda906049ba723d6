using HilRunner.Scoring;

namespace HilRunner.Reporting.Axis;

/// <summary>What came of a trial, in a word or two, and how bad it is.</summary>
internal static class TrialWords
{
    public static string Outcome(TrialScore trial)
    {
        if (!trial.Recognised && !trial.Counted) { return "too short to count"; }
        if (trial.Missed) { return "missed"; }
        if (!trial.Recognised) { return "too late"; }
        return trial.Already ? "already there" : "recognised";
    }

    /// <summary>Lower is worse: missed, too late, too short to count, recognised, already there.</summary>
    public static int Rank(TrialScore trial) => Outcome(trial) switch
    {
        "missed" => 0,
        "too late" => 1,
        "too short to count" => 2,
        "recognised" => 3,
        _ => 4,
    };
}
