using System.Globalization;
using HilRunner.Core.Runs;
using HilRunner.Reporting.Axis;
using HilRunner.Reporting.Page;

namespace HilRunner.Reporting.RunPage;

/// <summary>Whether the stimulus was good: health of the rig and the device, trouble with its times, distribution of lateness.</summary>
internal static class RigSection
{
    private const int MostIncidents = 500;
    private static readonly double[] EdgesMs = [0, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1_000];

    public static void Write(HtmlPage page, AxisModel model)
    {
        StoredRun run = model.Run;
        page.Add($"<section aria-labelledby=\"rig\"><h2 id=\"rig\">Rig and device</h2>\n<div>\n");
        if (run.Score.Health.Faults.Count == 0) { page.Add($"<p>The rig kept within its health limits.</p>\n"); }
        else
        {
            page.Add($"<p><b>The rig broke its health limits:</b></p>\n<ul>");
            foreach (string fault in run.Score.Health.Faults.Take(20)) { page.Add($"<li>{fault}</li>"); }
            page.Add($"</ul>\n");
        }
        Incidents(page, run);
        page.Add($"<div class=\"beside\">\n");
        Health(page, run);
        page.Add($"<div>\n");
        LatenessTable(page, model.Lateness);
        page.Add($"</div></div>\n");
        page.Add($"<p class=\"notice\"><b>Injected motion can make a device act.</b> It may transmit, sound an alarm or move an actuator, as if the motion were real. Disconnect radio, alarm and actuator, or make sure that their action does no harm, before the next run.</p>\n</div></section>\n");
    }

    private static void Health(HtmlPage page, StoredRun run)
    {
        RigHealth h = run.Score.Health;
        DeviceHealth d = run.Score.Device;
        (string Name, Markup Value)[] rows =
        [
            ("samples sent", Markup.Of($"{h.Sent}")), ("samples lost", Markup.Of($"{h.Lost}")), ("samples late", Markup.Of($"{h.Late}")),
            ("latest by", HtmlPage.FigureOr(Figure.Nanoseconds(h.LateMaxNs), "nothing was due: the device set the pace")),
            ("bad frames", Markup.Of($"{h.FramesBad}")), ("unknown lines", Markup.Of($"{h.LinesUnknown}")), ("reconnects", Markup.Of($"{h.Reconnects}")),
            ("clock uncertainty", h.ClockUncertaintyNs is { } u ? Markup.Of($"± {Figure.Nanoseconds(u)}") : HtmlPage.Absent("the device's clock was not compared")),
            ("device resets", Markup.Of($"{d.Resets}")), ("device silences", Markup.Of($"{d.Silences}")),
            ("device clock against the host's", d.ClockPpm is { } ppm ? Markup.Of($"{Figure.With(ppm, null, "ppm")}") : HtmlPage.Absent("the device's clock was not compared")),
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

    private static void LatenessTable(HtmlPage page, Lateness? late)
    {
        page.Add($"<h3>Lateness of samples: sent less due</h3>\n");
        if (late is null) { page.Add($"<p>{HtmlPage.Absent("no sample had a due time")} The device or its credit set the pace, so no sample had a due time.</p>\n"); return; }
        long[] sorted = late.SortedNs;
        page.Add($"<p>{sorted.Length} samples: median {Figure.Nanoseconds(At(sorted, 0.5))}, 99 % within {Figure.Nanoseconds(At(sorted, 0.99))}, latest {Figure.Nanoseconds(sorted[^1])}.</p>\n");
        var bins = Bins(sorted);
        long most = bins.Max(b => b.Count);
        page.Table("Distribution of lateness", ["Late by", "Samples", "Share"], bins.Select(b =>
        {
            string width = ((double)b.Count / most * 100).ToString("0.#", CultureInfo.InvariantCulture);
            Markup bar = b.Count == 0 ? Markup.Empty : Markup.Of($"<i class=\"bar\" style=\"width:{width}%\"></i>");
            return Markup.Of($"<tr><th scope=\"row\">{b.Name}</th><td class=\"n\">{b.Count}</td><td class=\"bar-cell\">{bar}<span>{Figure.Share((double)b.Count / sorted.Length)}</span></td></tr>");
        }), "histogram");
    }

    /// <summary>The smallest value that at least the given share of the values does not exceed.</summary>
    private static long At(long[] sorted, double share) => sorted[Math.Clamp((int)Math.Ceiling(share * sorted.Length) - 1, 0, sorted.Length - 1)];

    private static List<(string Name, long Count)> Bins(long[] sortedNs)
    {
        var counts = new long[EdgesMs.Length + 1];
        foreach (long ns in sortedNs)
        {
            int bin = 0;
            while (bin < EdgesMs.Length && ns / 1e6 >= EdgesMs[bin]) { bin++; }
            counts[bin]++;
        }
        int first = Array.FindIndex(counts, c => c > 0), last = Array.FindLastIndex(counts, c => c > 0);
        var bins = new List<(string, long)>();
        for (int i = first; i <= last; i++) { bins.Add((Name(i), counts[i])); }
        return bins;
    }

    private static string Name(int bin)
    {
        if (bin == 0) { return "early"; }
        if (bin == EdgesMs.Length) { return Figure.Seconds(EdgesMs[^1] / 1e3) + " or more"; }
        return FormattableString.Invariant($"{EdgesMs[bin - 1]:0.###} to {EdgesMs[bin]:0.###} ms");
    }
}
