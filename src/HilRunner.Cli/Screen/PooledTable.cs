using HilRunner.Reporting;
using HilRunner.Scoring.Pooling;
using Spectre.Console;

namespace HilRunner.Cli.Screen;

/// <summary>Limits over all trials of a suite: how each ended, over how many independent trials, and over how many plays.</summary>
internal static class PooledTable
{
    public static void Print(IReadOnlyList<PooledOutcome> pooled)
    {
        if (pooled.Count == 0) { return; }
        var table = new Table().Border(TableBorder.Simple).Expand();
        table.AddColumn("over all trials");
        table.AddColumn(new TableColumn("independent").NoWrap());
        table.AddColumn(new TableColumn("all plays").NoWrap());
        table.AddColumn("outcome");
        foreach (var p in pooled)
        {
            string output = p.Judged.Output.Length == 0 ? "" : $" ({p.Judged.Output})";
            table.AddRow(
                Markup.Escape(p.Judged.Text + output), Count(p.UnitsRecognised, p.Units), Count(p.PlaysRecognised, p.Plays),
                Markup.Escape($"{Words.Of(p.Judged.Outcome)}: {p.Judged.Why}"));
        }
        AnsiConsole.Write(table);
    }

    private static string Count(int? k, int n) => k is { } some ? $"{some} of {n}" : $"{n}";
}
