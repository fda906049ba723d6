using HilRunner.Core.Runs;

namespace HilRunner.Reporting;

/// <summary>What held playout up, in words, for pages and the terminal.</summary>
public static class PacingWords
{
    /// <summary>Whether the device's credit made samples late: playout waited for it at least half as long as the latest one was late.</summary>
    public static bool Starved(RunTiming timing, RigHealth health)
    {
        ArgumentNullException.ThrowIfNull(timing);
        ArgumentNullException.ThrowIfNull(health);
        return timing.CreditWaits > 0 && health.Late > 0 && timing.CreditWaitNs >= health.LateMaxNs / 2;
    }

    /// <summary>What the device's credit did to the pace; "" where playout never waited for it.</summary>
    public static string Credit(RunTiming timing, RigHealth health)
    {
        ArgumentNullException.ThrowIfNull(timing);
        ArgumentNullException.ThrowIfNull(health);
        if (timing.CreditWaits == 0) { return ""; }
        string times = timing.CreditWaits == 1 ? "once" : FormattableString.Invariant($"{timing.CreditWaits} times");
        // Without its first letter: it begins two of the sentences.
        string waited = $"layout waited {times} for credit, {Figure.Nanoseconds(timing.CreditWaitNs)} in all";
        if (health.LateMaxNs is null) { return $"The device set the pace: p{waited}."; }
        if (Starved(timing, health)) { return $"The device took samples more slowly than they were due: p{waited}; play slower, or raise the device's window."; }
        return health.Late == 0 ? $"P{waited}; no sample was later than the limit." : $"P{waited}: too little to explain how late the latest sample was.";
    }
}
