using System.Text;
using HilRunner.Reporting.Page;
using HilRunner.Reporting.RunPage.Timing;

namespace HilRunner.Reporting.SweepPage;

/// <summary>Two parameters: where each boundary lies at each value across, up and down.</summary>
internal static class MapPlot
{
    private const double Width = 640, Left = 76, Right = 16, Top = 14, Height = 260, Bottom = Top + Height, Room = 12;

    public static Markup Of(Sweep sweep, AcrossAxis across)
    {
        double first = (double)sweep.Points[0].Across!.Value, last = (double)sweep.Points[^1].Across!.Value, margin = first == last ? 1 : (last - first) * 0.04;
        var x = new LevelAxis(first - margin, last + margin, Left, Width - Right, across.Unit);
        var y = new LevelAxis((double)sweep.Along.From, (double)sweep.Along.To, Bottom, Top, sweep.Along.Unit);
        var svg = new StringBuilder();
        x.Below(svg, Top, Bottom);
        y.Beside(svg, Left, Width - Right);
        foreach (var boundary in sweep.Points.SelectMany(p => p.Switches.Select(s => (Across: (double)p.Across!.Value, Switch: s))).GroupBy(b => (b.Switch.Below, b.Switch.Above)))
        {
            foreach (bool up in (bool[])[true, false])
            {
                var path = new StringBuilder();
                foreach (var (at, found) in boundary)
                {
                    if ((up ? found.Up : found.Down) is not { } figure) { continue; }
                    double px = x.At(at) + (up ? -3 : 3), py = y.At(figure.Mean);
                    path.Append(path.Length == 0 ? 'M' : 'L').Append(N(px)).Append(' ').Append(N(py));
                    string title = $"<title>{HtmlText.Escape($"{SweepWords.At((decimal)at, sweep)}: {found.Below} to {found.Above}, {(up ? "up" : "down")} {SweepWords.Figure(figure, sweep)}")}</title>";
                    svg.Append($"<path class=\"settling\" d=\"M{N(px)} {N(y.At(figure.Interval.Low))}V{N(y.At(figure.Interval.High))}\"/>");
                    svg.Append(up ? $"<path class=\"ink\" d=\"M{N(px - 4)} {N(py + 3.5)}h8l-4 -7.5z\">{title}</path>" : $"<path class=\"fast\" d=\"M{N(px - 4)} {N(py - 3.5)}h8l-4 7.5z\">{title}</path>");
                }
                svg.Append($"<path class=\"course{(up ? "" : " limit")}\" d=\"{path}\"/>\n");
            }
            // Above the first bar of the boundary: the lines go on from there.
            var (place, nearest) = boundary.First();
            if (nearest.Up is { } top) { svg.Append($"<text class=\"label small{(x.At(place) > Width / 2 ? " right" : "")}\" x=\"{N(x.At(place))}\" y=\"{N(Math.Max(Top + Room, y.At(top.Interval.High) - Room / 2))}\">{HtmlText.Escape($"{nearest.Below} → {nearest.Above}")}</text>\n"); }
        }
        string text = $"Where the class switches, by {across.Title} and {sweep.Along.Title}: the table has the figures";
        return Plot.Frame($"Map: {across.Title} and {sweep.Along.Title}", text, Width, Bottom + 22, svg, "▲ and solid: where the class is entered on the way up; ▽ and dashed: where it is left on the way down; bars: intervals.", level: 3);
    }

    private static string N(double v) => LevelAxis.N(v);
}
