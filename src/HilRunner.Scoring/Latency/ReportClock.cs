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

    /// <summary>Where samples were held up on their way to the device.</summary>
    public IReadOnlyList<HeldUp> HeldUp { get; init; } = [];

    /// <summary>
    /// How late the onset's own sample was sent, and how long it may have been held up on its way: a decision's time on the axis
    /// of samples does not know it. 0 where not known.
    /// </summary>
    public long LatenessNs(long onsetNs)
    {
        if (moved || rate is not { } r || Row(OnsetSample(onsetNs, r)) is not { DueNs: { } due } row) { return 0; }
        long held = 0;
        foreach (var stretch in HeldUp)
        {
            if (row.ActualNs < stretch.FromNs || row.ActualNs >= stretch.ToNs) { continue; }
            held = Math.Max(held, stretch.ByNs - row.ActualNs);
        }
        return Math.Max(0, row.ActualNs - due) + held;
    }

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
