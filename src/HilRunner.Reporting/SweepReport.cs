using System.Globalization;
using HilRunner.Reporting.Page;
using HilRunner.Reporting.SweepPage;
using HilRunner.Scoring.Sweeping;

namespace HilRunner.Reporting;

/// <summary>The page of a sweep: its verdict, where the class switches, the loops, the curves, the map, and how far it reaches.</summary>
public static class SweepReport
{
    /// <summary>Writes the whole page; <paramref name="output"/> should encode as UTF-8.</summary>
    public static void Write(Sweep sweep, TextWriter output)
    {
        ArgumentNullException.ThrowIfNull(sweep);
        ArgumentNullException.ThrowIfNull(output);
        var page = new HtmlPage(output);
        page.Begin($"{sweep.Name}: {Words.Of(sweep.Verdict)}");
        page.Add($"<a class=\"skip\" href=\"#switches\">Skip to where it switches</a>\n<header>\n<p class=\"kicker\">Sweep <span class=\"dot\">·</span> {sweep.Name} <span class=\"dot\">·</span> {sweep.Rig} <span class=\"dot\">·</span> {sweep.Build} <span class=\"dot\">·</span> {Dates.Of(sweep.Begun)}</p>\n");
        VerdictStamp.Write(page, sweep.Verdict, sweep.Reasons, Answer(sweep));
        page.Add($"</header>\n<main id=\"main\">\n");
        Switches(page, sweep);
        if (sweep.Limits.Count > 0) { Limits(page, sweep); }
        if (sweep.Across is { } across && sweep.Points.Count > 0)
        {
            page.BeginSection("map", "The map");
            page.Add(MapPlot.Of(sweep, across));
            page.EndSection();
        }
        foreach (var point in sweep.Points) { Loop(page, point, sweep); }
        Reach(page, sweep);
        page.Add($"</main>\n");
        page.End();
    }

    private static string Answer(Sweep sweep)
    {
        var all = sweep.Points.SelectMany(p => p.Switches).ToList();
        if (all.Count == 0) { return sweep.Runs.Count == 0 ? "Nothing has been played yet." : "The class does not switch within the range."; }
        int shown = all.Count(s => s.HasHysteresis);
        string hysteresis = shown == all.Count ? "with hysteresis" : shown == 0 ? "no hysteresis shown" : $"{shown} with hysteresis";
        return all.Count == 1 ? $"{all[0].Below} becomes {all[0].Above} at {SweepWords.Figure(all[0].Up, sweep)} on the way up, and is back at {SweepWords.Figure(all[0].Down, sweep)} on the way down; hysteresis: {SweepWords.Width(all[0], sweep)}."
            : $"{all.Count} switching points, {hysteresis}.";
    }

