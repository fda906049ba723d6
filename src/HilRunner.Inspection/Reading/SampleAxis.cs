using HilRunner.Core.Time;
using MathNet.Numerics.Statistics;

namespace HilRunner.Inspection.Reading;

/// <summary>
/// Where the samples of a recording lie in time. Without a time column: evenly, at the stated rate. With one: as it says, made to never
/// go back. A sample that is only out of order stays at the time reached so far; where the clock starts again (no later time
/// within a second) the samples follow on after one step.
/// </summary>
internal sealed class SampleAxis
{
    private readonly long[]? _ns;

    private SampleAxis(SampleRate rate, double stepNs, int count, long[]? ns, IReadOnlyList<int> breaks) =>
        (Rate, StepNs, Count, _ns, Breaks) = (rate, stepNs, count, ns, breaks);

    /// <summary>The stated rate, else the median rate of the time column.</summary>
    public SampleRate Rate { get; }

    /// <summary>Median step of the time column, else one sample at <see cref="Rate"/>.</summary>
    public double StepNs { get; }
    public int Count { get; }

    /// <summary>Samples that do not follow the one before evenly (within half a step): gaps, doubled and backward times. Ascending.</summary>
    public IReadOnlyList<int> Breaks { get; }

    public long At(int sample) => _ns is null ? Rate.TimeOf(sample).Ns : _ns[sample];

    /// <summary>One step after the last sample.</summary>
    public long EndNs => At(Count - 1) + (long)StepNs;

    public long AtOrEnd(int sample) => sample < Count ? At(sample) : EndNs;

    /// <summary>The first sample at or after a time; <see cref="Count"/> where there is none.</summary>
    public int IndexOf(long ns)
    {
        int low = 0, high = Count;
        while (low < high)
        {
            int middle = low + (high - low) / 2;
            if (At(middle) >= ns) { high = middle; } else { low = middle + 1; }
        }
        return low;
    }

    public static SampleAxis Of(InspectedRecording recording)
    {
        int count = recording.SampleCount;
        double? median = MedianStep(recording.TimesNs);
        if (median is not { } step)
        {
            var stated = recording.StatedRate ?? throw new ArgumentException("neither a rate nor times", nameof(recording));
            return new(stated, 1e12 / stated.MilliHertz, count, null, []);
        }
        var rate = recording.StatedRate ?? new SampleRate(Math.Clamp((long)Math.Round(1e12 / step), 1, 10_000_000_000));
        var (ns, breaks) = Forward(recording.TimesNs!, step);
        return new(rate, step, count, ns, breaks);
    }

    /// <summary>Median of the steps between readable neighbours that go forward; null where there are none.</summary>
    public static double? MedianStep(long[]? times)
    {
        if (times is null) { return null; }
        var steps = new double[times.Length];
        int count = 0;
        for (int i = 1; i < times.Length; i++)
        {
            if (times[i] == InspectedRecording.NoTime || times[i - 1] == InspectedRecording.NoTime || times[i] <= times[i - 1]) { continue; }
            steps[count++] = times[i] - times[i - 1];
        }
        if (count == 0) { return null; }
        Array.Resize(ref steps, count);
        return ArrayStatistics.MedianInplace(steps);
    }

    private static (long[] Ns, List<int> Breaks) Forward(long[] times, double step)
    {
        var ns = new long[times.Length];
        var breaks = new List<int>();
        long shift = 0, reached = times[0] == InspectedRecording.NoTime ? 0 : times[0];
        int horizon = Math.Max(10, (int)Math.Min(100_000, 1e9 / step));
        ns[0] = reached;
        for (int i = 1; i < times.Length; i++)
        {
            long before = times[i - 1], now = times[i];
            if (now == InspectedRecording.NoTime)
            {
                ns[i] = reached += (long)step;
                continue;
            }
            if (before != InspectedRecording.NoTime && !IsEven(now - before, step)) { breaks.Add(i); }
            if (now + shift < reached && before != InspectedRecording.NoTime && now < before && !Recovers(times, i, before, horizon))
            {
                shift = reached + (long)step - now;
            }
            ns[i] = reached = Math.Max(reached, now + shift);
        }
        return (ns, breaks);
    }

    /// <summary>As the strict reader has it: a step within half of the median step.</summary>
    public static bool IsEven(long step, double median) => step > 0 && Math.Abs(step - median) <= Core.Recordings.SampleTimes.Jitter * median;

    private static bool Recovers(long[] times, int from, long reached, int horizon)
    {
        int end = (int)Math.Min(times.Length, (long)from + horizon);
        for (int i = from; i < end; i++)
        {
            if (times[i] != InspectedRecording.NoTime && times[i] > reached) { return true; }
        }
        return false;
    }
}
