using HilRunner.Reporting.Axis;
using HilRunner.Reporting.Page;
using HilRunner.Scoring;

namespace HilRunner.Reporting.RunPage;

/// <summary>Decision latency (reaction, settling) and, apart from it, report latency: per class as dots with their quantiles.</summary>
internal static class LatencySection
{
    private static readonly string[] Heads = ["Class", "Trials", "Missed", "Already", "p50", "p90", "p95", "p99", "Max", "Mean"];

    public static void Write(HtmlPage page, OutputScore score, int output, string suffix, ClassColours colours)
    {
        page.Add($"<section aria-labelledby=\"latency-{output}\"><h2 id=\"latency-{output}\">Latency{suffix}</h2>\n<div>\n");
        page.Add($"<h3>Reaction, in stimulus time: what the algorithm costs</h3>\n");
        page.Add($"<div class=\"beside\">\n");
        Plot(page, score, score.Reaction, t => t.ReactionNs, $"Reaction of each trial by class{suffix}", colours);
        Table(page, score.Reaction, $"Reaction by class, in s{suffix}", colours);
        page.Add($"</div>\n<details><summary>Settling, in stimulus time</summary>\n");
        Table(page, score.Settling, $"Settling by class, in s{suffix}", colours);
        page.Add($"</details>\n<h3>Report latency, in host time: what a user of the device would see, link included</h3>\n");
        if (score.Report.Values.All(s => s.N == 0)) { page.Add($"<p>{HtmlPage.Absent("neither arrival nor playing times are known for this run")} not known for this run.</p>\n"); }
        else
        {
            page.Add($"<div class=\"beside\">\n");
            Plot(page, score, score.Report, t => t.ReportLatencyNs, $"Report latency of each trial by class{suffix}", colours);
            Table(page, score.Report, $"Report latency by class, in s{suffix}", colours);
            page.Add($"</div>\n");
        }
        page.Add($"</div></section>\n");
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

    private static void Table(HtmlPage page, IReadOnlyDictionary<string, LatencySummary> summaries, string caption, ClassColours colours)
    {
        page.Table(caption, Heads, colours.Names.Where(summaries.ContainsKey).Select(c => Row(c, summaries[c], colours)), "latency");
    }

    private static Markup Row(string name, LatencySummary s, ClassColours colours)
    {
        Markup Cell(double? v) => Markup.Of($"<td class=\"n\">{HtmlPage.FigureOr(Figure.Decimals(v, 3), s.N == 0 ? "no trial to take it from" : "a missed trial counts as endless, and this figure falls on one")}</td>");
        return Markup.Of($"<tr><th scope=\"row\">{colours.Label(name)}</th><td class=\"n\">{s.N}</td><td class=\"n\">{s.Missed}</td><td class=\"n\">{s.Already}</td>{Cell(s.P50)}{Cell(s.P90)}{Cell(s.P95)}{Cell(s.P99)}{Cell(s.Max)}{Cell(s.Mean)}</tr>");
    }
}
