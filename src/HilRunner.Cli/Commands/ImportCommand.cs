using System.CommandLine;
using HilRunner.Application;
using HilRunner.Cli.Importing;
using HilRunner.Core;
using HilRunner.Core.Recordings.Import;

namespace HilRunner.Cli.Commands;

/// <summary>Foreign logs → recordings: says what it understood, and writes when it is told to.</summary>
internal static class ImportCommand
{
    private static readonly Argument<string[]> s_files = new("file") { Description = "Logs: delimited text, JSON Lines or Parquet.", Arity = ArgumentArity.OneOrMore };
    private static readonly Option<bool> s_write = new("--write") { Description = "Write. Without it: print what was understood, and ask on a terminal." };
    private static readonly Option<string?> s_map = new("--map") { Description = "A map file: what these logs look like. Options below replace its keys." };
    private static readonly Option<string?> s_saveMap = new("--save-map") { Description = "Write what was understood as a map file, guesses included." };
    private static readonly Option<string> s_to = new("--to") { Description = "csv (NAME.csv, NAME.labels.csv, NAME.yaml) or parquet (NAME.parquet).", DefaultValueFactory = _ => "csv" };
    private static readonly Option<string> s_out = new("--out") { Description = "Folder for the recordings.", DefaultValueFactory = _ => "." };
    private static readonly Option<string?> s_name = new("--name") { Description = "Name of the recording; without it the log's." };
    private static readonly Option<string[]> s_apply = new("--apply") { Description = "A transform, as beside play in a scenario ('rotate: {z: 90 deg}'), or a file with a list of them; may be given several times." };
    private static readonly Option<ulong> s_seed = new("--seed") { Description = "Seed of the noise and dropouts of --apply.", DefaultValueFactory = _ => 1 };
    private static readonly Option<bool> s_replace = new("--replace") { Description = "Replace recordings of the same name." };
    private static readonly Option<bool> s_json = new("--json") { Description = "Print JSON." };

    public static Command Create()
    {
        var command = new Command(
            "import",
            """
            Makes recordings of foreign logs. Says first what it understood: columns, units, rate, labels,
            what it guessed. Nothing is written without --write, or a yes on the terminal.

            Examples:
              hil import log.csv
              hil import log.txt --columns t,ax,ay,az --time ms --acceleration mg --out shelf --write
              hil import logs/*.txt --map courier.yaml --to parquet --out shelf --write
              hil import log.csv --apply 'rotate: {z: 90 deg}' --apply 'resample: 50 Hz' --out shelf --write
            """)
        { s_files, s_write, s_map, s_saveMap, s_to, s_out, s_name, s_apply, s_seed, s_replace, s_json };
        foreach (var option in MapOptions.All) { command.Add(option); }
        command.SetAction(Run);
        return command;
    }

    private static int Run(ParseResult parsed)
    {
        string[] files = parsed.GetValue(s_files)!;
        bool json = parsed.GetValue(s_json);
        string to = parsed.GetValue(s_to)!;
        if (to is not ("csv" or "parquet")) { throw new UsageException($"--to {to}: expected csv or parquet"); }
        if (parsed.GetValue(s_name) is { } name && (files.Length > 1 || name.Length == 0 || Path.GetFileName(name) != name)) { throw new UsageException("--name: expected the name of one recording, without a folder, for one file"); }
        var map = ImportMapFile.Read(parsed.GetValue(s_map), MapOptions.Settings(parsed));
        var destination = new ImportDestination(parsed.GetValue(s_out)!, parsed.GetValue(s_name), to == "parquet");
        var applied = AppliedTransforms.Of(parsed.GetValue(s_apply) ?? [], parsed.GetValue(s_seed));
        // All logs are measured before anything is written: their faults come together.
        var surveys = new List<ImportSurvey>();
        var faults = new List<Fault>();
        foreach (string file in files)
        {
            try { surveys.Add(RecordingImport.Survey(file, map, destination)); }
            catch (BadInputException bad) { faults.AddRange(bad.Faults); }
        }
        if (faults.Count > 0) { throw new BadInputException(faults); }
        if (json) { ImportJson.Print(surveys); }
        else { ImportPreview.Print(surveys, applied); }
        RefuseClashes(surveys, parsed.GetValue(s_replace));
        if (parsed.GetValue(s_saveMap) is { } saved)
        {
            ImportMapFile.Write(saved, surveys[0].Map);
            if (!json) { Console.Out.WriteLine($"map: {saved}"); }
        }
        if (!parsed.GetValue(s_write) && !Agreed(json)) { return ExitCodes.Pass; }
        Action<ImportSurvey> write = applied is null ? RecordingImport.Write : applied.Write;
        foreach (var survey in surveys) { write(survey); }
        if (!json) { ImportPreview.PrintWritten(surveys); }
        return ExitCodes.Pass;
    }

    private static void RefuseClashes(List<ImportSurvey> surveys, bool replace)
    {
        var files = surveys.SelectMany(s => s.Files).Select(Path.GetFullPath).ToList();
        if (files.GroupBy(f => f).FirstOrDefault(g => g.Count() > 1) is { } twice) { throw new UsageException($"{twice.Key} would be written twice: import the logs one by one with --name, or to different folders"); }
        var sources = surveys.Select(s => Path.GetFullPath(s.Path)).ToHashSet();
        if (files.FirstOrDefault(sources.Contains) is { } source) { throw new UsageException($"{source} would replace the log itself: say --out or --name"); }
        if (replace) { return; }
        var there = files.Where(File.Exists).ToList();
        if (there.Count > 0) { throw new UsageException($"{there[0]}{(there.Count > 1 ? $" and {there.Count - 1} more" : "")} exist already: say --replace, --out or --name"); }
    }

    /// <summary>Asks on a terminal; elsewhere says how to go on.</summary>
    private static bool Agreed(bool json)
    {
        bool terminal = !Console.IsInputRedirected && !Console.IsOutputRedirected && !json;
        if (!terminal)
        {
            Console.Error.WriteLine("hil: nothing written; say --write to write");
            return false;
        }
        Console.Out.Write("write? [y/N] ");
        if (Console.In.ReadLine()?.Trim() is "y" or "Y" or "yes") { return true; }
        Console.Out.WriteLine("nothing written");
        return false;
    }
}
