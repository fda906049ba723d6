using System.Globalization;

namespace HilRunner.Reporting.RunPage.Timing;

/// <summary>The rig's limit across a plot of lateness.</summary>
internal static class LimitLine
{
    public static string Vertical(double x, double top, double bottom, double right)
    {
        bool room = x < right - 30;
        return $"<path class=\"limit\" d=\"M{N(x)} {N(top)}V{N(bottom)}\"/><text class=\"label small{(room ? "" : " right")}\" x=\"{N(room ? x + 4 : x - 4)}\" y=\"{N(top + 4)}\">limit</text>\n";
    }

    public static string Horizontal(double y, double left, double right) =>
        $"<path class=\"limit\" d=\"M{N(left)} {N(y)}H{N(right)}\"/><text class=\"label small right\" x=\"{N(right)}\" y=\"{N(y - 4)}\">limit</text>\n";

    private static string N(double v) => v.ToString("0.#", CultureInfo.InvariantCulture);
}
