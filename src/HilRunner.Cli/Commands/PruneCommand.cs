using System.CommandLine;
using System.Globalization;
using System.Text.Json;
using HilRunner.Application.Runs;
using HilRunner.Application;
using HilRunner.Cli.Screen.Terminals;
using HilRunner.Core;
using HilRunner.Scoring;

namespace HilRunner.Cli.Commands;

/// <summary>Removes old runs, never what others rest on.</summary>
internal static class PruneCommand
{
    private const double BytesPerMb = 1e6;
    private static readonly Option<string> s_runs = new("--runs") { Description = "The folder of the runs.", DefaultValueFactory = _ => "runs" };
    private static readonly Option<int?> s_older = new("--older-than") { Description = "Batches that began more than so many days ago." };
    private static readonly Option<double?> s_size = new("--down-to") { Description = "Only as many, oldest first, as bring the folder down to so many MB." };
    private static readonly Option<string[]> s_verdict = new("--verdict") { Description = "Only batches of this verdict: pass, fail, inconc, error, none. May be given more than once.", AllowMultipleArgumentsPerToken = true };
    private static readonly Option<bool> s_yes = new("--yes") { Description = "Remove them. Without it they are only shown." };
    private static readonly Option<bool> s_json = new("--json") { Description = "Print the result as JSON." };
    private static readonly JsonSerializerOptions s_style = new() { WriteIndented = true };

    public static Command Create()
    {
        var command = new Command(
            "prune",
            """
            Shows which old batches of runs may go, and removes them with --yes; this cannot be undone. Never goes: the newest and the last
            good batch of a name, what others are held against, evidence of an acceptance. What history knows of them stays.

            Example:
              hil history prune --older-than 90 --verdict pass
            """)
        { s_runs, s_older, s_size, s_verdict, s_yes, s_json };
        command.SetAction(Run);
        return command;
    }

    private static int Run(ParseResult parsed)
    {
        string root = parsed.GetValue(s_runs)!;
        if (!Directory.Exists(root)) { throw new BadInputException([new(root, 0, 0, "no such folder", "the folder of the runs")]); }
        int? days = parsed.GetValue(s_older);
        double? size = parsed.GetValue(s_size);
        if (days is null && size is null) { throw new UsageException("say which: --older-than DAYS, --down-to MB, or both"); }
        if (days < 0 || size < 0) { throw new UsageException("--older-than and --down-to: expected 0 or more"); }
        Verdict[] verdicts = [.. (parsed.GetValue(s_verdict) ?? []).Select(Parsed)];
        var plan = Pruning.Plan(root, days is { } d ? Composition.Context.Now.AddDays(-d) : null, verdicts, size is { } mb
            ? (long)(mb * BytesPerMb) : null);
        bool remove = parsed.GetValue(s_yes);
        foreach (var batch in plan.Where(p => remove && p.Kept is null)) { Directory.Delete(batch.Folder, recursive: true); }
        if (parsed.GetValue(s_json))
        {
            Terminal.Documents.WriteLine(
                JsonSerializer.Serialize(
                    new { schema = 1, removed = remove,
                        batches = plan.Select(
                            p => new { folder = p.Folder, started = p.Record.Started, verdict = p.Record.Verdict is { } v
                                ? Verdicts.Word(v) : null, bytes = p.Bytes, kept = p.Kept }) }, s_style));
            return ExitCodes.Pass;
        }
        Print(plan, remove);
        return ExitCodes.Pass;
    }

    private static void Print(IReadOnlyList<PrunedBatch> plan, bool removed)
    {
        var table = new ScreenTable(wide: true);
        foreach (string head in (string[])["begun (UTC)", "batch", "verdict", "MB", removed ? "removed" : "goes"]) { table.AddColumn(head); }
        foreach (var p in plan)
        {
            table.AddRow(p.Record.Started.UtcDateTime.ToString("yyyy-MM-dd HH:mm", CultureInfo.InvariantCulture),
                Path.GetFileName(p.Folder), p.Record.Verdict is { } v ? Verdicts.Word(v) : "—",
                (p.Bytes / BytesPerMb).ToString("0.0", CultureInfo.InvariantCulture), p.Kept is { } why ? "no: " + why : "yes");
        }
        if (plan.Count > 0) { Terminal.Write(table); }
        var going = plan.Where(p => p.Kept is null).ToList();
        string what = FormattableString.Invariant($"{going.Count} {(going.Count == 1 ? "batch" : "batches")}, {going.Sum(p => p.Bytes) / BytesPerMb:0.0} MB");
        Console.Out.WriteLine(removed ? $"removed {what}" : $"would remove {what}; --yes does it");
    }

    private static Verdict Parsed(string word) => Enum.GetValues<Verdict>().Where(v => Verdicts.Word(v) == word).Select(v => (Verdict?)v).FirstOrDefault()
        ?? throw new UsageException($"--verdict {word}: expected pass, fail, inconc, error or none");
}
