using System.Text;
using HilRunner.Reporting.Page;
using HilRunner.Reporting.RunPage.Timing;
using HilRunner.Scoring.Sweeping;

namespace HilRunner.Reporting.SweepPage;

/// <summary>The response curve: share of the time in the upper class, by level, up and down, with the logistic curves through the trials.</summary>
internal static class CurvePlot
{
    private const double Width = 640, Left = 60, Right = 16, Top = 14, Height = 150, Bottom = Top + Height;
    private const int Points = 200;

    public static Markup Of(SweepPoint point, Switch found, Sweep sweep, string heading)
    {
        var along = sweep.Along;
        var axis = new LevelAxis((double)along.From, (double)along.To, Left, Width - Right, along.Unit);
        var svg = new StringBuilder();
        axis.Below(svg, Top, Bottom);
        foreach (double share in (double[])[0, 0.5, 1]) { svg.Append($"<path class=\"tick\" d=\"M{N(Left)} {N(Y(share))}H{N(Width - Right)}\"/><text class=\"tick-label end\" x=\"{N(Left - 6)}\" y=\"{N(Y(share) + 4)}\">{(share * 100).ToString("0", System.Globalization.CultureInfo.InvariantCulture)} %</text>\n"); }
        Curve(svg, found.CurveUp, axis, along, "course");
        Curve(svg, found.CurveDown, axis, along, "course limit");
        foreach (var bin in point.Levels.Where(l => l.Class == found.Below || l.Class == found.Above).GroupBy(l => (l.Rising, Step: decimal.Floor((l.Level - along.From) / along.By))))
        {
            double share = bin.Average(l => l.Shares.GetValueOrDefault(found.Above)), x = axis.At((double)bin.Average(l => l.Level)), y = Y(share);
            string title = $"<title>{HtmlText.Escape($"{SweepWords.Level(bin.Average(l => l.Level), sweep)} on the way {(bin.Key.Rising ? "up" : "down")}: {found.Above} for {Figure.Share(share)} of the time, {bin.Count()} {(bin.Count() == 1 ? "level" : "levels")}")}</title>";
            svg.Append(bin.Key.Rising ? $"<path class=\"ink\" d=\"M{N(x - 4)} {N(y + 3.5)}h8l-4 -7.5z\">{title}</path>" : $"<path class=\"fast\" d=\"M{N(x - 4)} {N(y - 3.5)}h8l-4 7.5z\">{title}</path>");
        }
        svg.Append('\n');
        string text = $"Share of the time in {found.Above} by {along.Title}; up: {SweepWords.Curve(found.CurveUp, sweep)}; down: {SweepWords.Curve(found.CurveDown, sweep)}";
        return Plot.Frame(heading, text, Width, Bottom + 22, svg, $"Share of the second half of each level in {found.Above}, mean of all loops: ▲ up, ▽ grey down. Lines: logistic curves through the trials (solid up, dashed down); a step where they part sharply.", level: 3);
    }

    private static double Y(double share) => Top + Height * (1 - share);

    private static void Curve(StringBuilder svg, ResponseCurve? curve, LevelAxis axis, SweptAxis along, string css)
    {
        if (curve is not { } c) { return; }
        var path = new StringBuilder();
        if (c.Slope is null) { path.Append($"M{N(axis.At((double)along.From))} {N(Y(0))}H{N(axis.At(c.Midpoint))}V{N(Y(1))}H{N(axis.At((double)along.To))}"); }
        else
        {
            for (int i = 0; i <= Points; i++)
            {
                double level = (double)along.From + (double)(along.To - along.From) * i / Points;
                path.Append(i == 0 ? 'M' : 'L').Append(N(axis.At(level))).Append(' ').Append(N(Y(c.At(level)!.Value)));
            }
        }
        svg.Append($"<path class=\"{css}\" d=\"{path}\"/>\n");
    }

    private static string N(double v) => LevelAxis.N(v);
}
