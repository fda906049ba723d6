using HilRunner.Cli.Screen.Terminals;
using HilRunner.Reporting;
using HilRunner.Scoring;

namespace HilRunner.Cli.Screen;

/// <summary>The two latencies by class, apart and each with its uncertainty: reaction in stimulus time, report latency in host time.</summary>
internal static class LatencyTable
{
    /// <param name="runs">The scores of one output, of one run or of several.</param>
    public static void Print(IReadOnlyList<OutputScore> runs, string title)
    {
        var reaction = PooledLatency.Reaction(runs);
        var report = PooledLatency.Report(runs);
        if (reaction.Count == 0) { return; }
        var table = new ScreenTable();
        if (title.Length > 0) { table.Title(title); }
        table.AddColumn("latency, s");
        foreach (string head in (string[])["reaction p50", "p95", "±", "report p50", "p95", "±"])
        {
            table.AddColumn(head, right: true, noWrap: true);
        }
        foreach (var (name, r) in reaction)
        {
            var s = report[name];
            table.AddRow(
                name, Value(r.P50, r), Value(r.P95, r), Bound(r, "not proven"),
                Value(s.P50, s), Value(s.P95, s), Bound(s, "not known"));
        }
        Terminal.Write(table);
        if (report.Values.All(s => s.N == 0))
        {
            Terminal.Line("report latency  not known: it needs a run in real time, and the times of arrival");
        }
    }

    private static string Value(double? seconds, LatencySummary s) =>
        seconds is { } v && double.IsInfinity(v) ? "∞" : Figure.Matching(seconds, s.UncertaintyNs / 1e9);

    private static string Bound(LatencySummary s, string unknown)
    {
        if (s.N == s.Missed) { return Figure.Absent; }
        return s.UncertaintyNs switch { null => unknown, 0 => "exact", { } ns => Figure.Uncertainty(ns / 1e9) };
    }
}
