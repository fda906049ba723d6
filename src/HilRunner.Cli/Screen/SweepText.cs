using HilRunner.Cli.Screen.Terminals;
using HilRunner.Core.Runs;
using HilRunner.Reporting;
using HilRunner.Scoring.Sweeping;

namespace HilRunner.Cli.Screen;

/// <summary>A sweep on the terminal: the verdict first, then where it switches, then where the page is.</summary>
internal static class SweepText
{
    public static void Print(Sweep sweep, string folder, bool quiet)
    {
        Terminal.Line(VerdictWord.Of(sweep.Verdict) + $": {sweep.Reasons.FirstOrDefault() ?? ""}");
        if (!quiet)
        {
            foreach (string reason in sweep.Reasons.Skip(1)) { Terminal.Line($"  {reason}"); }
            Terminal.Line(
                $"{sweep.Motion}; {SweepWords.Course(sweep)}{(sweep.SlowestStepS is { } s ? $" (the slowest step took {Figure.Decimals(s, 1)} s)" : "")}");
            Switches(sweep);
            foreach (string note in sweep.Notes) { Terminal.Line($"note: {note}"); }
        }
        Console.Out.WriteLine(Path.Combine(folder, RunFiles.Report));
    }

    /// <summary>Two sweeps: the answer, then each figure.</summary>
    public static void Print(SweepCompareResult result)
    {
        Terminal.Line($"{SweepWords.Answered(result)}: {result.Answer}");
        var table = new ScreenTable();
        foreach (string head in (string[])["figure", "before", "now", "shift"]) { table.AddColumn(head); }
        table.AddColumn("p", right: true, noWrap: true);
        foreach (var s in result.Shifts)
        {
            table.AddRow(SweepWords.Name(s, result.Now), SweepWords.Figure(s.Before, result.Now),
                SweepWords.Figure(s.Now, result.Now),
                s.Change is null ? s.Why : SweepWords.Shift(s, result.Now), SweepWords.P(s));
        }
        if (result.Shifts.Count > 0) { Terminal.Write(table); }
        foreach (string note in result.Notes) { Terminal.Line($"note: {note}"); }
    }

    private static void Switches(Sweep sweep)
    {
        if (sweep.Points.Sum(p => p.Switches.Count) == 0)
        {
            string said = string.Join(", ", sweep.Points.SelectMany(p => p.Levels).Select(l => l.Class ?? "nothing").Distinct());
            if (said.Length > 0) { Terminal.Line($"the class does not switch within the range: {said} throughout"); }
            return;
        }
        string unit = sweep.Along.Unit;
        var table = new ScreenTable();
        if (sweep.Across is not null) { table.AddColumn("at", right: true, noWrap: true); }
        table.AddColumn("switch");
        foreach (string head in (string[])["up", "down", "hysteresis"]) { table.AddColumn($"{head}, {unit}", noWrap: true); }
        foreach (var point in sweep.Points)
        {
            foreach (var found in point.Switches)
            {
                string reached = found.IsReached ? "" : $" ({found.Legs.Count} of {found.LegsPlayed} legs)";
                string[] row = [$"{found.Below} → {found.Above}{reached}", Bare(found.Up, sweep), Bare(found.Down, sweep), found.HasHysteresis || found.Width is null ? Bare(found.Width, sweep) : $"none; ≤ {SweepWords.Most(found, sweep)}"];
                table.AddRow([.. (sweep.Across is null ? row : [SweepWords.At(point.Across, sweep), .. row])]);
            }
        }
        Terminal.Write(table);
    }

    /// <summary>A figure whose unit stands above it.</summary>
    private static string Bare(MeanInterval? figure, Sweep sweep) => SweepWords.Figure(figure, sweep).Replace($" {sweep.Along.Unit}", "", StringComparison.Ordinal);
}
