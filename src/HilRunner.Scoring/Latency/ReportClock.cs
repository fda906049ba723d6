using HilRunner.Core.Runs;
using HilRunner.Core.Time;

namespace HilRunner.Scoring.Latency;

/// <summary>
/// Report latency, in host time: from the moment at which an onset's sample was played to the arrival of the first byte of
/// the message that reported it. The link is included: this is what a user of the device would see.
/// </summary>
/// <param name="moved">Nothing was injected: stimulus time is host time, and an onset was at its own time.</param>
internal sealed class ReportClock(IReadOnlyList<PlayoutRow> playout, SampleRate? rate, bool moved = false)
{
    /// <summary>False: no latency can be known at all.</summary>
    public bool Known => moved || playout.Count > 0 && rate is not null;

    /// <summary>Null where the sample's row or the arrival is not known; its half-width is that of the arrival.</summary>
    public (long Ns, long? UncertaintyNs)? Latency(long onsetNs, Decision? report)
    {
        if (moved) { return report?.ArrivalNs is { } at ? (at - onsetNs, report.ArrivalUncertaintyNs) : null; }
        if (rate is not { } r || report?.ArrivalNs is not { } arrival) { return null; }
        return Row(OnsetSample(onsetNs, r)) is { } played ? (arrival - played.ActualNs, report.ArrivalUncertaintyNs) : null;
    }

    /// <summary>
    /// How late the onset's own sample was sent: a decision's time on the axis of samples does not know it. 0 where not known.
    /// </summary>
    public long LatenessNs(long onsetNs) =>
        !moved && rate is { } r && Row(OnsetSample(onsetNs, r)) is { DueNs: { } due } row ? Math.Max(0, row.ActualNs - due) : 0;

    /// <summary>The first sample at or after the onset, where the time of a sample is n/r to the nearest nanosecond.</summary>
    internal static long OnsetSample(long onsetNs, SampleRate rate)
    {
        long n = rate.SamplesBefore(new(onsetNs));
        // An onset at a sample's own time, rounded up to the nanosecond, lies a fraction behind the exact n/r.
        return n > 0 && rate.TimeOf(n - 1).Ns >= onsetNs ? n - 1 : n;
    }

    private PlayoutRow? Row(long n)
    {
        int low = 0;
        int high = playout.Count - 1;
        while (low <= high)
        {
            int middle = low + (high - low) / 2;
            long at = playout[middle].N;
            if (at == n) { return playout[middle]; }
            if (at < n) { low = middle + 1; } else { high = middle - 1; }
        }
        return null;
    }
}
