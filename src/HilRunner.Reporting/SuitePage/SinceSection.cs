using HilRunner.Reporting.Page;
using HilRunner.Scoring.Comparing;

namespace HilRunner.Reporting.SuitePage;

/// <summary>What changed since the build that this one is held against: the first thing to read in the morning. Left out where there is none.</summary>
internal static class SinceSection
{
    private const int MostTrials = 8;

    public static void Write(HtmlPage page, SuiteResult suite)
    {
        if (suite.Comparison is not { } since) { return; }
        page.Add($"<section aria-labelledby=\"since\"><h2 id=\"since\">Since {since.Baseline}</h2>\n<div>\n<p><b>{CompareWords.Of(since.Comparison.Overall)}</b>: {CompareWords.Answer(since)}. <a href=\"{suite.ComparisonPage}\">The whole comparison</a></p>\n");
        var changed = since.Comparison.Differences.Where(d => d.Change is Change.Worse or Change.Better).ToList();
        if (changed.Count > 0)
        {
            page.Table("What changed more than chance explains", ["Measure", "Change", "Seen", "p"],
                changed.Select(d => Markup.Of($"<tr><th scope=\"row\">{CompareWords.Name(d, since.SeveralOutputs)}</th><td>{CompareWords.Of(d.Change)}</td><td>{CompareWords.Shown(d)}</td><td class=\"n\">{CompareWords.P(d)}</td></tr>")), "narrow");
        }
        if (since.Changed.Count > 0)
        {
            page.Table("Trials that came out otherwise, the worst first", ["Scenario", "Class", "Start", "What became of it", "Reports"],
                since.Changed.Take(MostTrials).Select(t => Markup.Of($"<tr><th scope=\"row\">{t.Pair.Scenario}</th><td>{t.Pair.Class}</td><td class=\"n\">{Figure.At(t.Pair.StartNs)}</td><td>{CompareWords.Became(t.Pair)}</td><td><a href=\"{t.BaselineReport}\">before</a> <span class=\"dot\">·</span> <a href=\"{t.CandidateReport}\">now</a></td></tr>")), "narrow");
            int more = Math.Max(0, since.Changed.Count - MostTrials) + since.ChangedMore;
            if (more > 0) { page.Add($"<p class=\"quiet\">{more} more are in the comparison.</p>\n"); }
        }
        page.Add($"</div></section>\n");
    }
}
