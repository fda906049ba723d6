using HilRunner.Reporting.Page;
using HilRunner.Scoring;
using HilRunner.Scoring.Pooling;

namespace HilRunner.Reporting.SuitePage;

/// <summary>Limits with a confidence, judged once over the pooled independent trials. Left out where there are none.</summary>
internal static class PooledSection
{
    public static void Write(HtmlPage page, SuiteResult suite)
    {
        if (suite.PooledLimits.Count == 0) { return; }
        page.Add($"<section aria-labelledby=\"pooled\"><h2 id=\"pooled\">Limits over all trials</h2>\n<div>\n");
        page.Table("Limits judged once, over the independent trials of all runs", ["Limit", "Needs", "Shown", "Outcome", "Independent trials", "All plays", "Why"], LimitOrder.DecidingFirst(suite.PooledLimits).Select(Row), "limits");
        page.Add($"<p class=\"quiet\">Independent trials: {string.Join("; ", suite.PooledLimits.Select(p => p.Rule).Distinct())}. A bound is exact and one-sided (of false alarms, that of a Poisson count over the time heard); it counts each independent trial as its worst play for what is to be shown, and as its best play against the limit. All plays counts repeats and variations each, which show repeatability and narrow no bound.</p>\n");
        page.Add($"</div></section>\n");
    }

    private static Markup Row(PooledOutcome pooled)
    {
        var l = pooled.Judged;
        string confidence = l.Limit.Confidence is { } c ? $", confidence {Figure.Share(c)}" : "";
        string side = l.Limit.AtLeast is null ? "at most " : "at least ";
        Markup shown = pooled.Shown is { } bound && double.IsFinite(bound) ? Markup.Of($"{side}{Figure.Of(l.Limit.Measure, bound)}") : HtmlPage.Absent(l.Why);
        Markup units = pooled.Heard is { } heard ? Markup.Of($"{pooled.Units} ({AlarmJudge.Hours(heard.OnceNs)})")
            : pooled.UnitsRecognised is { } k ? Markup.Of($"{Figure.Of(k, pooled.Units)}") : Markup.Of($"{pooled.Units}");
        Markup plays = pooled.Heard is { } all ? Markup.Of($"{all.AllAlarms} in {AlarmJudge.Hours(all.AllNs)}")
            : pooled.PlaysRecognised is { } p ? Markup.Of($"{Figure.Of(p, pooled.Plays)}")
            : Markup.Of($"{pooled.Plays}, {Words.Measured(l)}");
        return Markup.Of($"<tr class=\"{Words.Of(l.Outcome)}\"><th scope=\"row\">{Name(l)}</th><td>{Words.Bound(l)}{confidence}</td><td class=\"n\">{shown}</td><td><span class=\"outcome\">{Words.Of(l.Outcome)}</span></td><td class=\"n\">{units}</td><td class=\"n\">{plays}</td><td>{l.Why}</td></tr>");
    }

    /// <summary>What is limited; the bound has a column of its own.</summary>
    private static string Name(LimitOutcome l) =>
        string.Join(' ', new[] { Words.Of(l.Limit.Measure), l.Limit.Statistic?.ToString().ToLowerInvariant(), l.Limit.Class, l.Output.Length > 0 ? $"({l.Output})" : null }.Where(w => w is not null));
}
