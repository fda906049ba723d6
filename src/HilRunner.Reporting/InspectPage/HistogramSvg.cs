using System.Globalization;
using System.Text;
using HilRunner.Inspection;
using HilRunner.Reporting.Page;

namespace HilRunner.Reporting.InspectPage;

/// <summary>Counts as columns; the scale of counts is a root, so that a few strays beside thousands still show.</summary>
internal static class HistogramSvg
{
    private const double Width = 460, Height = 130, Left = 4, Right = 4;

    public static Markup Of(Histogram h, string name, string title, string note, int decimals)
    {
        double most = Math.Sqrt(h.Counts.Max());
        double column = (Width - Left - Right) / h.Counts.Length;
        var svg = new StringBuilder();
        for (int i = 0; i < h.Counts.Length; i++)
        {
            if (h.Counts[i] == 0) { continue; }
            double height = Math.Max(1, Math.Sqrt(h.Counts[i]) / most * Height);
            string range = $"{Edge(h, i, decimals)} to {Edge(h, i + 1, decimals)} {h.Unit}: {h.Counts[i].ToString(CultureInfo.InvariantCulture)}";
            svg.Append($"<rect class=\"column\" x=\"{N(Left + i * column)}\" y=\"{N(Height + 4 - height)}\" width=\"{N(Math.Max(0.5, column - 1))}\" height=\"{N(height)}\"><title>{HtmlText.Escape(range)}</title></rect>\n");
        }
        svg.Append($"<path class=\"base\" d=\"M{N(Left)} {N(Height + 4.5)}H{N(Width - Right)}\"/>");
        int middle = h.Counts.Length / 2;
        Tick(svg, Left, "begin", Edge(h, 0, decimals));
        if (h.Counts.Length > 1) { Tick(svg, Left + middle * column, "", Edge(h, middle, decimals)); }
        Tick(svg, Width - Right, "end", $"{Edge(h, h.Counts.Length, decimals)} {h.Unit}");
        int peak = Array.IndexOf(h.Counts, h.Counts.Max());
        string all = h.Counts.Sum().ToString(CultureInfo.InvariantCulture);
        string label = $"{title}: {all} values from {Edge(h, 0, decimals)} to {Edge(h, h.Counts.Length, decimals)} {h.Unit}, most from {Edge(h, peak, decimals)} to {Edge(h, peak + 1, decimals)}";
        return new($"""
            <div class="plot"><h3>{HtmlText.Escape(title)}</h3><div class="scroll" tabindex="0" role="region" aria-label="{HtmlText.Escape($"{title}: {name}")}"><svg class="dots" viewBox="0 0 {N(Width)} {N(Height + 24)}" role="img" aria-label="{HtmlText.Escape(label)}" xmlns="http://www.w3.org/2000/svg">
            {svg}</svg></div>
            <p class="quiet">{HtmlText.Escape(label)}. Heights are roots of counts; {HtmlText.Escape(note)}.</p></div>

            """);
    }

    private static void Tick(StringBuilder svg, double x, string anchor, string text) =>
        svg.Append($"<text class=\"tick-label {anchor}\" x=\"{N(x)}\" y=\"{N(Height + 18)}\">{HtmlText.Escape(text)}</text>\n");

    private static string Edge(Histogram h, int i, int decimals) => Figure.Decimals(h.From + i * h.Width, decimals);

    private static string N(double v) => v.ToString("0.#", CultureInfo.InvariantCulture);
}
