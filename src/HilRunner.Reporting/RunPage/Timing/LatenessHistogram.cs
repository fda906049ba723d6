using System.Globalization;
using System.Text;
using HilRunner.Core.Runs;
using HilRunner.Reporting.Page;

namespace HilRunner.Reporting.RunPage.Timing;

/// <summary>
/// Lateness as a histogram, both axes logarithmic: one late sample among a million is seen beside the bulk. With median, 99 % and 99.9 % as
/// marks, and the health limit as a line.
/// </summary>
internal static class LatenessHistogram
{
    private const double Width = 460, Left = 44, Right = 12, Top = 18, Height = 130;
    private const int BinsPerDecade = 10;

    public static Markup Of(long[] sortedNs, RigHealth health, long limitNs)
    {
        var scale = new LogScale(Math.Max(sortedNs[^1], limitNs));
        long[] bins = Bins(sortedNs, scale);
        double most = Math.Log10(bins.Max()) + 1;
        double X(double ns) => Left + scale.Share(ns) * (Width - Left - Right);
        // A single sample stands one unit high: the axis starts below 1, at a tenth.
        double Y(double count) => Top + Height * (1 - (Math.Log10(count) + 1) / (most + 0.15));
        var svg = new StringBuilder();
        foreach (var (share, label) in scale.Ticks())
        {
            string x = N(Left + share * (Width - Left - Right));
            string anchor = share == 1 ? " end" : "";
            svg.Append($"<path class=\"tick\" d=\"M{x} {N(Top)}V{N(Top + Height)}\"/><text class=\"tick-label{anchor}\" x=\"{x}\" y=\"{N(Top + Height + 14)}\">{label}</text>\n");
        }
        for (double count = 1; count <= bins.Max(); count *= 10)
        {
            if (most > 5 && Math.Log10(count) % 2 != 0) { continue; }
            svg.Append($"<path class=\"tick\" d=\"M{N(Left)} {N(Y(count))}H{N(Width - Right)}\"/><text class=\"tick-label end\" x=\"{N(Left - 5)}\" y=\"{N(Y(count) + 4)}\">{Count(count)}</text>\n");
        }
        double width = (Width - Left - Right) / bins.Length;
        for (int b = 0; b < bins.Length; b++)
        {
            if (bins[b] == 0) { continue; }
            double y = Y(bins[b]);
            svg.Append($"<rect class=\"column\" x=\"{N(Left + b * width + 0.5)}\" y=\"{N(y)}\" width=\"{N(width - 1)}\" height=\"{N(Top + Height - y)}\"/>");
        }
        svg.Append('\n');
        Mark(svg, X, health.LateP50Ns, "M{0} {1}v-6");
        Mark(svg, X, health.LateP99Ns, "M{0} {1}v-6m-3 0h6");
        Mark(svg, X, health.LateP999Ns, "M{0} {1}v-6m-3 -3h6m-6 3h6");
        svg.Append(LimitLine.Vertical(X(limitNs), Top - 6, Top + Height, Width - Right));
        string text = $"Histogram of lateness on logarithmic axes: median {Figure.Nanoseconds(health.LateP50Ns)}, 99 % within {Figure.Nanoseconds(health.LateP99Ns)}, 99.9 % within {Figure.Nanoseconds(health.LateP999Ns)}, latest {Figure.Nanoseconds(health.LateMaxNs)}; limit {Figure.Nanoseconds(limitNs)}";
        return Plot.Frame("Samples by lateness", text, Width, Top + Height + 20, svg, "Both axes are logarithmic. Marks above the columns: median, 99 % (one bar), 99.9 % (two bars). Dashed: the rig's limit.");
    }

    private static long[] Bins(long[] sortedNs, LogScale scale)
    {
        var bins = new long[scale.Decades * BinsPerDecade];
        foreach (long ns in sortedNs) { bins[Math.Min(bins.Length - 1, (int)(scale.Share(ns) * bins.Length))]++; }
        return bins;
    }

    private static void Mark(StringBuilder svg, Func<double, double> x, long? ns, string path)
    {
        if (ns is not { } at) { return; }
        svg.Append($"<path class=\"quantile\" d=\"{string.Format(CultureInfo.InvariantCulture, path, N(x(at)), N(Top - 2))}\"/>\n");
    }

    private static string Count(double count) => count < 1_000 ? N(count) : count < 1e6 ? N(count / 1e3) + " k" : N(count / 1e6) + " M";

    private static string N(double v) => v.ToString("0.#", CultureInfo.InvariantCulture);
}
