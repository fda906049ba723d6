using System.Globalization;
using HilRunner.Cli.Histories;
using HilRunner.Core.Scenarios;
using HilRunner.History.Reading;
using HilRunner.Reporting;
using HilRunner.Scoring;
using Spectre.Console;

namespace HilRunner.Cli.Screen;

/// <summary>Builds over time on the terminal.</summary>
internal static class HistoryTable
{
    /// <summary>Eighths of a cell (The Unicode Standard, Block Elements).</summary>
    private const string Levels = "▁▂▃▄▅▆▇█";
    private const char Unknown = '·';

    public static void PrintSuites(IReadOnlyList<SuiteHistory> suites, IReadOnlyList<SuiteEntry> entries)
    {
        var table = new Table().Border(TableBorder.Simple).Expand();
        foreach (string head in (string[])["suite", "batches", "newest", "build", "verdict"]) { table.AddColumn(head == "suite" ? new TableColumn(head) : new TableColumn(head).NoWrap()); }
        foreach (var (suite, entry) in suites.Zip(entries))
        {
            var newest = suite.Batches[0];
            table.AddRow(Markup.Escape(suite.Name), entry.Batches.ToString(CultureInfo.InvariantCulture), When(newest.Started), Markup.Escape(newest.Build ?? Figure.Absent), Verdict(newest));
        }
        AnsiConsole.Write(table);
    }

    public static void Print(SuiteHistory suite, HistoryFigure figure)
    {
        AnsiConsole.MarkupLine(Markup.Escape($"{suite.Name}: the newest {suite.Batches.Count} {(suite.Batches.Count == 1 ? "batch" : "batches")}"));
        var table = new Table().Border(TableBorder.Simple).Expand();
        table.AddColumn(new TableColumn("when (UTC)").NoWrap());
        table.AddColumn("build");
        table.AddColumn(new TableColumn("verdict").NoWrap());
        table.AddColumn("decided by");
        foreach (var batch in suite.Batches) { table.AddRow(When(batch.Started), Markup.Escape(batch.Build ?? Figure.Absent), Verdict(batch), Markup.Escape(Decided(batch))); }
        AnsiConsole.Write(table);
        if (suite.Trends.Count == 0)
        {
            AnsiConsole.MarkupLine(Markup.Escape($"no {figure.Shown}{(figure.Class is { } c ? " of " + c : "")} in these batches"));
            return;
        }
        var trends = new Table().Border(TableBorder.Simple);
        trends.AddColumn(Markup.Escape(figure.Shown));
        trends.AddColumn(new TableColumn("oldest → newest").NoWrap());
        trends.AddColumn(new TableColumn("newest").RightAligned().NoWrap());
        trends.AddColumn(new TableColumn("last good before").RightAligned().NoWrap());
        foreach (var trend in suite.Trends)
        {
            string name = trend.Class.Length > 0 ? trend.Class : "all";
            trends.AddRow(
                Markup.Escape(suite.SeveralOutputs && trend.Output.Length > 0 ? $"{name} ({trend.Output})" : name), Line(trend, figure),
                Shown(trend.Values[0], figure), suite.LastGood < 0 ? Figure.Absent : Shown(trend.Values[suite.LastGood], figure));
        }
        AnsiConsole.Write(trends);
    }

    public static void PrintFlipped(IReadOnlyList<FlippedEntry> flipped)
    {
        if (flipped.Count == 0)
        {
            AnsiConsole.MarkupLine("no trial came out both ways on one image (images are told apart by their hash: --image, or what the device answers)");
            return;
        }
        var table = new Table().Border(TableBorder.Simple).Expand();
        table.AddColumn("scenario");
        table.AddColumn("trial");
        table.AddColumn(new TableColumn("image").NoWrap());
        table.AddColumn(new TableColumn("recognised").NoWrap());
        foreach (var f in flipped)
        {
            string at = Figure.At(f.StartNs);
            table.AddRow(Markup.Escape(f.Scenario), Markup.Escape($"{f.Class} at {at}"), Markup.Escape(f.Label.Length > 0 ? f.Label : f.Sha256[..Math.Min(12, f.Sha256.Length)]), Figure.Of((int)f.Recognised, (int)f.Plays));
        }
        AnsiConsole.Write(table);
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
        string delivery = batch.DeliveryNotShown > 0 ? $"; delivery not shown in {batch.DeliveryNotShown} of {batch.DeliveryKnown} runs" : "";
        string earlier = batch.Definitions < ScoreJson.Schema ? $" ({DeliveryWords.Earlier})" : "";
        return (batch.Reason.Length > 0 ? batch.Reason : "did not reach its end") + count + delivery + earlier;
    }

    private static string Verdict(BatchEntry batch) =>
        Enum.GetValues<Verdict>().Where(v => Verdicts.Word(v) == batch.Verdict).Select(VerdictMarkup.Of).FirstOrDefault() ?? Figure.Absent;

    private static string When(DateTimeOffset at) => at.UtcDateTime.ToString("yyyy-MM-dd HH:mm", CultureInfo.InvariantCulture);
}
