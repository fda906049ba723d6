using System.Globalization;
using System.Text;
using HilRunner.Reporting.Page;

namespace HilRunner.Reporting.SweepPage;

/// <summary>An axis of levels with round ticks, across a plot or up it.</summary>
internal sealed class LevelAxis(double from, double to, double begin, double end, string unit)
{
    private const int MostTicks = 7;

    public double At(double level) => begin + (level - from) / (to - from) * (end - begin);

    /// <summary>Ticks under a plot, with lines up to its top.</summary>
    public void Below(StringBuilder svg, double top, double bottom)
    {
        foreach (var (level, label) in Ticks())
        {
            string anchor = At(level) > Math.Max(begin, end) - 24 ? " end" : "";
            svg.Append($"<path class=\"tick\" d=\"M{N(At(level))} {N(top)}V{N(bottom)}\"/><text class=\"tick-label{anchor}\" x=\"{N(At(level))}\" y=\"{N(bottom + 15)}\">{HtmlText.Escape(label)}</text>\n");
        }
    }

    /// <summary>Ticks left of a plot, with lines to its right.</summary>
    public void Beside(StringBuilder svg, double left, double right)
    {
        foreach (var (level, label) in Ticks())
        {
            svg.Append($"<path class=\"tick\" d=\"M{N(left)} {N(At(level))}H{N(right)}\"/><text class=\"tick-label end\" x=\"{N(left - 6)}\" y=\"{N(At(level) + 4)}\">{HtmlText.Escape(label)}</text>\n");
        }
    }

    private IEnumerable<(double Level, string Label)> Ticks()
    {
        double rough = (to - from) / MostTicks, power = Math.Pow(10, Math.Floor(Math.Log10(rough))), step = power * (rough / power <= 1 ? 1 : rough / power <= 2 ? 2 : rough / power <= 5 ? 5 : 10);
        int digits = Math.Max(0, (int)Math.Ceiling(-Math.Log10(step) - 1e-9));
        for (double k = Math.Ceiling(from / step - 1e-9); k * step <= to + 1e-9 * step; k++) { yield return (k * step, $"{Figure.Decimals(k * step, digits)} {unit}"); }
    }

    public static string N(double v) => v.ToString("0.##", CultureInfo.InvariantCulture);
}
