using System.Text;
using HilRunner.Reporting.Page;
using HilRunner.Reporting.RunPage.Timing;
using HilRunner.Scoring.Sweeping;

namespace HilRunner.Reporting.SweepPage;

/// <summary>The loop: which class the device settled at, level by level, on the way up and on the way down.</summary>
internal static class LoopPlot
{
    private const double Width = 640, Left = 110, Right = 16, Top = 14, Lane = 54, Apart = 7;

    public static Markup Of(SweepPoint point, Sweep sweep, string heading)
    {
        List<string> classes = [.. point.Switches.SelectMany(s => new[] { s.Below, s.Above }).Concat(point.Levels.Select(l => l.Class ?? "")).Where(c => c.Length > 0).Distinct()];
        double bottom = Top + Math.Max(1, classes.Count) * Lane;
        var axis = new LevelAxis((double)sweep.Along.From, (double)sweep.Along.To, Left, Width - Right, sweep.Along.Unit);
        double Y(string name) => bottom - (classes.IndexOf(name) + 0.5) * Lane;
        var svg = new StringBuilder();
        axis.Below(svg, Top, bottom);
        foreach (string name in classes) { svg.Append($"<text class=\"label right\" x=\"{N(Left - 10)}\" y=\"{N(Y(name) + 4)}\">{HtmlText.Escape(name)}</text>\n"); }
        foreach (Switch found in point.Switches)
        {
            Course(svg, found.Up, axis, Y(found.Below) - Apart, Y(found.Above) - Apart);
            Course(svg, found.Down, axis, Y(found.Below) + Apart, Y(found.Above) + Apart);
        }
        foreach (var level in point.Levels.Where(l => l.Class is not null))
        {
            double x = axis.At((double)level.Level), y = Y(level.Class!) + (level.Rising ? -Apart : Apart);
            string title = $"<title>{HtmlText.Escape($"{SweepWords.Level(level.Level, sweep)} on the way {(level.Rising ? "up" : "down")}, loop {level.Loop}: {level.Class}{(level.Settled ? "" : ", still changing")}")}</title>";
            string css = level.Settled ? level.Rising ? "ink" : "fast" : "miss";
            svg.Append(level.Rising ? $"<path class=\"{css}\" d=\"M{N(x - 3.5)} {N(y + 3)}h7l-3.5 -6.5z\">{title}</path>" : $"<path class=\"{css}\" d=\"M{N(x - 3.5)} {N(y - 3)}h7l-3.5 6.5z\">{title}</path>");
        }
        svg.Append('\n');
        string said = string.Join("; ", point.Switches.Select(s => $"{s.Below} to {s.Above}: up {SweepWords.Figure(s.Up, sweep)}, down {SweepWords.Figure(s.Down, sweep)}"));
        string text = $"Class by {sweep.Along.Title}: {(said.Length > 0 ? said : "it does not switch")}";
        return Plot.Frame(heading, text, Width, bottom + 22, svg, "▲ on the way up, ▽ grey on the way down: the class that the device had settled at, level by level; hollow where it still changed when the level ended. Grey bands: where it switches, with the interval.", level: 3);
    }

    /// <summary>The band in which a leg goes from one class to the other, and a line through its middle.</summary>
    private static void Course(StringBuilder svg, MeanInterval? figure, LevelAxis axis, double from, double to)
    {
        if (figure is not { } f) { return; }
        double low = axis.At(f.Interval.Low), high = axis.At(f.Interval.High), top = Math.Min(from, to);
        svg.Append($"<rect class=\"edge\" x=\"{N(low)}\" y=\"{N(top)}\" width=\"{N(Math.Max(1, high - low))}\" height=\"{N(Math.Abs(from - to))}\"/><path class=\"course\" d=\"M{N(axis.At(f.Mean))} {N(from)}V{N(to)}\"/>\n");
    }

    private static string N(double v) => LevelAxis.N(v);
}
