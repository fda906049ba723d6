using HilRunner.Cli.Screen.Terminals;
using HilRunner.Core.Scenarios;
using HilRunner.Reporting;
using HilRunner.Scoring.Comparing;

namespace HilRunner.Cli.Screen;

/// <summary>A comparison on the terminal: the answer first, then each measure by class.</summary>
internal static class CompareTable
{
    public static void Print(CompareResult result)
    {
        Terminal.Line($"{CompareWords.Of(result.Comparison.Overall)}: {CompareWords.Answer(result)}");
        if (CompareWords.RestsOn(result) is { Length: > 0 } rests) { Terminal.Line(rests); }
        string left = result.LeftOut > 0 ? $"; {result.LeftOut} left out (rig at fault, or not finished)" : "";
        Terminal.Line(
            $"{result.BaselineRuns} runs before, {result.CandidateRuns} now{left}; {result.Comparison.Pairs.Count} trials paired");
        foreach (string beside in CompareWords.Beside(result)) { Terminal.Line(beside); }
        if (result.Comparison.NotPaired.Count > 0)
        {
            Terminal.Line(
                $"not paired: {string.Join(", ", result.Comparison.NotPaired.Take(5))}{(result.Comparison.NotPaired.Count > 5 ? " …" : "")}");
        }
        var table = new ScreenTable(wide: true);
        table.AddColumn("measure");
        table.AddColumn("outcome");
        table.AddColumn("change");
        table.AddColumn("p", right: true, noWrap: true);
        bool Shown(Difference d) => d.Measure == Measure.Recognised || d.Change is Change.Worse or Change.Better;
        foreach (var d in result.Comparison.Differences.Where(Shown).OrderBy(d => d.Change switch { Change.Worse => 0, Change.Better => 1, Change.NoneShown => 2, _ => 3 }))
        {
            table.AddRow(CompareWords.Name(d, result.SeveralOutputs), CompareWords.Of(d.Change), CompareWords.Shown(d),
                CompareWords.P(d));
        }
        Terminal.Write(table);
        var quiet = result.Comparison.Differences.Where(d => !Shown(d)).Select(d => d.Measure).Distinct().Select(Words.Of).ToList();
        if (quiet.Count > 0) { Terminal.Line($"no change shown in {string.Join(", ", quiet)}"); }
    }
}
