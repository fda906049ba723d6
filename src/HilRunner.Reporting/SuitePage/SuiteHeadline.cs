using HilRunner.Reporting.Page;
using HilRunner.Scoring;

namespace HilRunner.Reporting.SuitePage;

/// <summary>The first screen of a suite: verdict, how many runs came out how, what to do next.</summary>
internal static class SuiteHeadline
{
    public static void Write(HtmlPage page, SuiteResult suite)
    {
        string build = suite.Build.Label ?? suite.Build.Image ?? "not named";
        string took = suite.Ended is { } ended ? $"took {Dates.Span(ended - suite.Started)}" : "not finished";
        page.Add($"<a class=\"skip\" href=\"#runs\">Skip to the runs</a>\n<header>\n<p class=\"kicker\">Suite report <span class=\"dot\">·</span> {suite.Name} <span class=\"dot\">·</span> build {build} <span class=\"dot\">·</span> {Dates.Of(suite.Started)} <span class=\"dot\">·</span> {took}</p>\n");
        VerdictStamp.Write(page, suite.Verdict, suite.Reasons, Answer(suite));
        if (suite.Ended is null) { page.Add($"<p class=\"notice\"><b>Incomplete.</b> The suite did not reach its end; what follows covers the runs there are.</p>\n"); }
        if (suite.Runs.Any(r => r.Invented)) { page.Add($"<p class=\"notice\"><b>Made-up data.</b> Some runs played invented motion: they show how the device and the rig behave, not how well real motion is recognised.</p>\n"); }
        NotesBeside.Write(page, DeliveryWords.Notes(suite));
        page.Add($"<div class=\"first\">\n<div class=\"figures\">\n");
        var counted = suite.Runs.Where(r => !r.PlayedAgain).ToList();
        int again = suite.Runs.Count - counted.Count;
        int passed = counted.Count(r => r.Verdict == Verdict.Pass);
        if (suite.Comparison is { } since)
        {
            page.Add($"<div class=\"card\"><p class=\"card-name\">since {since.Baseline}</p><p class=\"card-figure\">{CompareWords.Of(since.Comparison.Overall)}</p><p class=\"card-bound\"><a href=\"#since\">what changed</a></p></div>\n");
        }
        page.Add($"<div class=\"card\"><p class=\"card-name\">runs passed</p><p class=\"card-figure\">{passed} of {counted.Count}</p><p class=\"card-bound\">{Others(counted, again)}</p></div>\n");
        if (suite.DeliveryNotShown is > 0 and var notShown)
        {
            page.Add($"<div class=\"card\"><p class=\"card-name\">delivery not shown</p><p class=\"card-figure\">{notShown} of {suite.Runs.Count(r => r.Counts)}</p><p class=\"card-bound\">runs that count: nothing proves that everything arrived</p></div>\n");
        }
        if (LimitOrder.DecidingFirst(suite.PooledLimits) is [{ } pooled, ..])
        {
            var l = pooled.Judged;
            Markup measured = pooled.UnitsRecognised is { } k ? Markup.Of($"{k} of {pooled.Units}") : HtmlPage.FigureOr(Words.Measured(l), l.Why);
            page.Add($"<div class=\"card\"><p class=\"card-name\">{l.Text}</p><p class=\"card-figure\">{measured}</p><p class=\"card-bound\">independent trials <span class=\"dot\">·</span> {Words.Of(l.Outcome)}</p></div>\n");
        }
        page.Add($"</div>\n<section class=\"next\" aria-labelledby=\"next-title\"><h2 id=\"next-title\">What to do next</h2>\n<ul>\n");
        foreach (Markup step in Steps(suite, counted)) { page.Add($"<li>{step}</li>\n"); }
        page.Add($"</ul></section>\n</div>\n</header>\n");
    }

    private static string Answer(SuiteResult suite) => suite.Verdict switch
    {
        Verdict.Pass when suite.DeliveryNotShown > 0 =>
            "This build may go on, as far as this suite shows, if everything arrived: that is not shown.",
        Verdict.Fail when suite.DeliveryNotShown > 0 =>
            "This build should not go on, unless something was lost on the link: that nothing was is not shown.",
        Verdict.Pass => "This build may go on, as far as this suite shows.",
        Verdict.Fail => "This build should not go on.",
        Verdict.Inconc => "Not known: something could not be judged.",
        Verdict.Error => "Not known: something could not be carried out.",
        _ => "Not known: there was nothing to judge it by.",
    };

    private static string Others(List<SuiteRun> counted, int again)
    {
        var parts = new List<string>();
        void Part(int n, string what) { if (n > 0) { parts.Add(FormattableString.Invariant($"{n} {what}")); } }
        foreach (Verdict v in (Verdict[])[Verdict.Error, Verdict.Fail, Verdict.Inconc, Verdict.None]) { Part(counted.Count(r => r.Verdict == v), v == Verdict.Fail ? "failed" : Words.Of(v)); }
        Part(counted.Count(r => r.Incomplete), "incomplete");
        Part(again, "played again and left out");
        return string.Join(", ", parts);
    }

    private static IEnumerable<Markup> Steps(SuiteResult suite, List<SuiteRun> counted)
    {
        if (counted.Count == 0) { yield return Markup.Of($"No run was played: see the log, then start the suite again."); yield break; }
        var error = counted.FirstOrDefault(r => r.Verdict == Verdict.Error);
        if (error is not null) { yield return Markup.Of($"Put right what stopped {RunsSection.Link(error)}, then resume the suite."); }
        var fail = counted.FirstOrDefault(r => r.Verdict == Verdict.Fail);
        if (fail is not null) { yield return Markup.Of($"Open {RunsSection.Link(fail)}: it is the first that failed."); }
        var faulty = counted.FirstOrDefault(r => r.RigFault);
        if (faulty is not null) { yield return Markup.Of($"Check the rig: it was at fault in {RunsSection.Link(faulty)}, and its runs have to be played again."); }
        if (suite.PooledLimits.Any(l => l.Judged.Outcome == Outcome.Open)) { yield return Markup.Of($"Some <a href=\"#pooled\">limits over all trials</a> are open: more independent recordings are needed, not more repeats."); }
        if (suite.Verdict == Verdict.Pass) { yield return Markup.Of($"Nothing has to be done for this suite."); }
        if (suite.Verdict == Verdict.None) { yield return Markup.Of($"Give the scenarios limits, then score the runs again."); }
    }
}
