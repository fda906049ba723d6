using System.Globalization;
using System.Text;
using HilRunner.Reporting.Axis;
using HilRunner.Reporting.Page;
using HilRunner.Reporting.Regions;
using HilRunner.Reporting.RunPage.Timing;

namespace HilRunner.Reporting.SuitePage;

/// <summary>One parameter: share of recognised trials above, median reaction below, on one axis; a band where the device stops to recognise.</summary>
internal static class RegionPlot
{
    private const double Width = 460, Left = 50, Right = 14, Top = 12, Height = 110, Gap = 26, Lower = 80;
    private const int MostTicks = 7;

    public static Markup Of(RegionLine line, string heading)
    {
        double from = (double)line.Bins[0].From, to = (double)line.Bins[^1].To, margin = from == to ? 1 : (to - from) * 0.03;
        double X(decimal v) => Left + ((double)v - from + margin) / (to - from + 2 * margin) * (Width - Left - Right);
        double bottom = Top + Height + Gap + Lower;
        var svg = new StringBuilder();
        foreach (RegionBin bin in Ticks(line.Bins))
        {
            string anchor = X(bin.Middle) > Width - Right - 20 ? " end" : "";
            svg.Append($"<path class=\"tick\" d=\"M{N(X(bin.Middle))} {N(Top)}V{N(Top + Height)}M{N(X(bin.Middle))} {N(bottom - Lower)}V{N(bottom)}\"/><text class=\"tick-label{anchor}\" x=\"{N(X(bin.Middle))}\" y=\"{N(bottom + 15)}\">{HtmlText.Escape(line.Parameter.Show(bin.Middle))}</text>\n");
        }
        Edges(svg, line, X);
        Shares(svg, line, X);
        Reactions(svg, line, X, bottom);
        string text = $"Share of recognised trials and median reaction over {line.Parameter.Title}: {line.Edge}";
        return Plot.Frame($"Recognised and reaction over {line.Parameter.Title}", text, Width, bottom + 22, svg, "Above: share of trials recognised; a dot where it is enough, a cross where it is not; grey, the edge between them. Below: median reaction; none where half of the trials or more were missed.");
    }

    private static void Edges(StringBuilder svg, RegionLine line, Func<decimal, double> x)
    {
        int? before = null;
        for (int i = 0; i < line.Points.Count; i++)
        {
            if (line.Points[i].Holds is not { } holds) { continue; }
            if (before is { } b && line.Points[b].Holds != holds)
            {
                double left = x(line.Bins[b].Middle), right = x(line.Bins[i].Middle);
                svg.Append($"<rect class=\"edge\" x=\"{N(left)}\" y=\"{N(Top)}\" width=\"{N(right - left)}\" height=\"{N(Height)}\"/>");
            }
            before = i;
        }
        svg.Append('\n');
    }

    private static void Shares(StringBuilder svg, RegionLine line, Func<decimal, double> x)
    {
        static double Y(double share) => Top + Height * (1 - share);
        foreach (double share in (double[])[0, 0.5, 1])
        {
            svg.Append($"<path class=\"tick\" d=\"M{N(Left)} {N(Y(share))}H{N(Width - Right)}\"/><text class=\"tick-label end\" x=\"{N(Left - 6)}\" y=\"{N(Y(share) + 4)}\">{(share * 100).ToString("0", CultureInfo.InvariantCulture)} %</text>\n");
        }
        Course(svg, [.. line.Points.Select((p, i) => p.Share is { } s ? (x(line.Bins[i].Middle), Y(s)) : ((double, double)?)null)]);
        for (int i = 0; i < line.Points.Count; i++)
        {
            if (line.Points[i].Share is not { } share) { continue; }
            double px = x(line.Bins[i].Middle), py = Y(share);
            string title = $"<title>{HtmlText.Escape($"{line.Bins[i].Label}: {line.Points[i].Count}")}</title>";
            svg.Append(line.Points[i].Holds == true
                ? $"<circle class=\"ink\" cx=\"{N(px)}\" cy=\"{N(py)}\" r=\"4\">{title}</circle>"
                : $"<path class=\"miss\" d=\"M{N(px - 4)} {N(py - 4)}l8 8m0 -8l-8 8\">{title}</path>");
        }
        svg.Append('\n');
    }

    private static void Reactions(StringBuilder svg, RegionLine line, Func<decimal, double> x, double bottom)
    {
        var finite = line.Points.Select(p => p.MedianS is { } s && double.IsFinite(s) ? s : (double?)null).ToList();
        double most = Math.Max(finite.Max() ?? 0, 1e-6) * 1.08;
        double Y(double s) => bottom - s / most * Lower;
        if (finite.All(s => s is null))
        {
            svg.Append($"<text class=\"label small\" x=\"{N(Left)}\" y=\"{N(bottom - Lower / 2)}\">no median reaction: half of the trials or more were missed</text>\n");
            return;
        }
        var (step, ticks) = TimeTicks.Of((long)(most * 1e9), 3);
        foreach (long at in ticks)
        {
            svg.Append($"<path class=\"tick\" d=\"M{N(Left)} {N(Y(at / 1e9))}H{N(Width - Right)}\"/><text class=\"tick-label end\" x=\"{N(Left - 6)}\" y=\"{N(Y(at / 1e9) + 4)}\">{TimeTicks.Label(at, step)}</text>\n");
        }
        Course(svg, [.. finite.Select((s, i) => s is { } seconds ? (x(line.Bins[i].Middle), Y(seconds)) : ((double, double)?)null)]);
        for (int i = 0; i < finite.Count; i++)
        {
            if (finite[i] is { } s) { svg.Append($"<circle class=\"ink\" cx=\"{N(x(line.Bins[i].Middle))}\" cy=\"{N(Y(s))}\" r=\"3\"><title>{HtmlText.Escape($"{line.Bins[i].Label}: {Figure.Seconds(s)}")}</title></circle>"); }
        }
        svg.Append('\n');
    }

    /// <summary>A line through neighbours; broken where a point is not known.</summary>
    private static void Course(StringBuilder svg, IReadOnlyList<(double X, double Y)?> points)
    {
        var path = new StringBuilder();
        bool pen = false;
        foreach (var point in points)
        {
            if (point is { } p) { path.Append($"{(pen ? 'L' : 'M')}{N(p.X)} {N(p.Y)}"); }
            pen = point is not null;
        }
        svg.Append($"<path class=\"course\" d=\"{path}\"/>\n");
    }

    private static IEnumerable<RegionBin> Ticks(IReadOnlyList<RegionBin> bins)
    {
        int every = (bins.Count + MostTicks - 1) / MostTicks;
        return bins.Where((_, i) => i % every == 0);
    }

    private static string N(double v) => v.ToString("0.##", CultureInfo.InvariantCulture);
}
