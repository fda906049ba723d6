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
            if (inspections.Count > 1) { AnsiConsole.MarkupLine($"[bold]{Markup.Escape(inspection.Recording.Path)}[/]"); }
            foreach (var finding in inspection.Findings) { Say(finding); }
        }
        if (inspections.Count == 1) { Verdict(inspections[0]); }
        else if (inspections.Count > 1)
        {
            var worst = inspections.Max(i => i.Verdict);
            AnsiConsole.MarkupLine($"{Of(worst)}: {inspections.Count(i => i.Verdict == worst)} of {inspections.Count} recordings");
        }
    }

    private static void Verdict(RecordingInspection i) =>
        AnsiConsole.MarkupLine($"{Of(i.Verdict)}: {Markup.Escape(i.Findings.FirstOrDefault()?.What ?? "nothing speaks against it")}");

    private static void Checks(RecordingInspection i)
    {
        string made = i.Recording.Info.Invented ? ", made-up data" : "";
        AnsiConsole.MarkupLine(Markup.Escape(
            $"{i.Recording.Path}: {InspectReport.Facts(i)}{made}"));
        var table = new Table().Border(TableBorder.Simple).Expand();
        table.AddColumn("check");
        table.AddColumn("state");
        table.AddColumn("what it says");
        foreach (var check in i.Checks)
        {
            table.AddRow(Markup.Escape(check.Check), check.Fitness is { } f ? Of(f) : "[grey]not judged[/]", Markup.Escape(check.Summary));
        }
        AnsiConsole.Write(table);
    }

    private static void Overview(IReadOnlyList<RecordingInspection> inspections)
    {
        var table = new Table().Border(TableBorder.Simple).Expand();
        table.AddColumn("verdict");
        table.AddColumn("recording");
        table.AddColumn("decided by");
        foreach (var i in inspections)
        {
            table.AddRow(Of(i.Verdict), Markup.Escape(i.Recording.Name), Markup.Escape(i.Findings.FirstOrDefault()?.What ?? InspectReport.Facts(i)));
        }
        AnsiConsole.Write(table);
    }

    private static void Say(Finding finding)
    {
        var grid = new Grid().AddColumn(new GridColumn().NoWrap().Width(17).PadRight(1)).AddColumn(new GridColumn().PadRight(0));
        grid.AddRow(Of(finding.Fitness), Markup.Escape(finding.What));
        if (finding.Where.Count > 0) { grid.AddRow("", Markup.Escape("at " + InspectReport.Places(finding, MostPlaces))); }
        grid.AddRow("", Markup.Escape("do: " + finding.Remedy));
        AnsiConsole.Write(grid);
    }

    private static string Of(Fitness fitness)
    {
        string colour = fitness switch { Fitness.Fit => "green", Fitness.WithCare => "yellow", _ => "red" };
        return $"[{colour}]{FitnessWords.Of(fitness)}[/]";
    }
}
