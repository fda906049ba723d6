using HilRunner.Reporting.Page;
using HilRunner.Scoring;

namespace HilRunner.Reporting.SuitePage;

/// <summary>Every run of the suite, worst first; what passed is folded where there are many.</summary>
internal static class RunsSection
{
    private const int Fewest = 10, Most = 30;
    private static readonly string[] Heads = ["Scenario", "Repeat", "Verdict", "Reason", "Deciding figure", "Note"];

    public static void Write(HtmlPage page, SuiteResult suite)
    {
        page.Add($"<section aria-labelledby=\"runs\"><h2 id=\"runs\">Runs</h2>\n<div>\n");
        var ordered = suite.Runs.Select((run, index) => (Run: run, Index: index))
            .OrderBy(r => r.Run.PlayedAgain).ThenByDescending(r => r.Run.Verdict == Verdict.None ? Verdict.Pass : r.Run.Verdict).ThenBy(r => r.Run.Verdict).ThenBy(r => r.Index).Select(r => r.Run).ToList();
        // All that did not pass is shown, within reason; what passed is only worth a glance.
        int open = Math.Clamp(ordered.Count(r => r.Verdict != Verdict.Pass && !r.PlayedAgain), Fewest, Most);
        if (ordered.Count == 0) { page.Add($"<p>No run was played.</p>\n"); }
        else { page.Table("Runs, worst first", Heads, ordered.Take(open).Select(Row), "runs"); }
        if (ordered.Count > open)
        {
            page.Add($"<details><summary>The other {ordered.Count - open} runs</summary>\n");
            page.Table("The other runs", Heads, ordered.Skip(open).Select(Row), "runs");
            page.Add($"</details>\n");
        }
        page.Add($"</div></section>\n");
    }

    /// <summary>The run's name, leading to its report where there is one.</summary>
    public static Markup Link(SuiteRun run)
    {
        string repeat = run.Repeat > 1 ? FormattableString.Invariant($", repeat {run.Repeat}") : "";
        return run.Report is { Length: > 0 } report && IsRelative(report)
            ? Markup.Of($"<a href=\"{report}\">{run.Scenario}{repeat}</a>")
            : Markup.Of($"{run.Scenario}{repeat}");
    }

    /// <summary>Only addresses beside the report become links: no scheme, so nothing that runs or leads out.</summary>
    private static bool IsRelative(string address) => !address.Contains(':') && !address.StartsWith("//", StringComparison.Ordinal) && !address.StartsWith('\\');

    private static Markup Row(SuiteRun run)
    {
        string css = run.Verdict is Verdict.Fail or Verdict.Error ? "bad" : run.Verdict is Verdict.Inconc or Verdict.None ? "uncounted" : "";
        string reason = run.Reasons.Count > 0 ? run.Reasons[0] : Words.WithoutReason(run.Verdict);
        LimitOutcome? limit = run.Limits.Count > 0 ? run.Limits[0] : null;
        string noFigure = limit is null ? "no limit was judged" : limit.Why.Length > 0 ? limit.Why : "not defined in this run";
        Markup figure = limit is null ? HtmlPage.Absent(noFigure) : Markup.Of($"{limit.Text}: {HtmlPage.FigureOr(Words.Measured(limit), noFigure)}");
        return Markup.Of($"<tr class=\"{css}\"><th scope=\"row\">{Link(run with { Repeat = 1 })}</th><td class=\"n\">{run.Repeat}</td><td><span class=\"outcome\">{Words.Of(run.Verdict)}</span></td><td class=\"text\">{reason}</td><td class=\"text\">{figure}</td><td>{Note(run)}</td></tr>");
    }

    private static string Note(SuiteRun run)
    {
        var notes = new List<string>();
        if (run.PlayedAgain) { notes.Add("played again: does not count"); }
        if (run.Incomplete) { notes.Add("incomplete"); }
        if (run.RigFault) { notes.Add("rig at fault"); }
        if (run.Delivery == Core.Runs.DeliveryOutcome.NotShown) { notes.Add("delivery not shown"); }
        if (run.EarlierDefinitions) { notes.Add(DeliveryWords.Earlier); }
        if (run.Invented) { notes.Add("made-up data"); }
        return string.Join(", ", notes);
    }
}
