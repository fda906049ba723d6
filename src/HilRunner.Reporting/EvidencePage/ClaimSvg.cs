using System.Text;
using HilRunner.Core.Scenarios;
using HilRunner.Reporting.Page;
using HilRunner.Scoring.Pooling;

namespace HilRunner.Reporting.EvidencePage;

/// <summary>A claim on an axis of shares: what is claimed, what is shown, and each independent trial as a dot.</summary>
internal static class ClaimSvg
{
    private const int Width = 700, Left = 10, Right = 690, DotsPerRow = 60;

    public static Markup Draw(PooledOutcome p)
    {
        if (p.Judged.Limit.Measure != Measure.Recognised || p.Units == 0) { return Markup.Empty; }
        var svg = new StringBuilder();
        static double X(double share) => Left + share * (Right - Left);
        const int axis = 44;
        foreach (int percent in (int[])[0, 25, 50, 75, 100])
        {
            svg.Append(Invariant($"<line class=\"tick\" x1=\"{X(percent / 100.0):0.0}\" x2=\"{X(percent / 100.0):0.0}\" y1=\"12\" y2=\"{axis}\"/><text class=\"tick-label{(percent == 0 ? " begin" : percent == 100 ? " end" : "")}\" x=\"{X(percent / 100.0):0.0}\" y=\"{axis + 14}\">{percent} %</text>"));
        }
        double bound = p.Judged.Bound, shown = p.Shown ?? 0;
        bool atLeast = p.Judged.Limit.AtLeast is not null;
        double low = atLeast ? shown : 0, high = atLeast ? 1 : shown;
        svg.Append(Invariant($"<rect class=\"column\" x=\"{X(low):0.0}\" y=\"20\" width=\"{Math.Max(1, X(high) - X(low)):0.0}\" height=\"16\"/>"));
        svg.Append(Invariant($"<line class=\"limit\" x1=\"{X(bound):0.0}\" x2=\"{X(bound):0.0}\" y1=\"6\" y2=\"{axis}\"/>"));
        int recognised = p.UnitsRecognised ?? 0, rows = (p.Units + DotsPerRow - 1) / DotsPerRow;
        for (int i = 0; i < p.Units; i++)
        {
            double x = Left + 6 + i % DotsPerRow * 11, y = axis + 30 + i / DotsPerRow * 13;
            svg.Append(i < recognised
                ? Invariant($"<circle class=\"ink\" cx=\"{x:0.0}\" cy=\"{y:0.0}\" r=\"4\"/>")
                : Invariant($"<path class=\"miss\" d=\"M{x - 4:0.0} {y - 4:0.0} l8 8 m0 -8 l-8 8\"/>"));
        }
        string side = atLeast ? "at least" : "at most";
        string label = HtmlText.Escape(Invariant($"claimed {side} {bound * 100:0.#} %, shown {side} {shown * 100:0.#} %, {recognised} of {p.Units} independent trials recognised"));
        return new(Invariant($"<svg class=\"dots\" style=\"max-width:44rem;min-width:0\" viewBox=\"0 0 {Width} {axis + 36 + rows * 13}\" role=\"img\" aria-label=\"{label}\">{svg}</svg>\n<p class=\"quiet\">Grey: where the share lies, at the claim's confidence; dashed: the claim. Below: each independent trial, a dot where every play of it was recognised, a cross where not.</p>\n"));
    }

    private static string Invariant(FormattableString text) => FormattableString.Invariant(text);
}
