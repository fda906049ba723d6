using System.Globalization;
using HilRunner.Reporting.Page;
using HilRunner.Reporting.Regions;

namespace HilRunner.Reporting.SuitePage;

/// <summary>Two parameters against each other: a table whose cells are tinted by the share, say it in numbers, and are framed where it is enough.</summary>
internal static class RegionMapTable
{
    public static void Write(HtmlPage page, RegionMap map, string name)
    {
        string rows = map.Rows[0].Parameter.Title, columns = map.Columns[0].Parameter.Title;
        string caption = $"{name}: recognised, by {rows} (down) and {columns} (across)";
        page.Table(caption, [$"{rows} ↓  {columns} →", .. map.Columns.Select(c => c.Label), "Along the row"], map.Rows.Select((_, r) => Row(map, r)), "matrix region");
        page.Add($"<p class=\"quiet\">Framed: enough is recognised. The stronger the colour, the more. Below the share: recognised of counted trials.</p>\n");
    }

    private static Markup Row(RegionMap map, int r)
    {
        Markup cells = Markup.Join(map.Points[r].Select(Cell));
        return Markup.Of($"<tr><th scope=\"row\" class=\"n\">{map.Rows[r].Label}</th>{cells}<td class=\"along\">{map.Edge(r)}</td></tr>");
    }

    private static Markup Cell(RegionPoint? point)
    {
        if (point is null) { return Markup.Of($"<td class=\"n zero\">{HtmlPage.Absent("not played")}</td>"); }
        if (point.Share is not { } share) { return Markup.Of($"<td class=\"n zero\">{HtmlPage.Absent(point.Usable == 0 ? "no run can be used" : "no trial counts")}</td>"); }
        string tint = (share * 55).ToString("0", CultureInfo.InvariantCulture);
        return Markup.Of($"<td class=\"n {(point.Holds == true ? "same" : "")}\" style=\"--tint:{tint}%\">{Math.Floor(share * 100).ToString("0", CultureInfo.InvariantCulture)} %<small>{point.Recognised}/{point.Counted}</small></td>");
    }
}
