using HilRunner.Cli.Screen.Terminals;
using HilRunner.Inspection;
using HilRunner.Inspection.Results;
using HilRunner.Reporting;
using Spectre.Console;

namespace HilRunner.Cli.Screen;

/// <summary>Inspections on the terminal: of one recording every check, of several a line each, then what was found, worst first.</summary>
internal static class InspectionScreen
{
    private const int MostPlaces = 3;

    public static void Print(IReadOnlyList<RecordingInspection> inspections)
    {
        if (inspections.Count == 1) { Checks(inspections[0]); }
        else if (inspections.Count > 1) { Overview(inspections); }
        foreach (var inspection in inspections)
        {
            if (inspections.Count > 1 && inspection.Verdict == Fitness.Fit) { continue; }
            if (inspections.Count > 1)
            {
                Terminal.Line(Styled.In(inspection.Recording.Path, new Style(decoration: Decoration.Bold)));
            }
            foreach (var finding in inspection.Findings) { Say(finding); }
        }
        if (inspections.Count == 1) { Verdict(inspections[0]); }
        else if (inspections.Count > 1)
        {
            var worst = inspections.Max(i => i.Verdict);
            Terminal.Line(Of(worst) + $": {inspections.Count(i => i.Verdict == worst)} of {inspections.Count} recordings");
        }
    }

    private static void Verdict(RecordingInspection i) =>
        Terminal.Line(Of(i.Verdict) + ": " + (i.Findings.FirstOrDefault()?.What ?? "nothing speaks against it"));

    private static void Checks(RecordingInspection i)
    {
        string made = i.Recording.Info.Invented ? ", made-up data" : "";
        Terminal.Line($"{i.Recording.Path}: {InspectReport.Facts(i)}{made}");
        var table = new ScreenTable(wide: true);
        table.AddColumn("check");
        table.AddColumn("state");
        table.AddColumn("what it says");
        foreach (var check in i.Checks)
        {
            table.AddRow(check.Check, check.Fitness is { } f ? Of(f) : Styled.In("not judged", Color.Grey), check.Summary);
        }
        Terminal.Write(table);
    }

    private static void Overview(IReadOnlyList<RecordingInspection> inspections)
    {
        var table = new ScreenTable(wide: true);
        table.AddColumn("verdict");
        table.AddColumn("recording");
        table.AddColumn("decided by");
        foreach (var i in inspections)
        {
            table.AddRow(Of(i.Verdict), i.Recording.Name, i.Findings.FirstOrDefault()?.What ?? InspectReport.Facts(i));
        }
        Terminal.Write(table);
    }

    private static void Say(Finding finding)
    {
        var grid = new ScreenGrid(17);
        grid.AddRow(Of(finding.Fitness), finding.What);
        if (finding.Where.Count > 0) { grid.AddRow("", "at " + InspectReport.Places(finding, MostPlaces)); }
        grid.AddRow("", "do: " + finding.Remedy);
        Terminal.Write(grid);
    }

    private static Styled Of(Fitness fitness) =>
        Styled.In(FitnessWords.Of(fitness),
            fitness switch { Fitness.Fit => Color.Green, Fitness.WithCare => Color.Yellow, _ => Color.Red });
}
