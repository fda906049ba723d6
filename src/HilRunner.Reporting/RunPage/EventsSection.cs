using HilRunner.Reporting.Axis;
using HilRunner.Reporting.Page;
using HilRunner.Scoring;

namespace HilRunner.Reporting.RunPage;

/// <summary>Momentary classes: hits, misses and false alarms. Left out where the scenario names no event.</summary>
internal static class EventsSection
{
    public static void Write(HtmlPage page, OutputScore score, int output, string suffix, ClassColours colours)
    {
        if (score.Events.Count == 0) { return; }
        page.Add($"<section aria-labelledby=\"events-{output}\"><h2 id=\"events-{output}\">Events{suffix}</h2>\n<div>\n");
        page.Table($"Events by class{suffix}", ["Class", "Hits", "Misses", "False alarms", "False alarms per hour"],
            colours.Names.Where(score.Events.ContainsKey).Select(c => Row(c, score.Events[c], colours)), "narrow");
        page.Add($"</div></section>\n");
    }

    private static Markup Row(string name, EventScore e, ClassColours colours) =>
        Markup.Of($"<tr><th scope=\"row\">{colours.Label(name)}</th><td class=\"n\">{Figure.Of(e.Hits, e.Hits + e.Misses)}</td><td class=\"n\">{e.Misses}</td><td class=\"n\">{e.FalseAlarms}</td><td class=\"n\">{HtmlPage.FigureOr(Figure.With(e.FalseAlarmsPerHour, null, "/h"), "no stimulus time to count over")}</td></tr>");
}