    private static void Switches(HtmlPage page, Sweep sweep)
    {
        page.BeginSection("switches", "Where it switches");
        page.Add($"<p>{HtmlPage.Upper(sweep.Motion)}; {SweepWords.Course(sweep)}. Intervals at {(sweep.Confidence * 100).ToString("0.##", CultureInfo.InvariantCulture)} %.</p>\n");
        string[] heads = ["Switch", "Up", "Down", "Hysteresis", "Legs"];
        page.Table("Switching points", sweep.Across is { } across ? [HtmlPage.Upper(across.Title), .. heads] : heads, sweep.Points.SelectMany(p => p.Switches.Select(s => Row(p, s, sweep))));
        page.EndSection();
    }

    private static Markup Row(SweepPoint point, Switch found, Sweep sweep)
    {
        Markup at = sweep.Across is null ? Markup.Empty : Markup.Of($"<th scope=\"row\">{SweepWords.At(point.Across, sweep)}</th>");
        return Markup.Of($"<tr>{at}<th scope=\"row\" class=\"words\">{found.Below} → {found.Above}</th><td>{SweepWords.Figure(found.Up, sweep)}</td><td>{SweepWords.Figure(found.Down, sweep)}</td><td>{SweepWords.Width(found, sweep)}</td><td class=\"n\">{found.Legs.Count} of {found.LegsPlayed}</td></tr>");
    }

    private static void Limits(HtmlPage page, Sweep sweep)
    {
        page.BeginSection("limits", "Limits");
        page.Table("Limit by limit", ["Limit", "Wanted", "Found", "Outcome"], sweep.Limits.Select(l =>
            Markup.Of($"<tr><th scope=\"row\" class=\"words\">{SweepWords.Of(l.Limit.Measure)}{(l.Switch is { } s ? $", {s}" : l.Limit.Class is { } c ? $" to {c}" : "")}{(l.Point is null ? "" : $" at {SweepWords.At(l.Point, sweep)}")}</th><td>{SweepWords.Bound(l.Limit, sweep)}</td><td>{SweepWords.Figure(l.Figure, sweep)}</td><td class=\"words\">{SweepWords.Word(l.Outcome)}{(l.Why.Length > 0 ? $": {l.Why}" : "")}</td></tr>")), "limits");
        page.EndSection();
    }

    private static void Loop(HtmlPage page, SweepPoint point, Sweep sweep)
    {
        string at = SweepWords.At(point.Across, sweep), id = "loop" + (point.Across is null ? "" : "-" + sweep.Points.ToList().IndexOf(point));
        page.BeginSection(id, at.Length > 0 ? $"At {at}" : "The loop");
        page.Add(LoopPlot.Of(point, sweep, $"Class by {sweep.Along.Title}{(at.Length > 0 ? $" at {at}" : "")}"));
        foreach (var found in point.Switches)
        {
            page.Add(CurvePlot.Of(point, found, sweep, $"Response: {found.Below} to {found.Above}{(at.Length > 0 ? $" at {at}" : "")}"));
            page.Add($"<p>Up: {SweepWords.Curve(found.CurveUp, sweep)}. Down: {SweepWords.Curve(found.CurveDown, sweep)}.</p>\n");
        }
        page.EndSection();
    }

    private static void Reach(HtmlPage page, Sweep sweep)
    {
        page.BeginSection("reach", "How far this reaches");
        page.Add($"<p>Each level lasts {sweep.DwellS.ToString("0.###", CultureInfo.InvariantCulture)} s{(sweep.SlowestStepS is { } s ? $", since the slowest step from end to end took {Figure.Decimals(s, 2)} s" : "")}; what counts is the class in its last quarter. Every leg begins at another place within its first step, spread evenly over the loops. A switching point is the mean over the legs of the middle between two levels, with Student's interval; the hysteresis is up less down, loop by loop. {(sweep.OnTable ? "The device rode on a table; levels are what the table's own sensor measured in the last quarter of each." : "Injected samples test what the device computes, not its sensor and its mounting.")}</p>\n");
        if (sweep.OnTable) { TableCaution.Write(page); }
        foreach (string note in sweep.Notes) { page.Add($"<p>{HtmlPage.Upper(note)}.</p>\n"); }
        if (sweep.Runs.Any(r => r.Spoiled is not null)) { page.Table("Loops that the rig spoiled", ["Loop", "Run", "Why"], sweep.Runs.Where(r => r.Spoiled is not null).Select(r => Markup.Of($"<tr><td class=\"n\">{r.Loop}</td><th scope=\"row\">{r.Run}</th><td class=\"words\">{r.Spoiled}</td></tr>"))); }
        page.Table("Identity", ["What", "Which"], [HtmlPage.Fact("rig", sweep.Rig), HtmlPage.Fact("output", sweep.Output), HtmlPage.Fact("build", sweep.ImageSha256 is { } sha ? $"{sweep.Build}, SHA-256 {sha}" : sweep.Build), HtmlPage.Fact("plan", $"SHA-256 {sweep.PlanSha256}"), HtmlPage.Fact("seed", sweep.Seed.ToString(CultureInfo.InvariantCulture)), HtmlPage.Fact("tool", sweep.ToolVersion)], "identity");
        page.EndSection();
    }
}
