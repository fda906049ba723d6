using System.Globalization;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;

namespace HilRunner.Engine.Reviewing;

/// <summary>What is known of the rig after a run, and the judgement of it: each broken limit becomes a sentence.</summary>
internal sealed record RigFacts
{
    public required HealthLimits Limits { get; init; }
    public required IReadOnlyList<PlayoutRow> Playout { get; init; }
    /// <summary>True when samples were due at times.</summary>
    public required bool Timed { get; init; }
    public required long Lost { get; init; }
    public required long FramesBad { get; init; }
    public required long LinesUnknown { get; init; }
    public required int Reconnects { get; init; }
    public required long? ClockUncertaintyNs { get; init; }
    /// <summary>How often, and how long in all, a due sample waited for the device's credit.</summary>
    public required (long Waits, long Ns) Credit { get; init; }
    /// <summary>Rows that playout.csv lacks, by what the capture says was sent.</summary>
    public required long Missing { get; init; }
    /// <summary>Why nothing is known about the device; null: it was understood.</summary>
    public required string? NotUnderstood { get; init; }
    /// <summary>Why a silence is not held against the device; null: there was none, or it was the device's own.</summary>
    public string? Silence { get; init; }
    /// <summary>Further sentences: what was not delivered, a start that opening the port caused.</summary>
    public IReadOnlyList<string> Others { get; init; } = [];
    /// <summary>Why the decoder gave up (an adapter program that died); null: it did not.</summary>
    public required string? DecoderFailure { get; init; }
    public required string? EndCause { get; init; }
    public required string EndMessage { get; init; }

    public static RigHealth Judge(RigFacts facts)
    {
        long limitNs = facts.Limits.Late.Ticks * 100;
        long[] behind = [.. facts.Playout.Where(r => r.DueNs is not null).Select(r => r.ActualNs - r.DueNs!.Value).Order()];
        long late = behind.Count(ns => ns > limitNs);
        var faults = new List<string>();
        if (EndFault(facts) is { } end) { faults.Add(end); }
        if (facts.Missing > 0)
        {
            faults.Add($"{RunFiles.Playout} lacks {facts.Missing} of the samples that were sent: the run's record is damaged");
        }
        if (facts.NotUnderstood is { } reason) { faults.Add(reason); }
        if (facts.Silence is { } silence) { faults.Add(silence); }
        if (facts.DecoderFailure is { } failure) { faults.Add($"what the device said could not be decoded: {failure}"); }
        if (late > 0)
        {
            faults.Add($"{late} of {facts.Playout.Count} samples were sent late, up to {Ms(behind[^1])} after they were due (limit {Ms(limitNs)}){Starved(facts.Credit, behind[^1])}");
        }
        faults.AddRange(facts.Others.Distinct());
        if (facts.FramesBad > facts.Limits.FramesBad)
        {
            faults.Add($"{facts.FramesBad} damaged frames came from the device (limit {facts.Limits.FramesBad})");
        }
        if (facts.LinesUnknown > facts.Limits.LinesUnknown)
        {
            faults.Add($"{facts.LinesUnknown} messages from the device were not understood (limit {facts.Limits.LinesUnknown})");
        }
        if (facts.ClockUncertaintyNs is { } width && width > facts.Limits.Clock.Ticks * 100)
        {
            faults.Add($"the device's clock is known to ±{Ms(width)} only (limit {Ms(facts.Limits.Clock.Ticks * 100)})");
        }
        return new RigHealth
        {
            Sent = facts.Playout.Count,
            Lost = facts.Lost,
            Late = late,
            LateP50Ns = facts.Timed ? Quantile(behind, 500) : null,
            LateP99Ns = facts.Timed ? Quantile(behind, 990) : null,
            LateP999Ns = facts.Timed ? Quantile(behind, 999) : null,
            LateMaxNs = facts.Timed && behind.Length > 0 ? Math.Max(0, behind[^1]) : null,
            FramesBad = facts.FramesBad,
            LinesUnknown = facts.LinesUnknown,
            Reconnects = facts.Reconnects,
            ClockUncertaintyNs = facts.ClockUncertaintyNs,
            Faults = faults,
            Incomplete = facts.Missing > 0 || facts.EndCause is not (Playing.EndCause.Completed or Playing.EndCause.Silent),
        };
    }

    /// <summary>A device that falls silent is no fault of the rig; everything else that ends a run early is not the device's.</summary>
    private static string? EndFault(RigFacts facts) => facts.EndCause switch
    {
        Playing.EndCause.Completed or Playing.EndCause.Silent => null,
        null => "the capture has no end: the player was killed, or is still running",
        Playing.EndCause.LinkLost => $"the link was lost: {facts.EndMessage}",
        Playing.EndCause.Stopped => "the run was stopped before its end",
        _ => facts.EndMessage,
    };

    /// <summary>The smallest value that at least so many thousandths of the values do not exceed (Hyndman and Fan 1996, type 1); null without values.</summary>
    private static long? Quantile(long[] sorted, long thousandths) =>
        sorted.Length == 0 ? null : sorted[(int)((sorted.Length * thousandths + 999) / 1000) - 1];

    /// <summary>Why samples were late, where it was the device that did not take them.</summary>
    private static string Starved((long Waits, long Ns) credit, long worstNs) => credit.Ns < worstNs / 2
        ? ""
        : $"; the device took samples more slowly than they were due: playout waited for credit {credit.Waits} times, {Ms(credit.Ns)} in all; play slower (--speed)";

    private static string Ms(long ns) => (ns / 1e6).ToString("0.##", CultureInfo.InvariantCulture) + " ms";
}
