using HilRunner.Cli.Screen.Terminals;
using HilRunner.Reporting;
using HilRunner.Scoring.Pooling;

namespace HilRunner.Cli.Screen;

/// <summary>Limits over all trials of a suite: how each ended, over how many independent trials, and over how many plays.</summary>
internal static class PooledTable
{
    public static void Print(IReadOnlyList<PooledOutcome> pooled)
    {
        if (pooled.Count == 0) { return; }
        var table = new ScreenTable(wide: true);
        table.AddColumn("over all trials");
        table.AddColumn("independent", noWrap: true);
        table.AddColumn("all plays", noWrap: true);
        table.AddColumn("outcome");
        foreach (var p in pooled)
        {
            string output = p.Judged.Output.Length == 0 ? "" : $" ({p.Judged.Output})";
            var (independent, all) = p.Heard is { } heard
                ? (AlarmJudge.Hours(heard.OnceNs), $"{heard.AllAlarms} in {AlarmJudge.Hours(heard.AllNs)}")
                : (Count(p.UnitsRecognised, p.Units), Count(p.PlaysRecognised, p.Plays));
            table.AddRow(p.Judged.Text + output, independent, all,
                $"{Words.Of(p.Judged.Outcome)}: {p.Judged.Why}");
        }
        Terminal.Write(table);
    }

    private static string Count(int? k, int n) => k is { } some ? $"{some} of {n}" : $"{n}";
}
