using System.Globalization;
using HilRunner.Application.Histories;
using HilRunner.Cli.Screen.Terminals;
using HilRunner.Core.Scenarios;
using HilRunner.History.Reading;
using HilRunner.Reporting;
using HilRunner.Scoring;

namespace HilRunner.Cli.Screen;

/// <summary>Builds over time on the terminal.</summary>
internal static class HistoryTable
{
    /// <summary>Eighths of a cell (The Unicode Standard, Block Elements).</summary>
    private const string Levels = "▁▂▃▄▅▆▇█";
    private const char Unknown = '·';

    public static void PrintSuites(IReadOnlyList<SuiteHistory> suites, IReadOnlyList<SuiteEntry> entries)
    {
        var table = new ScreenTable(wide: true);
        foreach (string head in (string[])["suite", "batches", "newest", "build", "verdict"])
        {
            table.AddColumn(head, noWrap: head != "suite");
        }
        foreach (var (suite, entry) in suites.Zip(entries))
        {
            var newest = suite.Batches[0];
            table.AddRow(suite.Name, entry.Batches.ToString(CultureInfo.InvariantCulture),
                When(newest.Started), newest.Build ?? Figure.Absent, Verdict(newest));
        }
        Terminal.Write(table);
    }

    public static void Print(SuiteHistory suite, HistoryFigure figure)
    {
        Terminal.Line($"{suite.Name}: the newest {suite.Batches.Count} {(suite.Batches.Count == 1 ? "batch" : "batches")}");
        var table = new ScreenTable(wide: true);
        table.AddColumn("when (UTC)", noWrap: true);
        table.AddColumn("build");
        table.AddColumn("verdict", noWrap: true);
        table.AddColumn("decided by");
        foreach (var batch in suite.Batches)
        {
            table.AddRow(When(batch.Started), batch.Build ?? Figure.Absent, Verdict(batch), Decided(batch));
        }
        Terminal.Write(table);
        if (suite.Trends.Count == 0)
        {
            Terminal.Line($"no {figure.Shown}{(figure.Class is { } c ? " of " + c : "")} in these batches");
            return;
        }
        var trends = new ScreenTable();
        trends.AddColumn(figure.Shown);
        trends.AddColumn("oldest → newest", noWrap: true);
        trends.AddColumn("newest", right: true, noWrap: true);
        trends.AddColumn("last good before", right: true, noWrap: true);
        foreach (var trend in suite.Trends)
        {
            string name = trend.Class.Length > 0 ? trend.Class : "all";
            trends.AddRow(
                suite.SeveralOutputs && trend.Output.Length > 0 ? $"{name} ({trend.Output})" : name, Line(trend, figure),
                Shown(trend.Values[0], figure), suite.LastGood < 0 ? Figure.Absent : Shown(trend.Values[suite.LastGood], figure));
        }
        Terminal.Write(trends);
    }

    public static void PrintFlipped(IReadOnlyList<FlippedEntry> flipped)
    {
        if (flipped.Count == 0)
        {
            Terminal.Line(
                "no trial came out both ways on one image (images are told apart by their hash: --image, or what the device answers)");
            return;
        }
        var table = new ScreenTable(wide: true);
        table.AddColumn("scenario");
        table.AddColumn("trial");
        table.AddColumn("image", noWrap: true);
        table.AddColumn("recognised", noWrap: true);
        foreach (var f in flipped)
        {
            string at = Figure.At(f.StartNs);
            table.AddRow(f.Scenario, $"{f.Class} at {at}", f.Label.Length > 0
                ? f.Label : f.Sha256[..Math.Min(12, f.Sha256.Length)], Figure.Of((int)f.Recognised, (int)f.Plays));
        }
        Terminal.Write(table);
    }

    /// <summary>Of shares the whole height is 100 %; of others the largest value. A batch without the figure is a point.</summary>
    private static string Line(FigureTrend trend, HistoryFigure figure)
    {
        double most = figure.Measure is "recognised" or "accuracy" ? 1 : trend.Values.Max(v => v?.Value ?? 0);
        return string.Concat(trend.Values.Reverse().Select(v => v?.Value is { } value
            ? Levels[most <= 0 ? 0 : Math.Clamp((int)Math.Round(value / most * (Levels.Length - 1)), 0, Levels.Length - 1)] : Unknown));
    }

    private static string Shown(FigureEntry? entry, HistoryFigure figure)
    {
        if (entry is null) { return Figure.Absent; }
        return figure.Measure switch
        {
            "recognised" => Figure.Of((int)Math.Round((entry.Value ?? 0) * entry.Trials), entry.Trials),
            "accuracy" => Figure.Share(entry.Value),
            "reaction" or "report_latency" => entry.Value is null ? "∞" : Figure.Seconds(entry.Value),
            "chatter_per_minute" => Figure.Of(Measure.ChatterPerMinute, entry.Value),
            _ => Figure.With(entry.Value, null, ""),
        };
    }

    private static string Decided(BatchEntry batch)
    {
        string count = batch.EndedMs is null ? $" ({batch.Runs} of {batch.Planned} runs)" : "";
        string delivery = batch.DeliveryNotShown > 0
            ? $"; delivery not shown in {batch.DeliveryNotShown} of {batch.DeliveryKnown} runs" : "";
        string earlier = batch.Definitions < ScoreJson.Schema ? $" ({DeliveryWords.Earlier})" : "";
        return (batch.Reason.Length > 0 ? batch.Reason : "did not reach its end") + count + delivery + earlier;
    }

    private static Styled Verdict(BatchEntry batch) =>
        Enum.GetValues<Verdict>().Where(v => Verdicts.Word(v) == batch.Verdict)
        .Select(VerdictWord.Of).FirstOrDefault(Figure.Absent);

    private static string When(DateTimeOffset at) => at.UtcDateTime.ToString("yyyy-MM-dd HH:mm", CultureInfo.InvariantCulture);
}
