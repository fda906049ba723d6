using HilRunner.Reporting.Axis;
using HilRunner.Reporting.Page;
using HilRunner.Scoring;

namespace HilRunner.Reporting.RunPage;

/// <summary>
/// The two latencies side by side and never mixed: decision latency (reaction, settling) in stimulus time, report latency in
/// host time. Each says what it means and how it was timed; per class as dots and as quantiles with their uncertainty.
/// </summary>
internal static class LatencySection
{
    private static readonly string[] Heads = ["Class", "±", "p50", "p90", "p95", "p99", "Max"];

    public static void Write(HtmlPage page, StoredRun run, OutputScore score, int output, string suffix, ClassColours colours)
    {
        page.Add($"<section aria-labelledby=\"latency-{output}\"><h2 id=\"latency-{output}\">Latency{suffix}</h2>\n<div class=\"latencies\">\n");
        page.Add($"<div><h3>Decision latency, in stimulus time</h3>\n<p>What the algorithm costs: how much motion the device needed before it decided, whatever link and host took. {HowTimed.Decisions(run, score)}</p>\n");
        Plot(page, score, score.Reaction, t => t.ReactionNs, $"Reaction of each trial by class{suffix}", colours);
        Table(page, score.Reaction, $"Reaction by class, in s{suffix}", colours, HowTimed.NotProven);
        Table(page, score.Settling, $"Settling by class, in s{suffix}", colours, HowTimed.NotProven);
        page.Add($"</div>\n<div><h3>Report latency, in host time</h3>\n<p>What a user of the device would see: from the moment the onset's sample was sent until the first byte of the message arrived, link included. {HowTimed.Reports(run, score)}</p>\n");
        if (score.Report.Values.Any(s => s.N > 0))
        {
            Plot(page, score, score.Report, t => t.ReportLatencyNs, $"Report latency of each trial by class{suffix}", colours);
            Table(page, score.Report, $"Report latency by class, in s{suffix}", colours, HowTimed.WakeNotKnown);
        }
        page.Add($"</div>\n</div></section>\n");
    }

    private static void Plot(HtmlPage page, OutputScore score, IReadOnlyDictionary<string, LatencySummary> summaries, Func<TrialScore, long?> value, string label, ClassColours colours)
    {
        var rows = new List<DotRow>();
        foreach (string name in colours.Names.Where(summaries.ContainsKey))
        {
            var trials = score.Trials.Where(t => t.Class == name && t.Counted && !t.Already).ToList();
            double[] seconds = [.. trials.Where(t => !t.Missed).Select(value).OfType<long>().Select(ns => ns / 1e9).Order()];
            var s = summaries[name];
            rows.Add(new(name, colours.IndexOf(name), seconds, trials.Count(t => t.Missed), s.P50, s.P95));
        }
        page.Add(DotPlot.Of(rows, label));
    }

    private static void Table(HtmlPage page, IReadOnlyDictionary<string, LatencySummary> summaries, string caption, ClassColours colours, string whyUnknown)
    {
        if (summaries.Count == 0) { return; }
        page.Table(caption, Heads, colours.Names.Where(summaries.ContainsKey).Select(c => Row(c, summaries[c], colours, whyUnknown)), "latency");
    }

    private static Markup Row(string name, LatencySummary s, ClassColours colours, string whyUnknown)
    {
        double? u = s.UncertaintyNs / 1e9;
        Markup Cell(double? v) => Markup.Of($"<td class=\"n\">{HtmlPage.FigureOr(v is { } x && double.IsFinite(x) ? Figure.Matching(x, u) : Figure.Absent, s.N == 0 ? "no trial to take it from" : "a missed trial counts as endless, and this figure falls on one")}</td>");
        Markup bound = s.N == s.Missed ? HtmlPage.Absent("no latency to have one") : HowTimed.Bound(s.UncertaintyNs, whyUnknown);
        return Markup.Of($"<tr><th scope=\"row\">{colours.Label(name)}<small>{Counts(s)}</small></th><td class=\"n\">{bound}</td>{Cell(s.P50)}{Cell(s.P90)}{Cell(s.P95)}{Cell(s.P99)}{Cell(s.Max)}</tr>");
    }

    private static string Counts(LatencySummary s)
    {
        string counts = s.N == 1 ? "1 trial" : FormattableString.Invariant($"{s.N} trials");
        if (s.Missed > 0) { counts += FormattableString.Invariant($", {s.Missed} missed"); }
        return s.Already > 0 ? counts + FormattableString.Invariant($"; {s.Already} already there") : counts;
    }
}
