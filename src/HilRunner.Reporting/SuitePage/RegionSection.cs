using HilRunner.Reporting.Page;
using HilRunner.Reporting.Regions;

namespace HilRunner.Reporting.SuitePage;

/// <summary>Over which values of the varied parameters the device still recognises. Left out where nothing was varied.</summary>
internal static class RegionSection
{
    private const int MostRowsOpen = 24;

    public static void Write(HtmlPage page, IReadOnlyList<VariedRegion> regions)
    {
        if (regions.Count == 0) { return; }
        page.Add($"<section aria-labelledby=\"regions\"><h2 id=\"regions\">Where it still recognises</h2>\n<div>\n");
        foreach (VariedRegion region in regions) { Region(page, region); }
        page.Add($"<p class=\"quiet\">Variations and repeats of one recording are not independent trials: these shares describe the recordings that were played and carry no confidence. Reactions count a missed trial as endless. Runs with a faulty rig, errors, and runs that were played again are left out.</p>\n</div></section>\n");
    }

    private static void Region(HtmlPage page, VariedRegion region)
    {
        string output = region.Output.Length == 0 ? "" : $", {region.Output}";
        string way = region.Sampled ? "drawn at random" : "of a grid";
        page.Add($"<h3>{region.Scenario}{output}</h3>\n<p>{region.Runs} runs, {region.Combinations} combinations {way}. Recognised: {region.Needs}.{Fixed(region)}</p>\n");
        if (region.Lines.Count > 1) { page.Add($"<p>All runs together: {Figure.Of(region.All.Recognised, region.All.Counted)} trials.</p>\n"); }
        if (region.Map is { } map) { RegionMapTable.Write(page, map, Name(region)); }
        foreach (RegionLine line in region.Lines) { Line(page, region, line); }
    }

    private static string Fixed(VariedRegion region) =>
        region.Fixed.Count == 0 ? "" : " Everywhere: " + string.Join(", ", region.Fixed.Select(v => $"{v.Parameter.Title} {v.Parameter.Show(v.Value)}")) + ".";

    private static string Sentence(string words) => words[..1].ToUpperInvariant() + words[1..];

    private static string Name(VariedRegion region) => region.Output.Length == 0 ? region.Scenario : $"{region.Scenario}, {region.Output}";

    private static void Line(HtmlPage page, VariedRegion region, RegionLine line)
    {
        string pooled = region.Lines.Count > 1 ? ", all values of the others together" : "";
        string title = Sentence(line.Parameter.Title) + pooled;
        page.Add($"<h4>{title}</h4>\n<p class=\"edge\">{Sentence(line.Edge)}.</p>\n<p class=\"quiet\">{Sentence(line.PassEdge)}.</p>\n<div class=\"beside\">\n");
        page.Add(RegionPlot.Of(line, title));
        page.Add($"<div>\n");
        bool folded = line.Points.Count > MostRowsOpen;
        if (folded) { page.Add($"<details><summary>All {line.Points.Count} values</summary>\n"); }
        page.Table($"{title}: {Name(region)}", ["Value", "Recognised", "Enough", "Reaction, median", "Runs passed", "Not recognised"], line.Bins.Zip(line.Points, Row), "narrow");
        if (folded) { page.Add($"</details>\n"); }
        page.Add($"</div></div>\n");
    }

    private static Markup Row(RegionBin bin, RegionPoint point)
    {
        string why = point.Usable == 0 ? "no run can be used" : "no trial counts";
        Markup share = point.Counted == 0 ? HtmlPage.Absent(why) : Markup.Of($"{Figure.Of(point.Recognised, point.Counted)}");
        Markup enough = point.Holds is { } holds ? Markup.Of($"<span class=\"outcome\">{(holds ? "yes" : "no")}</span>") : HtmlPage.Absent(why);
        Markup passed = point.Usable == 0 ? HtmlPage.Absent(why) : Markup.Of($"{point.Passed} of {point.Usable}");
        string left = point.Left == 0 ? "" : FormattableString.Invariant($", {point.Left} left out");
        string css = point.Holds switch { true => "", false => "bad", _ => "uncounted" };
        return Markup.Of($"<tr class=\"{css}\"><th scope=\"row\" class=\"n\">{bin.Label}</th><td class=\"n\">{share}</td><td>{enough}</td><td class=\"n\">{Median(point)}</td><td class=\"n\">{passed}{left}</td><td>{string.Join(", ", point.Short)}</td></tr>");
    }

    private static Markup Median(RegionPoint point) => point.MedianS switch
    {
        null => HtmlPage.Absent("no reaction was measured"),
        { } s when double.IsInfinity(s) => HtmlPage.Absent("half of the trials or more were missed"),
        { } s => Markup.Of($"{Figure.Seconds(s)}"),
    };
}
