using HilRunner.Core.Time;

namespace HilRunner.Core.Recordings.Import;

internal enum BreakCause { None, Gap, Doubled, Backward, BadRow }

/// <summary>What step from one sample to the next breaks a recording.</summary>
/// <param name="NominalNs">The usual step.</param>
/// <param name="ResolutionNs">What stamps are known to: a difference below it tells nothing.</param>
/// <param name="GapNs">A longer step is a gap; null: one that differs from the usual one by more than half of it.</param>
/// <param name="Uneven">Stamps need not be even: they are interpolated.</param>
internal sealed record StepRule(double NominalNs, long ResolutionNs, long? GapNs, bool Uneven)
{
    /// <summary>Uneven stamps: a longer pause than this many usual steps is a gap, unless the map says otherwise.</summary>
    private const double UnevenGap = 4;

    public BreakCause Of(long stepNs)
    {
        double off = Math.Abs(stepNs - NominalNs);
        bool beyond = off > NominalNs / 2 && off >= ResolutionNs;
        bool back = stepNs <= 0 && (beyond || Uneven);
        bool gap = (Uneven, GapNs) switch
        {
            (_, { } longest) => stepNs > longest,
            (true, null) => stepNs > UnevenGap * NominalNs,
            _ => beyond && stepNs > 0,
        };
        return gap ? BreakCause.Gap : !back ? BreakCause.None : stepNs == 0 ? BreakCause.Doubled : BreakCause.Backward;
    }

    /// <summary>As an error says it.</summary>
    public string Expected => Uneven || GapNs is not null
        ? $"later stamps, at most {Shown(GapNs ?? UnevenGap * NominalNs)} apart"
        : $"steps of {Shown(NominalNs)} (the usual one), within half a step";

    private static StimulusTime Shown(double ns) => new((long)Math.Round(ns));
}
