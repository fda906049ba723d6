using HilRunner.Core.Scenarios;
using HilRunner.Reporting;
using HilRunner.Scoring.Comparing;
using Spectre.Console;

namespace HilRunner.Cli.Screen;

/// <summary>A comparison on the terminal: the answer first, then each measure by class.</summary>
internal static class CompareTable
{
    public static void Print(CompareResult result)
    {
        AnsiConsole.MarkupLine(Markup.Escape($"{CompareWords.Of(result.Comparison.Overall)}: {CompareWords.Answer(result)}"));
        string left = result.LeftOut > 0 ? $"; {result.LeftOut} left out (rig at fault, or not finished)" : "";
        AnsiConsole.MarkupLine(Markup.Escape($"{result.BaselineRuns} runs before, {result.CandidateRuns} now{left}; {result.Comparison.Pairs.Count} trials paired"));
        foreach (string beside in CompareWords.Beside(result)) { AnsiConsole.MarkupLine(Markup.Escape(beside)); }
        if (result.Comparison.NotPaired.Count > 0) { AnsiConsole.MarkupLine(Markup.Escape($"not paired: {string.Join(", ", result.Comparison.NotPaired.Take(5))}{(result.Comparison.NotPaired.Count > 5 ? " …" : "")}")); }
        var table = new Table().Border(TableBorder.Simple).Expand();
        table.AddColumn("measure");
        table.AddColumn(new TableColumn("outcome"));
        table.AddColumn("change");
        table.AddColumn(new TableColumn("p").RightAligned().NoWrap());
        bool Shown(Difference d) => d.Measure == Measure.Recognised || d.Change is Change.Worse or Change.Better;
        foreach (var d in result.Comparison.Differences.Where(Shown).OrderBy(d => d.Change switch { Change.Worse => 0, Change.Better => 1, Change.NoneShown => 2, _ => 3 }))
        {
            string unsteady = d.Unsteady > 0 ? $", {d.Unsteady} unsteady" : "";
            table.AddRow(Markup.Escape(CompareWords.Name(d, result.SeveralOutputs)), CompareWords.Of(d.Change), Markup.Escape(CompareWords.Shown(d) + unsteady), CompareWords.P(d));
        }
        AnsiConsole.Write(table);
        var quiet = result.Comparison.Differences.Where(d => !Shown(d)).Select(d => d.Measure).Distinct().Select(Words.Of).ToList();
        if (quiet.Count > 0) { AnsiConsole.MarkupLine(Markup.Escape($"no change shown in {string.Join(", ", quiet)}")); }
    }
}
