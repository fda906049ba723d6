using HilRunner.Core.Runs;
using HilRunner.Reporting.Page;

namespace HilRunner.Reporting.RunPage;

/// <summary>Whether the stimulus was good: health of the rig and the device, trouble with its times.</summary>
internal static class RigSection
{
    private const int MostIncidents = 500;

    public static void Write(HtmlPage page, StoredRun run)
    {
        page.Add($"<section aria-labelledby=\"rig\"><h2 id=\"rig\">Rig and device</h2>\n<div>\n");
        if (run.Score.Health.Faults.Count == 0) { page.Add($"<p>The rig kept within its health limits.</p>\n"); }
        else
        {
            page.Add($"<p><b>The rig broke its health limits:</b></p>\n<ul>");
            foreach (string fault in run.Score.Health.Faults.Take(20)) { page.Add($"<li>{fault}</li>"); }
            page.Add($"</ul>\n");
        }
        Incidents(page, run);
        Health(page, run);
        if (!run.Manifest.Injects)
        {
            page.Add($"</div></section>\n");
            return;
        }
        page.Add($"<p class=\"notice\"><b>Injected motion can make a device act.</b> It may transmit, sound an alarm or move an actuator, as if the motion were real. Disconnect radio, alarm and actuator, or make sure that their action does no harm, before the next run.</p>\n</div></section>\n");
    }

    private static void Health(HtmlPage page, StoredRun run)
    {
        RigHealth h = run.Score.Health;
        DeviceHealth d = run.Score.Device;
        (string Name, Markup Value)[] rows =
        [
            ("samples sent", Markup.Of($"{h.Sent}")), ("samples lost", Markup.Of($"{h.Lost}")), ("samples late", Markup.Of($"{h.Late}")),
            ("latest by", HtmlPage.FigureOr(Figure.Nanoseconds(h.LateMaxNs), !run.Manifest.Injects ? "nothing was sent: the device was moved" : "nothing was due: the device set the pace")),
            ("bad frames", Markup.Of($"{h.FramesBad}")), ("unknown lines", Markup.Of($"{h.LinesUnknown}")), ("reconnects", Markup.Of($"{h.Reconnects}")),
            ("clock uncertainty", h.ClockUncertaintyNs is { } u ? Markup.Of($"± {Figure.Uncertainty(u / 1e9)}") : HtmlPage.Absent("no decision was timed by the device's clock")),
            ("device resets", Markup.Of($"{d.Resets}")), ("device silences", Markup.Of($"{d.Silences}")),
        ];
        page.Table("Health of rig and device", ["Figure", "Value"], rows.Select(r => Markup.Of($"<tr><th scope=\"row\">{r.Name}</th><td class=\"n\">{r.Value}</td></tr>")), "narrow");
    }

    private static void Incidents(HtmlPage page, StoredRun run)
    {
        if (run.Incidents.Count == 0) { return; }
        int number = 0;
        var ordered = run.Incidents.OrderBy(i => i.At is null).ThenBy(i => i.At ?? default).Take(MostIncidents).ToList();
        page.Table("Trouble, with the number it has on the time axis", ["Number", "At", "What"], ordered.Select(i =>
        {
            if (i.At is not { } at) { return Markup.Of($"<tr><td>{HtmlPage.Absent("it has no place on the axis")}</td><td>{HtmlPage.Absent("its time is not known")}</td><td>{i.What}</td></tr>"); }
            number++;
            return Markup.Of($"<tr><td><button type=\"button\" class=\"go\" data-at=\"{at.Ns}\" aria-label=\"Show trouble {number} on the time axis\">{number}</button></td><td class=\"n\">{Figure.At(at.Ns)}</td><td>{i.What}</td></tr>");
        }));
        if (run.Incidents.Count > MostIncidents) { page.Add($"<p class=\"quiet\">and {run.Incidents.Count - MostIncidents} more, in {RunFiles.Log}</p>\n"); }
    }
}
