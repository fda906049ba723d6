using HilRunner.Reporting.Axis;
using HilRunner.Reporting.Page;
using HilRunner.Scoring;

namespace HilRunner.Reporting.RunPage;

/// <summary>Every limit with what was measured, the deciding ones first.</summary>
internal static class LimitsSection
{
    public static void Write(HtmlPage page, StoredRun run, ClassColours colours)
    {
        page.Add($"<section aria-labelledby=\"limits\"><h2 id=\"limits\">Limits</h2>\n<div>\n");
        if (run.Score.Limits.Count == 0) { page.Add($"<p>No limit was given, so nothing was judged.</p>\n"); }
        else
        {
            page.Table("Limits, the deciding ones first", ["Limit", "Measured", "Needs", "Outcome", "Why"], LimitOrder.DecidingFirst(run.Score).Select(l => Row(l, colours)), "limits");
        }
        page.Add($"</div></section>\n");
    }

    public static Markup Row(LimitOutcome l, ClassColours colours)
    {
        string confidence = l.Limit.Confidence is { } c ? $", confidence {Figure.Share(c)}" : "";
        Markup measured = HtmlPage.FigureOr(Words.Measured(l), l.Why.Length > 0 ? l.Why : "not defined in this run");
        return Markup.Of($"<tr class=\"{Words.Of(l.Outcome)}\"><th scope=\"row\">{LimitName.Of(l, colours)}</th><td class=\"n\">{measured}</td><td>{Words.Bound(l)}{confidence}</td><td><span class=\"outcome\">{Words.Of(l.Outcome)}</span></td><td>{l.Why}</td></tr>");
    }
}
