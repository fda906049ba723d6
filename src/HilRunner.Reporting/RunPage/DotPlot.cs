using System.Globalization;
using System.Text;
using HilRunner.Reporting.Axis;
using HilRunner.Reporting.Page;

namespace HilRunner.Reporting.RunPage;

/// <param name="Colour">Index of the class; negative: the page's ink.</param>
/// <param name="Seconds">Ascending.</param>
/// <param name="Missed">Drawn as crosses beyond the end of the scale.</param>
internal sealed record DotRow(string Name, int Colour, double[] Seconds, int Missed, double? P50, double? P95);

/// <summary>Times as dots on a common scale, one row per class; dots that would cover each other are stacked. p50 and p95 as marks.</summary>
internal static class DotPlot
{
    private const double Width = 460, Left = 104, Right = 44, Radius = 3, RowHeight = 42;
    /// <summary>Dots per row; of more, every k-th is drawn, the extremes always, and the label says so.</summary>
    private const int MostDots = 1_500;

    public static Markup Of(IReadOnlyList<DotRow> rows, string label)
    {
        var drawn = rows.Where(r => r.Seconds.Length > 0 || r.Missed > 0).ToList();
        if (drawn.Count == 0) { return Markup.Empty; }
        double most = drawn.SelectMany(r => r.Seconds).DefaultIfEmpty(1).Max();
        var (step, ticks) = TimeTicks.Of((long)(Math.Max(most, 1e-6) * 1.04e9), 6);
        double end = Math.Max(most * 1.04, 1e-6);
        double X(double s) => Left + s / end * (Width - Left - Right);
        var svg = new StringBuilder();
        double bottom = drawn.Count * RowHeight + 4;
        foreach (long at in ticks)
        {
            double x = X(at / 1e9);
            svg.Append($"<path class=\"tick\" d=\"M{N(x)} 2V{N(bottom)}\"/><text class=\"tick-label\" x=\"{N(x)}\" y=\"{N(bottom + 14)}\">{TimeTicks.Label(at, step)}</text>\n");
        }
        for (int i = 0; i < drawn.Count; i++) { Row(svg, drawn[i], i * RowHeight + RowHeight / 2 + 2, X); }
        bool thinned = drawn.Any(r => r.Seconds.Length > MostDots);
        string text = HtmlText.Escape(label + (thinned ? ", thinned out" : "") + "; a vertical mark is the median, a bracket the 95th percentile, a cross a missed trial; the table has the numbers");
        return new($"<div class=\"plot\"><div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"{HtmlText.Escape(label)}\"><svg class=\"dots\" viewBox=\"0 0 {N(Width)} {N(bottom + 20)}\" role=\"img\" aria-label=\"{text}\" xmlns=\"http://www.w3.org/2000/svg\">\n{svg}</svg></div>\n<p class=\"quiet\">Vertical mark: median. Bracket: 95th percentile. Cross: missed.</p></div>\n");
    }

    private static void Row(StringBuilder svg, DotRow row, double y, Func<double, double> x)
    {
        string name = HtmlText.Visible(row.Name);
        if (name.Length > 15) { name = name[..(char.IsHighSurrogate(name[13]) ? 13 : 14)] + "…"; }
        svg.Append($"<text class=\"label\" x=\"0\" y=\"{N(y + 4)}\">{HtmlText.Escape(name)}</text><path class=\"base\" d=\"M{N(Left)} {N(y)}H{N(Width - Right)}\"/>\n");
        string fill = row.Colour < 0 ? "" : $" fill=\"{ClassColours.At(row.Colour).Hue}\"";
        int every = Math.Max(1, (row.Seconds.Length + MostDots - 1) / MostDots);
        int stacked = 0;
        double lastX = double.NegativeInfinity;
        for (int i = 0; i < row.Seconds.Length; i++)
        {
            if (i % every != 0 && i != row.Seconds.Length - 1) { continue; }
            double at = x(row.Seconds[i]);
            stacked = at - lastX < 1.5 * Radius ? stacked + 1 : 0;
            if (stacked == 0) { lastX = at; }
            double offset = (stacked % 2 == 0 ? 1 : -1) * ((stacked + 1) / 2) * 1.6 * Radius;
            svg.Append($"<circle class=\"dot\"{fill} cx=\"{N(at)}\" cy=\"{N(y + Math.Clamp(offset, -15, 15))}\" r=\"{N(Radius)}\"/>");
        }
        if (row.P50 is { } p50 && double.IsFinite(p50)) { svg.Append($"<path class=\"quantile\" d=\"M{N(x(p50))} {N(y - 17)}v34\"/>"); }
        if (row.P95 is { } p95 && double.IsFinite(p95)) { svg.Append($"<path class=\"quantile\" d=\"M{N(x(p95) - 4)} {N(y - 15)}h4v30h-4\"/>"); }
        if (row.Missed > 0)
        {
            svg.Append($"<path class=\"miss\" d=\"M{N(Width - Right + 12)} {N(y - 4)}l8 8m0 -8l-8 8\"/><text class=\"label small\" x=\"{N(Width - Right + 24)}\" y=\"{N(y + 4)}\">{row.Missed.ToString(CultureInfo.InvariantCulture)}</text>");
        }
        svg.Append('\n');
    }

    private static string N(double v) => v.ToString("0.#", CultureInfo.InvariantCulture);
}
