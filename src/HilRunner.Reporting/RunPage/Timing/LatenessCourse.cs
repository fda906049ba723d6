using System.Globalization;
using System.Text;
using HilRunner.Reporting.Axis;
using HilRunner.Reporting.Page;

namespace HilRunner.Reporting.RunPage.Timing;

/// <summary>Lateness over the run, the run-in too: the worst sample of each column, on a logarithmic scale, so that a stall is seen where it was.</summary>
internal static class LatenessCourse
{
    private const double Width = 460, Left = 44, Right = 12, Top = 18, Height = 130;
    private const int Columns = 200, MostMarks = 50;

    public static Markup Of(StoredRun run, long limitNs)
    {
        var due = run.Playout.Where(p => p.DueNs is not null).Select(p => (Due: p.DueNs!.Value, Late: p.ActualNs - p.DueNs!.Value)).ToList();
        long start = Math.Min(0, due.Min(d => d.Due)), end = Math.Max(due.Max(d => d.Due), start + 1);
        var worst = new long?[Columns];
        foreach (var (at, late) in due)
        {
            ref long? column = ref worst[Math.Min(Columns - 1, (int)((double)(at - start) / (end - start) * Columns))];
            if (column is null || late > column) { column = late; }
        }
        var scale = new LogScale(Math.Max(due.Max(d => d.Late), limitNs));
        double X(double ns) => Left + (ns - start) / (end - start) * (Width - Left - Right);
        double Y(double ns) => Top + Height * (1 - scale.Share(ns));
        var svg = new StringBuilder();
        foreach (var (share, label) in scale.Ticks())
        {
            string y = N(Top + Height * (1 - share));
            svg.Append($"<path class=\"tick\" d=\"M{N(Left)} {y}H{N(Width - Right)}\"/><text class=\"tick-label end\" x=\"{N(Left - 5)}\" y=\"{N(Top + Height * (1 - share) + 4)}\">{label}</text>\n");
        }
        var (step, ticks) = TimeTicks.Of(end, 5);
        foreach (long at in ticks)
        {
            string anchor = X(at) > Width - Right - 16 ? " end" : X(at) < Left + 10 ? " begin" : "";
            svg.Append($"<path class=\"tick\" d=\"M{N(X(at))} {N(Top)}V{N(Top + Height)}\"/><text class=\"tick-label{anchor}\" x=\"{N(X(at))}\" y=\"{N(Top + Height + 14)}\">{TimeTicks.Label(at, step)}</text>\n");
        }
        double width = (Width - Left - Right) / Columns;
        for (int c = 0; c < Columns; c++)
        {
            if (worst[c] is not { } late) { continue; }
            // Never lower than a unit: a column without height is a column without samples.
            double y = Math.Min(Y(late), Top + Height - 1);
            svg.Append($"<rect class=\"column\" x=\"{N(Left + c * width)}\" y=\"{N(y)}\" width=\"{N(width)}\" height=\"{N(Top + Height - y)}\"/>");
        }
        svg.Append('\n');
        svg.Append(LimitLine.Horizontal(Y(limitNs), Left, Width - Right));
        foreach (RunIncident i in run.Incidents.Where(i => i.At is { } at && at.Ns >= start && at.Ns <= end).Take(MostMarks))
        {
            svg.Append($"<path class=\"trouble\" d=\"M{N(X(i.At!.Value.Ns))} {N(Top)}V{N(Top + Height)}\"><title>{HtmlText.Escape(i.What)}</title></path>\n");
        }
        string trouble = run.Incidents.Any(i => i.At is not null) ? " Upright dashes: trouble." : "";
        string text = $"Worst lateness along the run on a logarithmic scale, limit {Figure.Nanoseconds(limitNs)}; latest {Figure.Nanoseconds(due.Max(d => d.Late))} at {Figure.At(due.MaxBy(d => d.Late).Due)}";
        return Plot.Frame("Lateness over the run", text, Width, Top + Height + 20, svg, $"The worst sample of each column, latest at {Figure.At(due.MaxBy(d => d.Late).Due)}. Dashed: the rig's limit.{trouble}");
    }

    private static string N(double v) => v.ToString("0.##", CultureInfo.InvariantCulture);
}
