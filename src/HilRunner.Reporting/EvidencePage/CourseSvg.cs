using System.Text;
using HilRunner.Reporting.Page;
using HilRunner.Scoring.Pooling;

namespace HilRunner.Reporting.EvidencePage;

/// <summary>A sequential test: failures over trials, with the lines at which it accepts and refuses, and its cut-off.</summary>
internal static class CourseSvg
{
    private const int Width = 700, Height = 220, Left = 40, Right = 680, Top = 10, Bottom = 180;

    public static Markup Draw(SequentialCourse course)
    {
        var test = course.Test;
        int most = test.MostTrials, failures = course.Failed.Count(f => f);
        double highest = Math.Max(failures, test.RejectIntercept + test.Slope * most) + 1;
        double X(double n) => Left + n / most * (Right - Left);
        double Y(double f) => Bottom - f / highest * (Bottom - Top);
        var svg = new StringBuilder();
        // Where it accepts and where it refuses: what a dot in it means.
        double from = Math.Min(most, test.AcceptIntercept / test.Slope);
        svg.Append(Invariant($"<polygon class=\"lane\" points=\"{X(from):0.0},{Y(0):0.0} {X(most):0.0},{Y(Math.Max(0, test.Slope * most - test.AcceptIntercept)):0.0} {X(most):0.0},{Y(0):0.0}\"/>"));
        svg.Append(Invariant($"<polygon class=\"lane\" points=\"{X(0):0.0},{Y(test.RejectIntercept):0.0} {X(most):0.0},{Y(test.RejectIntercept + test.Slope * most):0.0} {X(most):0.0},{Y(highest):0.0} {X(0):0.0},{Y(highest):0.0}\"/>"));
        svg.Append(Invariant($"<line class=\"tick\" x1=\"{Left}\" x2=\"{Right}\" y1=\"{Bottom}\" y2=\"{Bottom}\"/><line class=\"limit\" x1=\"{X(most):0.0}\" x2=\"{X(most):0.0}\" y1=\"{Top}\" y2=\"{Bottom}\"/>"));
        int step = Step(highest), across = Step(most);
        for (int f = 0; f < highest; f += step) { svg.Append(Invariant($"<text class=\"tick-label end\" x=\"{Left - 6}\" y=\"{Y(f) + 4:0.0}\">{f}</text>")); }
        for (int n = 0; n <= most; n += across) { svg.Append(Invariant($"<text class=\"tick-label\" x=\"{X(n):0.0}\" y=\"{Bottom + 16}\">{n}</text>")); }
        svg.Append(Invariant($"<text class=\"tick-label end\" x=\"{Right}\" y=\"{Bottom + 32}\">independent trials</text><text class=\"tick-label begin\" x=\"{Left + 6}\" y=\"{Top + 12}\">refuse</text><text class=\"tick-label end\" x=\"{Right - 6}\" y=\"{Bottom - 6}\">accept</text>"));
        int so = 0;
        var points = new List<string> { Invariant($"{X(0):0.0},{Y(0):0.0}") };
        int shown = Math.Min(course.Failed.Count, most);
        for (int n = 1; n <= shown; n++)
        {
            so += course.Failed[n - 1] ? 1 : 0;
            points.Add(Invariant($"{X(n):0.0},{Y(so):0.0}"));
            if (n == course.DecidedAt) { svg.Append(Invariant($"<circle class=\"ink\" cx=\"{X(n):0.0}\" cy=\"{Y(so):0.0}\" r=\"5\"/>")); }
        }
        svg.Append(Invariant($"<polyline class=\"signal course\" points=\"{string.Join(' ', points)}\"/>"));
        string decided = course.DecidedAt is { } at ? $"decided after {at}" : "not decided";
        string label = HtmlText.Escape(Invariant($"failures over trials: {course.Failed.Count} trials, {failures} failures, {decided}, cut off after {most}"));
        return new(Invariant($"<svg class=\"dots\" style=\"max-width:44rem;min-width:0\" viewBox=\"0 0 {Width} {Height}\" role=\"img\" aria-label=\"{label}\">{svg}</svg>\n<p class=\"quiet\">Failures so far over independent trials; the dot: where it was decided; grey: where it accepts and where it refuses; dashed: the cut-off.</p>\n"));
    }

    private static int Step(double range)
    {
        foreach (int step in (int[])[1, 2, 5, 10, 20, 50, 100, 200, 500]) { if (range / step <= 10) { return step; } }
        return 1000;
    }

    private static string Invariant(FormattableString text) => FormattableString.Invariant(text);
}
