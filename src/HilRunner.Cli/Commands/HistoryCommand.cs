using System.CommandLine;
using System.Text.Json;
using HilRunner.Application.Histories;
using HilRunner.Application;
using HilRunner.Cli.Screen;
using HilRunner.Cli.Screen.Terminals;
using HilRunner.Core;
using HilRunner.History;
using HilRunner.History.Reading;

namespace HilRunner.Cli.Commands;

/// <summary>Builds over time.</summary>
internal static class HistoryCommand
{
    private static readonly Argument<string?> s_suite = new("suite") { Description = "A suite, scenario or plan by its name. Without it: that of the only one, or a list of them.", Arity = ArgumentArity.ZeroOrOne };
    private static readonly Option<string> s_runs = new("--runs") { Description = "The folder of the runs.", DefaultValueFactory = _ => "runs" };
    private static readonly Option<string> s_measure = new("--measure") { Description = "What is shown by class: " + string.Join(", ", HistoryFigure.Measures) + ".", DefaultValueFactory = _ => "recognised" };
    private static readonly Option<string> s_statistic = new("--statistic") { Description = "Of a latency: p50 or p95.", DefaultValueFactory = _ => "p95" };
    private static readonly Option<string?> s_class = new("--class") { Description = "Only this class." };
    private static readonly Option<int> s_last = new("--last") { Description = "How many batches.", DefaultValueFactory = _ => 15 };
    private static readonly Option<bool> s_flaky = new("--flaky") { Description = "Show the trials that came out both ways on one image." };
    private static readonly Option<bool> s_rebuild = new("--rebuild") { Description = "Take every batch under --runs in again; a damaged file is put aside first." };
    private static readonly Option<bool> s_json = new("--json") { Description = "Print the result as JSON." };
    private static readonly JsonSerializerOptions s_style = new() { WriteIndented = true };

    public static Command Create()
    {
        var command = new Command(
            "history",
            """
            Shows builds over time: verdicts, and a figure by class. Batches that are not in the history yet are taken in first.
            The folders of the runs are the record; the history is an index that --rebuild makes again from them.

            Examples:
              hil history
              hil history "parcel tag" --measure reaction --class carried
              hil history --flaky
            """)
        { s_suite, s_runs, CommonOptions.History, s_measure, s_statistic, s_class, s_last, s_flaky, s_rebuild, s_json };
        command.Add(PruneCommand.Create());
        command.SetAction(Run);
        return command;
    }

    private static int Run(ParseResult parsed)
    {
        var figure = FigureOf(parsed);
        int last = parsed.GetValue(s_last);
        if (last is < 1 or > 1000) { throw new UsageException("--last: expected 1 to 1000"); }
        string root = parsed.GetValue(s_runs)!;
        bool rebuild = parsed.GetValue(s_rebuild), json = parsed.GetValue(s_json);
        var place = HistoryBook.PlaceOf(parsed.GetValue(CommonOptions.History), root);
        if (place is SqlitePlace { Path: var path } && !File.Exists(path) && !Directory.Exists(root))
        {
            throw new BadInputException([new(root, 0, 0, "no such folder", "the folder of the runs", "hil run makes it; say --runs or --history where it is elsewhere")]);
        }
        using var book = rebuild ? HistoryBook.OpenToRebuild(place, Console.Error.WriteLine) : HistoryBook.Open(place);
        var (taken, faults) = book.TakeInUnder(Composition.Context, root, rebuild);
        foreach (var fault in faults) { Console.Error.WriteLine($"hil: left out: {fault}"); }
        if (rebuild && !json) { Console.Out.WriteLine($"{taken} {(taken == 1 ? "batch" : "batches")} taken in"); }
        string? suite = parsed.GetValue(s_suite);
        var entries = HistoryReader.Suites(book.Database);
        if (suite is not null && entries.All(e => e.Name != suite))
        {
            throw new BadInputException([new(suite, 0, 0, "nothing of that name in the history", entries.Count == 0 ? "a name of what was played" : $"one of {string.Join(", ", entries.Take(10).Select(e => e.Name))}")]);
        }
        if (parsed.GetValue(s_flaky))
        {
            var flipped = HistoryReader.Flipped(book.Database, suite, null);
            if (json) { Terminal.Documents.WriteLine(JsonSerializer.Serialize(Json(flipped), s_style)); }
            else { HistoryTable.PrintFlipped(flipped); }
            return ExitCodes.Pass;
        }
        var shown = entries.Where(e => suite is null || e.Name == suite).ToList();
        var suites = shown.Select(e => SuiteHistory.Of(book.Database, e.Name, figure, last)).ToList();
        if (json) { Terminal.Documents.WriteLine(JsonSerializer.Serialize(Json(suites, figure), s_style)); }
        else if (suites.Count == 0) { Console.Out.WriteLine($"nothing was played yet: no batch of runs in {root}"); }
        else if (suites.Count == 1) { HistoryTable.Print(suites[0], figure); }
        else
        {
            HistoryTable.PrintSuites(suites, shown);
            Console.Out.WriteLine("hil history SUITE shows one of them over time");
        }
        return ExitCodes.Pass;
    }

    private static HistoryFigure FigureOf(ParseResult parsed)
    {
        string measure = parsed.GetValue(s_measure)!, statistic = parsed.GetValue(s_statistic)!;
        if (!HistoryFigure.Measures.Contains(measure)) { throw new UsageException($"--measure {measure}: expected one of {string.Join(", ", HistoryFigure.Measures)}"); }
        if (statistic is not ("p50" or "p95")) { throw new UsageException($"--statistic {statistic}: expected p50 or p95"); }
        return new(measure, HistoryFigure.IsLatency(measure) ? statistic : "", parsed.GetValue(s_class));
    }

    private static object Json(IReadOnlyList<SuiteHistory> suites, HistoryFigure figure) => new
    {
        schema = 1,
        measure = figure.Measure,
        statistic = figure.Statistic.Length > 0 ? figure.Statistic : null,
        suites = suites.Select(s => new
        {
            suite = s.Name,
            last_good = s.LastGood < 0 ? null : s.Batches[s.LastGood].Folder,
            batches = s.Batches.Select((b, i) => new
            {
                started = b.Started,
                ended = b.Ended,
                build = b.Label.Length > 0 ? b.Label : null,
                image_sha256 = b.Sha256.Length > 0 ? b.Sha256 : null,
                verdict = b.Verdict,
                reason = b.Reason,
                runs = b.Runs,
                planned = b.Planned,
                definitions = b.Definitions,
                delivery_not_shown = b.DeliveryKnown == 0 ? (int?)null : b.DeliveryNotShown,
                host = b.Host,
                folder = b.Folder,
                figures = s.Trends.Where(t => t.Values[i] is not null).Select(t => new { output = t.Output, @class = t.Class, value = t.Values[i]!.Value, trials = t.Values[i]!.Trials }),
            }),
        }),
    };

    private static object Json(IReadOnlyList<FlippedEntry> flipped) => new
    {
        schema = 1,
        flipped = flipped.Select(f => new
        {
            scenario = f.Scenario, output = f.Output, @class = f.Class, start_s = f.StartNs / 1e9, build = f.Label, image_sha256 = f.Sha256, plays = f.Plays, recognised = f.Recognised,
        }),
    };
}
