using System.Globalization;
using HilRunner.Reporting.Axis;
using HilRunner.Reporting.Page;
using HilRunner.Scoring;

namespace HilRunner.Reporting.RunPage;

/// <summary>How steadily the output changes: surplus changes, chatter, dwells; and what became of each segment.</summary>
internal static class ChangesSection
{
    public static void Write(HtmlPage page, OutputScore score, int output, string suffix, ObservedTimeline timeline, ClassColours colours)
    {
        page.Add($"<section aria-labelledby=\"changes-{output}\"><h2 id=\"changes-{output}\">Changes and segments{suffix}</h2>\n<div>\n");
        page.Add($"<div class=\"beside\">\n");
        Changes(page, score.Changes, suffix);
        Dwells(page, score.Changes, suffix, timeline);
        page.Add($"</div>\n");
        if (score.Segments.Count > 0) { Segments(page, score, suffix, colours); }
        page.Add($"</div></section>\n");
    }

    private static void Changes(HtmlPage page, ChangeScore c, string suffix)
    {
        (string Name, Markup Value)[] rows =
        [
            ("changes observed", Markup.Of($"{c.Observed}")), ("changes in the reference", Markup.Of($"{c.Reference}")), ("surplus", Markup.Of($"{c.Surplus}")),
            ("surplus per minute", HtmlPage.FigureOr(Figure.With(c.SurplusPerMinute, null, "/min"), "no scored time")),
            ("chatter per minute", HtmlPage.FigureOr(Figure.With(c.ChatterPerMinute, null, "/min"), "no scored time")),
            ("shortest dwell", HtmlPage.FigureOr(Figure.Nanoseconds(c.ShortestDwellNs), "fewer than two changes in one stretch")),
            ("median dwell", HtmlPage.FigureOr(Figure.Seconds(c.MedianDwellS), "fewer than two changes in one stretch")),
        ];
        page.Table($"Changes of the output{suffix}", ["Figure", "Value"], rows.Select(r => Markup.Of($"<tr><th scope=\"row\">{r.Name}</th><td class=\"n\">{r.Value}</td></tr>")), "narrow");
    }

    private static void Dwells(HtmlPage page, ChangeScore changes, string suffix, ObservedTimeline timeline)
    {
        if (timeline.DwellsNs.Count == 0) { return; }
        double[] seconds = [.. timeline.DwellsNs.Select(ns => ns / 1e9).Order()];
        page.Add($"<div class=\"plot\"><h3>Dwells: time between two changes</h3>\n");
        page.Add(DotPlot.Of([new("dwell", -1, seconds, 0, changes.MedianDwellS, null)], $"Dwells between changes{suffix}"));
        page.Add($"</div>\n");
    }

    private static void Segments(HtmlPage page, OutputScore score, string suffix, ClassColours colours)
    {
        var names = colours.Names.Where(score.Segments.ContainsKey).ToList();
        page.Add($"<div class=\"beside\">\n");
        page.Table($"Reference segments: what became of them{suffix}", ["Class", "Correct", "Deleted", "Fragmented", "Merged", "Both"], names.Select(c =>
        {
            var r = score.Segments[c].Reference;
            return Markup.Of($"<tr><th scope=\"row\">{colours.Label(c)}</th><td class=\"n\">{r.Correct}</td><td class=\"n\">{r.Deletion}</td><td class=\"n\">{r.Fragmented}</td><td class=\"n\">{r.Merged}</td><td class=\"n\">{r.FragmentedAndMerged}</td></tr>");
        }), "narrow");
        page.Table($"Observed segments: where they came from{suffix}", ["Class", "Correct", "Inserted", "Fragmenting", "Merging", "Both"], names.Select(c =>
        {
            var o = score.Segments[c].Observed;
            return Markup.Of($"<tr><th scope=\"row\">{colours.Label(c)}</th><td class=\"n\">{o.Correct}</td><td class=\"n\">{o.Insertion}</td><td class=\"n\">{o.Fragmenting}</td><td class=\"n\">{o.Merging}</td><td class=\"n\">{o.FragmentingAndMerging}</td></tr>");
        }), "narrow");
        page.Add($"</div>\n<details><summary>Seconds of each kind of segment error</summary>\n");
        page.Table($"Seconds by kind of segment error{suffix}", ["Class", "True positive", "Insertion", "Merge", "Overfill at start", "Overfill at end", "Deletion", "Fragmentation", "Underfill at start", "Underfill at end"], names.Select(c =>
        {
            var t = score.Segments[c].TimeNs;
            long[] all = [t.TruePositive, t.Insertion, t.Merge, t.OverfillStart, t.OverfillEnd, t.Deletion, t.Fragmentation, t.UnderfillStart, t.UnderfillEnd];
            return Markup.Of($"<tr><th scope=\"row\">{colours.Label(c)}</th>{Markup.Join(all.Select(ns => Markup.Of($"<td class=\"n\">{(ns / 1e9m).ToString("0.0##", CultureInfo.InvariantCulture)} s</td>")))}</tr>");
        }));
        page.Add($"</details>\n");
    }
}
