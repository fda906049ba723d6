using HilRunner.Core.Runs;

namespace HilRunner.Reporting;

/// <summary>What held playout up, in words, for pages and the terminal.</summary>
public static class PacingWords
{
    /// <summary>What the device's credit did to the pace; "" where playout never waited for it.</summary>
    /// <param name="paced">Samples were due at times: to wait for credit then made them late.</param>
    public static string Credit(RunTiming timing, bool paced)
    {
        ArgumentNullException.ThrowIfNull(timing);
        if (timing.CreditWaits == 0) { return ""; }
        string times = timing.CreditWaits == 1 ? "once" : FormattableString.Invariant($"{timing.CreditWaits} times");
        string waited = $"playout waited {times} for credit, {Figure.Nanoseconds(timing.CreditWaitNs)} in all";
        return paced
            ? $"The device took samples more slowly than they were due: {waited}; play slower, or raise the device's window."
            : $"The device set the pace: {waited}.";
    }
}
