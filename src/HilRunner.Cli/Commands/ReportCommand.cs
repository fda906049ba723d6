using System.CommandLine;
using HilRunner.Cli.Runs;
using HilRunner.Core.Runs;

namespace HilRunner.Cli.Commands;

/// <summary>Writes the HTML reports of stored runs again.</summary>
internal static class ReportCommand
{
    private static readonly Argument<string[]> s_runs = new("run") { Description = "Folders of runs, or of batches of runs.", Arity = ArgumentArity.OneOrMore };

    public static Command Create()
    {
        var command = new Command(
            "report",
            """
            Writes report.html of stored runs again, from what is in their folders.

            Example:
              hil report runs/20261125T070000Z-parcel
            """)
        { s_runs };
        command.SetAction(parsed =>
        {
            foreach (string folder in RunFolders.Under(parsed.GetValue(s_runs)!))
            {
                RunConclusion.WriteReport(RunConclusion.Conclude(folder));
                Console.Out.WriteLine(Path.Combine(folder, RunFiles.Report));
            }
            return ExitCodes.Pass;
        });
        return command;
    }
}
