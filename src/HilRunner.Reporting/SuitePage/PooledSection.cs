using HilRunner.Reporting.Page;
using HilRunner.Scoring;

namespace HilRunner.Reporting.SuitePage;

/// <summary>Limits with a confidence, judged once over the pooled independent trials. Left out where there are none.</summary>
internal static class PooledSection
{
    public static void Write(HtmlPage page, SuiteResult suite)
    {
        if (suite.PooledLimits.Count == 0) { return; }
        page.Add($"<section aria-labelledby=\"pooled\"><h2 id=\"pooled\">Limits over all trials</h2>\n<div>\n");
        page.Table("Limits judged once, over the independent trials of all runs", ["Limit", "Measured", "Needs", "Outcome", "Why"], LimitOrder.DecidingFirst(suite.PooledLimits).Select(Row), "limits");
        page.Add($"</div></section>\n");
    }

    private static Markup Row(LimitOutcome l)
    {
        string confidence = l.Limit.Confidence is { } c ? $", confidence {Figure.Share(c)}" : "";
        Markup measured = HtmlPage.FigureOr(Words.Measured(l), l.Why.Length > 0 ? l.Why : "not defined");
        return Markup.Of($"<tr class=\"{Words.Of(l.Outcome)}\"><th scope=\"row\">{l.Text}</th><td class=\"n\">{measured}</td><td>{Words.Bound(l)}{confidence}</td><td><span class=\"outcome\">{Words.Of(l.Outcome)}</span></td><td>{l.Why}</td></tr>");
    }
}
