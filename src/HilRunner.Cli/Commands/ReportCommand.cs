using System.CommandLine;
using HilRunner.Application.Accepting;
using HilRunner.Application.Histories;
using HilRunner.Application.Runs;
using HilRunner.Application.Stored;
using HilRunner.Core.Runs;
using HilRunner.Reporting;
using HilRunner.Scoring;

namespace HilRunner.Cli.Commands;

/// <summary>Writes the HTML reports of stored runs again.</summary>
internal static class ReportCommand
{
    private static readonly Argument<string[]> s_runs = new("run") { Description = "Folders of runs, or of batches of runs.", Arity = ArgumentArity.OneOrMore };

    private static readonly Option<string?> s_merge = new("--merge") { Description = "Put the parts that hil run --shard played under one verdict: report and JUnit XML in this folder. Exit code as hil run." };

    public static Command Create()
    {
        var command = new Command(
            "report",
            """
            Writes report.html of stored runs again, from what is in their folders; of a batch of runs also its own, last.

            Examples:
              hil report runs/20261125T070000Z-parcel
              hil report runs-1/* runs-2/* --merge night
            """)
        { s_runs, s_merge, CommonOptions.RunAdapter };
        command.SetAction(parsed =>
        {
            string[] paths = parsed.GetValue(s_runs)!;
            var leave = AdapterLeave.Of(parsed.GetValue(CommonOptions.RunAdapter));
            if (parsed.GetValue(s_merge) is { } merged)
            {
                var result = MergedBatch.Write(Composition.Context, paths, merged, leave);
                Console.Out.WriteLine(
                    $"{Verdicts.Word(result.Verdict)}: {result.Reasons[0]}{(DeliveryWords.Count(result) is { Length: > 0 } notShown ? $"; {notShown}" : "")}");
                Console.Out.WriteLine(Path.Combine(merged, RunFiles.Report));
                return ExitCodes.Of(result.Verdict);
            }
            foreach (string path in paths) { Write(path, leave); }
            return ExitCodes.Pass;
        });
        return command;
    }

    private static void Write(string path, AdapterLeave leave)
    {
        var runs = new List<StoredRun>();
        foreach (string folder in RunFolders.Under([path]))
        {
            StoredRun run = RunConclusion.Conclude(Composition.Context, folder, leave);
            RunConclusion.WriteReport(run);
            Console.Out.WriteLine(Path.Combine(folder, RunFiles.Report));
            runs.Add(run.WithoutCurves());
        }
        if (!BatchRecord.IsIn(path)) { return; }
        var result = BatchConclusion.Conclude(Composition.Context, BatchRecord.Read(path), StoredBatch.Runs(runs), path, leave);
        Console.Out.WriteLine(Path.Combine(path, RunFiles.Report));
        var history = HistoryBook.PlaceOf(null, Path.GetDirectoryName(Path.GetFullPath(path))!);
        if (HistoryBook.IsThere(history)
            && BatchRecord.Read(path).Parts.Count == 0) { HistoryBook.TakeInOrTell(Composition.Context, history, path); }
        if (PlanLock.IsIn(path)) { Console.Out.WriteLine(EvidenceFolder.Write(path, result, runs)); }
    }
}
