using System.Globalization;
using System.Text;
using HilRunner.Core.Shakers;
using HilRunner.Reporting.Page;
using HilRunner.Reporting.RunPage.Timing;

namespace HilRunner.Reporting.RunPage.Table;

/// <summary>What the table made of what it was told, by frequency: gain, phase and coherence, one under the other, wherever something was told.</summary>
internal static class ResponsePlot
{
    private const double Width = 640, Left = 60, Right = 16, Height = 84, Gap = 16, Top = 14;
    /// <summary>Of the highest density told: with less there is nothing to divide by.</summary>
    private const double LeastDensity = 1e-4;
    private const double MostGain = 2;

    public static Markup Of(TableResponse response, double fromHz, double toHz, string heading)
    {
        double least = response.Told.Max() * LeastDensity;
        int[] shown = [.. Enumerable.Range(1, response.Told.Length - 1).Where(k => response.Told[k] >= least && k * response.StepHz >= fromHz && k * response.StepHz <= toHz)];
        double X(double hz) => Left + Math.Log(hz / fromHz) / Math.Log(toHz / fromHz) * (Width - Right - Left);
        var svg = new StringBuilder();
        double bottom = Top + 3 * Height + 2 * Gap;
        foreach (double hz in Decades(fromHz, toHz)) { svg.Append($"<path class=\"tick\" d=\"M{N(X(hz))} {N(Top)}V{N(bottom)}\"/><text class=\"tick-label{(X(hz) > Width - Right - 24 ? " end" : "")}\" x=\"{N(X(hz))}\" y=\"{N(bottom + 15)}\">{hz.ToString("0.##", CultureInfo.InvariantCulture)} Hz</text>\n"); }
        Panel(svg, 0, "gain", [0, 1, 2], g => $"{g:0}×", g => g / MostGain, shown, response, k => Math.Min(MostGain, response.Transfer[k].Magnitude), X);
        foreach (double edge in (double[])[1 - TableOutcome.Tolerance, 1 + TableOutcome.Tolerance]) { svg.Append($"<path class=\"course limit\" d=\"M{N(Left)} {N(Y(0, edge / MostGain))}H{N(Width - Right)}\"/>\n"); }
        Panel(svg, 1, "phase", [-180, 0, 180], p => $"{p:0}°", p => (p + 180) / 360, shown, response, k => response.Transfer[k].Phase * 180 / Math.PI, X);
        Panel(svg, 2, "coherence", [0, 1], c => $"{c:0}", c => c, shown, response, k => response.Coherence[k], X);
        string text = shown.Length == 0 ? "No frequency was told" : FormattableString.Invariant($"Gain {shown.Min(k => response.Transfer[k].Magnitude):0.##} to {shown.Max(k => response.Transfer[k].Magnitude):0.##} and coherence from {shown.Min(k => response.Coherence[k]):0.##} on, by frequency");
        return Plot.Frame(heading, text, Width, bottom + 22, svg, FormattableString.Invariant($"Gain with its tolerance (dashed), phase, coherence; windows of {response.Length} values, {response.StepHz:0.##} Hz apart; only where something was told. A coherence of 1: all that was measured follows from what was told; the rest is noise and distortion."), level: 3);
    }

    private static double Y(int panel, double share) => Top + panel * (Height + Gap) + Height * (1 - share);

    private static void Panel(StringBuilder svg, int panel, string name, double[] ticks, Func<double, string> label, Func<double, double> share, int[] shown, TableResponse response, Func<int, double> value, Func<double, double> x)
    {
        foreach (double tick in ticks) { svg.Append($"<path class=\"tick\" d=\"M{N(Left)} {N(Y(panel, share(tick)))}H{N(Width - Right)}\"/><text class=\"tick-label end\" x=\"{N(Left - 6)}\" y=\"{N(Y(panel, share(tick)) + 4)}\">{HtmlText.Escape(label(tick))}</text>\n"); }
        svg.Append($"<text class=\"label small\" x=\"{N(Left + 6)}\" y=\"{N(Y(panel, 1) + 12)}\">{name}</text>\n");
        var path = new StringBuilder();
        for (int i = 0; i < shown.Length; i++)
        {
            bool goesOn = i > 0 && shown[i] == shown[i - 1] + 1;
            path.Append(goesOn ? 'L' : 'M').Append(N(x(shown[i] * response.StepHz))).Append(' ').Append(N(Y(panel, share(value(shown[i])))));
            // One that stands alone is still seen.
            if (!goesOn) { path.Append("h1"); }
        }
        if (path.Length > 0) { svg.Append($"<path class=\"signal\" d=\"{path}\"/>\n"); }
    }

    private static IEnumerable<double> Decades(double from, double to)
    {
        for (double power = Math.Pow(10, Math.Floor(Math.Log10(from))); power <= to; power *= 10)
        {
            foreach (double step in (double[])[1, 2, 5])
            {
                if (power * step >= from * 0.999 && power * step <= to * 1.001) { yield return power * step; }
            }
        }
    }

    private static string N(double v) => v.ToString("0.##", CultureInfo.InvariantCulture);
}
