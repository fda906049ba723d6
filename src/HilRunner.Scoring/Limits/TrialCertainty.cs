namespace HilRunner.Scoring.Limits;

/// <summary>
/// Where the time of a decision is uncertain, so may be on which side of a scenario's bound it lies, and whether it held for long
/// enough.
/// </summary>
internal static class TrialCertainty
{
    /// <summary>Recognised, wherever the true times lie.</summary>
    public static bool Surely(TrialScore trial, long? withinNs) => trial.Recognised && !trial.HoldOpen
        && Inside(trial, +1, withinNs);

    /// <summary>Recognised, or it may have been.</summary>
    public static bool Possibly(TrialScore trial, long? withinNs) =>
        trial.Recognised || trial.HoldOpen || (!trial.Missed && Inside(trial, -1, withinNs));

    private static bool Inside(TrialScore trial, int end, long? withinNs)
    {
        if (withinNs is not { } within) { return true; }
        long reaction = trial.ReactionNs!.Value + end * (trial.UncertaintyNs ?? 0);
        return trial.IsEvent ? reaction < within : reaction <= within;
    }
}
