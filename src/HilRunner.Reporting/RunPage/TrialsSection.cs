using HilRunner.Reporting.Axis;
using HilRunner.Reporting.Page;
using HilRunner.Scoring;

namespace HilRunner.Reporting.RunPage;

/// <summary>Every trial of one output, worst first; each row and its place on the time axis point at each other.</summary>
internal static class TrialsSection
{
    private const int Open = 15;
    private const int Most = 1_000;
    private static readonly string[] Heads = ["Trial", "Class", "Start, s", "Length, s", "Outcome", "Reaction, s", "Settling, s", "± of these", "Report latency, s", "± of it", "Dropouts", "Chatter"];

    public static string Id(int output, int trial) => FormattableString.Invariant($"trial-{output}-{trial}");

    public static void Write(HtmlPage page, OutputScore score, int output, string suffix, ClassColours colours)
    {
        page.Add($"<section aria-labelledby=\"trials-{output}\"><h2 id=\"trials-{output}\">Trials{suffix}</h2>\n<div>\n");
        var ordered = score.Trials.Select((trial, index) => (Trial: trial, Index: index))
            .OrderBy(t => TrialWords.Rank(t.Trial)).ThenByDescending(t => t.Trial.ReactionNs ?? 0).ThenBy(t => t.Index).ToList();
        int counted = score.Trials.Count(t => t.Counted);
        int recognised = score.Trials.Count(t => t.Counted && t.Recognised);
        if (ordered.Count == 0) { page.Add($"<p>The reference holds no trial for this output.</p>\n"); }
        else
        {
            page.Add($"<p>Recognised: <b>{Figure.Of(recognised, counted)}</b>{Uncounted(ordered.Count - counted)}. The number of a trial shows it on the time axis.</p>\n");
            page.Table($"Trials{suffix}, worst first", Heads, ordered.Take(Open).Select(t => Row(t.Trial, t.Index, output, colours)), "trials");
        }
        if (ordered.Count > Open)
        {
            int more = Math.Min(ordered.Count, Most) - Open;
            page.Add($"<details><summary>The other {more} trials</summary>\n");
            page.Table($"The other trials{suffix}", Heads, ordered.Skip(Open).Take(more).Select(t => Row(t.Trial, t.Index, output, colours)), "trials");
            page.Add($"</details>\n");
        }
        if (ordered.Count > Most) { page.Add($"<p class=\"quiet\">{ordered.Count - Most} more are in {Core.Runs.RunFiles.Score}.</p>\n"); }
        page.Add($"</div></section>\n");
    }

    private static string Uncounted(int n) => n == 0 ? "" : FormattableString.Invariant($"; {n} too short to count");

    private static Markup Row(TrialScore t, int index, int output, ClassColours colours)
    {
        string outcome = TrialWords.Outcome(t);
        string css = t.Recognised ? "" : t.Counted ? "bad" : "uncounted";
        string noReaction = t.Missed ? "missed: the class never showed" : "not measured";
        string noSettling = t.IsEvent ? "an event does not settle" : "another class showed at the end";
        return Markup.Of($"""
            <tr id="{Id(output, index)}" class="{css}"><th scope="row"><button type="button" class="go" data-output="{output}" data-trial="{index}" aria-label="Show trial {index + 1} on the time axis">{index + 1}</button></th><td>{colours.Label(t.Class)}</td><td class="n">{Figure.Decimals(t.StartNs / 1e9, 3)}</td><td class="n">{Figure.Decimals((t.EndNs - t.StartNs) / 1e9, 3)}</td><td><span class="outcome">{outcome}</span></td><td class="n">{HtmlPage.FigureOr(t.Missed ? Figure.Absent : Figure.Matching(t.ReactionNs / 1e9, t.UncertaintyNs / 1e9), noReaction)}</td><td class="n">{HtmlPage.FigureOr(Figure.Matching(t.SettlingNs / 1e9, t.UncertaintyNs / 1e9), noSettling)}</td><td class="n">{Decision(t)}</td><td class="n">{HtmlPage.FigureOr(Figure.Matching(t.ReportLatencyNs / 1e9, t.ReportUncertaintyNs / 1e9), NoReport(t))}</td><td class="n">{Report(t)}</td><td class="n">{Count(t.Dropouts)}</td><td class="n">{Count(t.Chatter)}</td></tr>
            """);
    }

    private static Markup Decision(TrialScore t) =>
        HowTimed.Bound(t.UncertaintyNs, t.Missed ? "missed: there is no reaction" : t.Already ? "already there: no decision ended it" : HowTimed.NotProven);

    private static Markup Report(TrialScore t) =>
        HowTimed.Bound(t.ReportUncertaintyNs, t.ReportLatencyNs is null ? NoReport(t) : HowTimed.WakeNotKnown);

    private static string NoReport(TrialScore t) =>
        t.Missed ? "missed: the class never showed" : t.Already ? "already there: no message reported it" : "arrival or playing time not known";

    private static Markup Count(int? n) => n is { } value ? Markup.Of($"{value}") : HtmlPage.Absent("an event has none");
}
