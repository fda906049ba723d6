using System.Globalization;

namespace HilRunner.Reporting.RunPage.Timing;

/// <summary>A logarithmic scale of times from 1 µs to a whole decade; what lies below its start stands at its start.</summary>
internal sealed class LogScale
{
    private const double StartNs = 1_000;

    /// <param name="mostNs">The largest time it must hold.</param>
    public LogScale(long mostNs) => Decades = Math.Clamp((int)Math.Ceiling(Math.Log10(Math.Max(mostNs, StartNs * 10) / StartNs) - 1e-9), 1, 12);

    public int Decades { get; }

    /// <summary>0 at 1 µs, 1 at the end.</summary>
    public double Share(double ns) => Math.Clamp(Math.Log10(Math.Max(ns, StartNs) / StartNs) / Decades, 0, 1);

    public IEnumerable<(double Share, string Label)> Ticks() => Enumerable.Range(0, Decades + 1)
        .Select(d => ((double)d / Decades, Label(d)));

    private static string Label(int decade)
    {
        string unit = decade < 3 ? "µs" : decade < 6 ? "ms" : "s";
        int power = decade < 6 ? decade % 3 : decade - 6;
        return Math.Pow(10, power).ToString("0", CultureInfo.InvariantCulture) + " " + unit;
    }
}
