using HilRunner.Cli.Screen.Terminals;
using HilRunner.Reporting;
using HilRunner.Reporting.Regions;

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
            Terminal.Line($"where it still recognises: {region.Scenario}{output} ({region.Runs} runs)");
            if (region.Map is { } map) { Print(map); }
            foreach (RegionLine line in region.Lines) { Print(line, region.Lines.Count > 1, tables: region.Map is null); }
            Terminal.Line();
        }
    }

    private static void Print(RegionLine line, bool pooled, bool tables)
    {
        string name = line.Parameter.Title;
        if (tables && line.Points.Count <= MostRows)
        {
            var table = new ScreenTable();
            table.AddColumn(name, noWrap: true);
            table.AddColumn("recognised", noWrap: true);
            table.AddColumn("reaction", right: true, noWrap: true);
            table.AddColumn("passed", noWrap: true);
            table.AddColumn("not recognised");
            foreach (var (bin, point) in line.Bins.Zip(line.Points))
            {
                table.AddRow(
                    bin.Label, point.Counted == 0 ? Figure.Absent : $"{Mark(point)} {Figure.Of(point.Recognised, point.Counted)}",
                    Figure.Seconds(point.MedianS), $"{point.Passed} of {point.Usable}", string.Join(", ", point.Short.Take(3)));
            }
            Terminal.Write(table);
        }
        string others = pooled ? " (all values of the others together)" : "";
        Terminal.Line($"{name}{others}: {line.Edge}; {line.PassEdge}");
    }

    private static void Print(RegionMap map)
    {
        string across = map.Columns[0].Parameter.Title, down = map.Rows[0].Parameter.Title;
        if (map.Columns.Count <= MostColumns && map.Rows.Count <= MostRows)
        {
            var table = new ScreenTable();
            Terminal.Line($"{down} down, {across} across; + enough is recognised, − not");
            table.AddColumn(down, noWrap: true);
            foreach (RegionBin column in map.Columns) { table.AddColumn(column.Label, right: true); }
            for (int r = 0; r < map.Rows.Count; r++)
            {
                table.AddRow(
                    [map.Rows[r].Label,
                        .. map.Points[r].Select(p => p?.Share is { } share
                            ? FormattableString.Invariant($"{Mark(p)} {Math.Floor(share * 100):0} %") : Figure.Absent)]);
            }
            Terminal.Write(table);
        }
        for (int r = 0; r < map.Rows.Count && map.Rows.Count <= MostRows; r++)
        {
            Terminal.Line($"{down} {map.Rows[r].Label}: {map.Edge(r)}");
        }
    }

    /// <summary>Enough or not, beside the number and without colour.</summary>
    private static string Mark(RegionPoint point) => point.Holds switch { true => "+", false => "−", _ => " " };
}
