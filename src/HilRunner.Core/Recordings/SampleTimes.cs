using System.Globalization;
using HilRunner.Core.Files;
using HilRunner.Core.Time;

namespace HilRunner.Core.Recordings;

/// <summary>
/// The rate of a recording from its time column, and whether the samples are evenly spaced. A recording is a series at one
/// rate; a gap or a doubled row would shift everything after it against the labels.
/// </summary>
internal static class SampleTimes
{
    /// <summary>How far a sample may lie from its even place: half a step, and <see cref="Drift"/> of the time since the first.</summary>
    public const double Jitter = 0.5;

    /// <summary>Two clocks without a common reference differ by up to about this much (200 ppm).</summary>
    public const double Drift = 200e-6;

    /// <summary>The stated rate, else the mean rate of the column in whole millihertz; null when there is neither or after a fault.</summary>
    /// <param name="stated">From the side file or the format.</param>
    /// <param name="remedy">What to do when the rate is not known.</param>
    public static SampleRate? Rate(MotionTable table, SampleRate? stated, string remedy, FaultList faults)
    {
        if (table.TimesNs is not { Length: > 1 } times)
        {
            if (stated is null) { faults.Add(0, 0, "no sample rate", "a stated rate or a time column over two samples or more", remedy); }
            return stated;
        }
        double medianNs = MedianStep(times);
        for (int i = 1; i < times.Length; i++)
        {
            double step = times[i] - times[i - 1];
            if (step > 0 && Math.Abs(step - medianNs) <= Jitter * medianNs) { continue; }
            faults.Add(table.FirstLine + i, 0, $"a step of {Seconds(step)} s from the sample before",
                $"even steps of {Seconds(medianNs)} s (the median), within half a step",
                "cut the recording at the gap, or resample it evenly");
        }
        if (faults.Any) { return null; }
        double spanNs = times[^1] - times[0];
        var rate = stated ?? FromSpan(spanNs, times.Length - 1, faults);
        double stepNs = stated is { } s ? 1e12 / s.MilliHertz : spanNs / (times.Length - 1);
        for (int i = 1; i < times.Length; i++)
        {
            double elapsed = times[i] - times[0];
            if (Math.Abs(elapsed - i * stepNs) <= Jitter * stepNs + Drift * elapsed) { continue; }
            faults.Add(table.FirstLine + i, 0, $"a sample {Seconds(elapsed)} s after the first",
                $"{Seconds(i * stepNs)} s, at {(stated is { } r ? $"the stated rate of {r}" : "the mean rate of the time column")}",
                stated is null ? "cut the recording where its rate changes, or resample it evenly" : "correct the stated rate or the time column");
            break;
        }
        return rate;
    }

    private static SampleRate? FromSpan(double spanNs, int steps, FaultList faults)
    {
        double milliHertz = Math.Round(1e12 * steps / spanNs);
        if (milliHertz is >= 1 and <= 1e10) { return new((long)milliHertz); }
        faults.Add(0, 0, $"samples {Seconds(spanNs / steps)} s apart", "a rate from 1 mHz to 10 MHz");
        return null;
    }

    private static double MedianStep(long[] times)
    {
        var steps = new long[times.Length - 1];
        for (int i = 0; i < steps.Length; i++) { steps[i] = times[i + 1] - times[i]; }
        Array.Sort(steps);
        int middle = steps.Length / 2;
        return steps.Length % 2 == 1 ? steps[middle] : (steps[middle - 1] + (double)steps[middle]) / 2;
    }

    private static string Seconds(double ns) => (ns / 1e9).ToString("0.#########", CultureInfo.InvariantCulture);
}
