using HilRunner.Core.Files;
using HilRunner.Core.Time;

namespace HilRunner.Inspection.Reading;

/// <summary>
/// Where the samples of a recording lie in time. Without a time column: evenly, at the stated rate. With one: as it says, made to never
/// go back. A sample that is only out of order stays at the time reached so far; where the clock starts again (no later time
/// within a second) the samples follow on after one step.
/// </summary>
internal sealed class SampleAxis
{
    private readonly Series<long>? _ns;

    private SampleAxis(SampleRate rate, double stepNs, int count, Series<long>? ns, Series<int> breaks) =>
        (Rate, StepNs, Count, _ns, Breaks) = (rate, stepNs, count, ns, breaks);

    /// <summary>The stated rate, else the median rate of the time column.</summary>
    public SampleRate Rate { get; }

    /// <summary>Median step of the time column, else one sample at <see cref="Rate"/>.</summary>
    public double StepNs { get; }
    public int Count { get; }

    /// <summary>Samples that do not follow the one before evenly (within half a step): gaps, doubled and backward times. Ascending.</summary>
    public Series<int> Breaks { get; }

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
            return new(stated, 1e12 / stated.MilliHertz, count, null, new Series<int>([]));
        }
        var rate = recording.StatedRate ?? new SampleRate(Math.Clamp((long)Math.Round(1e12 / step), 1, 10_000_000_000));
        var (ns, breaks) = Forward(recording.TimesNs!, step);
        return new(rate, step, count, ns, breaks);
    }

    /// <summary>Median of the steps between readable neighbours that go forward; null where there are none.</summary>
    public static double? MedianStep(Series<long>? times)
    {
        if (times is null) { return null; }
        var steps = new SeriesBuilder<double>();
        long before = InspectedRecording.NoTime;
        foreach (long now in times)
        {
            if (now != InspectedRecording.NoTime && before != InspectedRecording.NoTime && now > before)
            {
                steps.Add(now - before);
            }
            before = now;
        }
        return steps.Length == 0 ? null : Selection.Median(steps.Build());
    }

    private static (Series<long> Ns, Series<int> Breaks) Forward(Series<long> times, double step)
    {
        var ns = new SeriesBuilder<long>();
        var breaks = new SeriesBuilder<int>();
        long shift = 0, reached = times[0] == InspectedRecording.NoTime ? 0 : times[0];
        var ahead = new LargestAhead(times, Math.Max(10, (int)Math.Min(100_000, 1e9 / step)));
        ns.Add(reached);
        for (int i = 1; i < times.Length; i++)
        {
            long before = times[i - 1], now = times[i];
            if (now == InspectedRecording.NoTime)
            {
                ns.Add(reached += (long)step);
                continue;
            }
            if (before != InspectedRecording.NoTime && !IsEven(now - before, step)) { breaks.Add(i); }
            if (now + shift < reached && before != InspectedRecording.NoTime && now < before && ahead.Of(i) <= before)
            {
                shift = reached + (long)step - now;
            }
            ns.Add(reached = Math.Max(reached, now + shift));
        }
        return (ns.Build(), breaks.Build());
    }

    /// <summary>As the strict reader has it: a step within half of the median step.</summary>
    public static bool IsEven(long step, double median) => step > 0 && Math.Abs(step - median) <= Core.Recordings.SampleTimes.Jitter * median;
}
