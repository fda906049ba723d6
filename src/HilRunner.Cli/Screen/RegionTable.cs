using HilRunner.Reporting;
using HilRunner.Reporting.Regions;
using Spectre.Console;

namespace HilRunner.Cli.Screen;

/// <summary>Where the device still recognises a varied scenario: as the suite's report shows it, in tables that fit 80 columns.</summary>
internal static class RegionTable
{
    private const int MostRows = 24, MostColumns = 8;

    public static void Print(IReadOnlyList<VariedRegion> regions)
    {
        foreach (VariedRegion region in regions)
        {
            string output = region.Output.Length == 0 ? "" : $", {region.Output}";
            AnsiConsole.MarkupLine(Markup.Escape($"where it still recognises: {region.Scenario}{output} ({region.Runs} runs)"));
            if (region.Map is { } map) { Print(map); }
            foreach (RegionLine line in region.Lines) { Print(line, region.Lines.Count > 1, tables: region.Map is null); }
            AnsiConsole.WriteLine();
        }
    }

    private static void Print(RegionLine line, bool pooled, bool tables)
    {
        string name = line.Parameter.Title;
        if (tables && line.Points.Count <= MostRows)
        {
            var table = new Table().Border(TableBorder.Simple);
            table.AddColumns(new TableColumn(name).NoWrap(), new TableColumn("recognised").NoWrap(), new TableColumn("reaction").RightAligned().NoWrap(), new TableColumn("passed").NoWrap(), new TableColumn("not recognised"));
            foreach (var (bin, point) in line.Bins.Zip(line.Points))
            {
                table.AddRow(Markup.Escape(bin.Label), Markup.Escape(point.Counted == 0 ? Figure.Absent : $"{Mark(point)} {Figure.Of(point.Recognised, point.Counted)}"),
                    Markup.Escape(Figure.Seconds(point.MedianS)), Markup.Escape($"{point.Passed} of {point.Usable}"), Markup.Escape(string.Join(", ", point.Short.Take(3))));
            }
            AnsiConsole.Write(table);
        }
        string others = pooled ? " (all values of the others together)" : "";
        AnsiConsole.MarkupLine(Markup.Escape($"{name}{others}: {line.Edge}; {line.PassEdge}"));
    }

    private static void Print(RegionMap map)
    {
        string across = map.Columns[0].Parameter.Title, down = map.Rows[0].Parameter.Title;
        if (map.Columns.Count <= MostColumns && map.Rows.Count <= MostRows)
        {
            var table = new Table().Border(TableBorder.Simple);
            AnsiConsole.MarkupLine(Markup.Escape($"{down} down, {across} across; + enough is recognised, − not"));
            table.AddColumn(new TableColumn(Markup.Escape(down)).NoWrap());
            foreach (RegionBin column in map.Columns) { table.AddColumn(new TableColumn(Markup.Escape(column.Label)).RightAligned()); }
            for (int r = 0; r < map.Rows.Count; r++)
            {
                table.AddRow([Markup.Escape(map.Rows[r].Label), .. map.Points[r].Select(p => Markup.Escape(p?.Share is { } share ? FormattableString.Invariant($"{Mark(p)} {Math.Floor(share * 100):0} %") : Figure.Absent))]);
            }
            AnsiConsole.Write(table);
        }
        for (int r = 0; r < map.Rows.Count && map.Rows.Count <= MostRows; r++) { AnsiConsole.MarkupLine(Markup.Escape($"{down} {map.Rows[r].Label}: {map.Edge(r)}")); }
    }

    /// <summary>Enough or not, beside the number and without colour.</summary>
    private static string Mark(RegionPoint point) => point.Holds switch { true => "+", false => "−", _ => " " };
}
