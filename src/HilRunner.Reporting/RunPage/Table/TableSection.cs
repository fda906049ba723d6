using HilRunner.Core.Shakers;
using HilRunner.Reporting.Page;

namespace HilRunner.Reporting.RunPage.Table;

/// <summary>Moved by the rig's table: what was kept of the motion, what the table made of it, and where it did not.</summary>
internal static class TableSection
{
    private const int Most = 50;

    public static void Write(HtmlPage page, StoredRun run)
    {
        if (run.Table is not { } table) { return; }
        var (record, outcome) = (table.Record, table.Outcome);
        page.BeginSection("table", "Moved by the table");
        page.Add($"<p>The rig's table moved the device along {record.Axis}; nothing was injected. Before its time 0 the motion fades in, mirrored, so that what is scored is whole: the reaction of the first trial is therefore none to an onset.</p>\n");
        TableCaution.Write(page);
        if (table.Faults.Count == 0) { page.Add($"<p>The table made what it was told.</p>\n"); }
        else
        {
            page.Add($"<p><b>This run cannot be held against the device:</b></p>\n<ul>");
            foreach (string fault in table.Faults.Take(Most)) { page.Add($"<li>{fault}</li>"); }
            page.Add($"</ul>\n");
        }
        page.Table("The motion on the table", ["Figure", "Value"], Facts(record, outcome), "narrow");
        page.Table("By frequency, in g rms", ["From", "To", "Recorded", "Told", "Measured", "Felt by the device"], record.Loss.Bands.Select(b => Band(b, table)), "narrow");
        if (record.Loss.Lost.Count > 0)
        {
            string stretches = string.Join(", ", record.Loss.Lost.Take(Most).Select(s => FormattableString.Invariant($"{record.BeginsS + s.FromS:0.#}–{record.BeginsS + s.ToS:0.#} s")));
            page.Add($"<p>More than half of the recorded motion is missing or wrong, as was known beforehand, at {stretches}.</p>\n");
        }
        if (record.Trials.Count > 0) { page.Table("As the host's model sees it", ["Trial", "Expected", "Injected", "On the table"], record.Trials.Take(Most).Select(t => Markup.Of($"<tr><th scope=\"row\">{t.Trial}</th><td>{t.Expected}</td><td>{t.Injected ?? "nothing"}</td><td>{t.OnTable ?? "nothing"}</td></tr>")), "narrow"); }
        if (outcome.Response is { } response) { page.Add(ResponsePlot.Of(response, record.FromHz, record.ToHz, "What the table made of what it was told, by frequency")); }
        if (table.Device is { Response: { } felt }) { page.Add(ResponsePlot.Of(felt, record.FromHz, record.ToHz, "What the device felt of it, by frequency")); }
        page.EndSection();
    }

    private static IEnumerable<Markup> Facts(TableRecord record, TableOutcome outcome)
    {
        yield return HtmlPage.Fact("band", FormattableString.Invariant($"{record.FromHz:0.##} Hz to {record.ToHz:0.##} Hz"));
        yield return HtmlPage.Fact("size", record.Scale == 1 ? "as recorded" : FormattableString.Invariant($"{record.Scale:0.###} times as recorded, to fit"));
        yield return HtmlPage.Fact("recorded along the axis", G(record.Loss.WantedG));
        yield return HtmlPage.Fact("missing or wrong, known beforehand", G(record.Loss.ErrorG));
        foreach (var other in record.Others) { yield return HtmlPage.Fact($"lost along {other.Channel}", G(other.RmsG)); }
        yield return HtmlPage.Fact("told", G(outcome.ToldG));
        yield return HtmlPage.Fact("measured", G(outcome.MeasuredG));
        yield return HtmlPage.Fact("difference, position by position", G(outcome.ErrorG));
        if (outcome.Response is { } response) { yield return HtmlPage.Fact("noise and distortion, of what was measured", FormattableString.Invariant($"{response.Distortion * 100:0.0} %")); }
        yield return HtmlPage.Fact("gain at a low level", record.Gain is { } gain ? FormattableString.Invariant($"{gain:0.00}") : "not measured");
        yield return HtmlPage.Fact("equalised", record.Equalised ? "yes: it was told the inverse of what it makes" : "no");
    }

    private static Markup Band(BandLoss band, TableReview table)
    {
        Markup measured = Made(band, table.Outcome, "nothing was measured"), felt = table.Device is { } device ? Made(band, device, "nothing of it was felt") : HtmlPage.Absent("the device does not say what it measures");
        return Markup.Of($"<tr><th scope=\"row\">{FormattableString.Invariant($"{band.FromHz:0.##} Hz")}</th><td>{FormattableString.Invariant($"{band.ToHz:0.##} Hz")}</td><td class=\"n\">{FormattableString.Invariant($"{band.WantedG:0.####}")}</td><td class=\"n\">{FormattableString.Invariant($"{band.MadeG:0.####}")}</td><td class=\"n\">{measured}</td><td class=\"n\">{felt}</td></tr>");
    }

    private static Markup Made(BandLoss band, TableOutcome outcome, string none)
    {
        var made = outcome.Bands.FirstOrDefault(b => b.FromHz == band.FromHz);
        return made is null ? HtmlPage.Absent(none) : Markup.Of($"{FormattableString.Invariant($"{made.MadeG:0.####}")}{(outcome.OffBands.Contains(made) ? " (outside the tolerance)" : "")}");
    }

    private static string G(double g) => FormattableString.Invariant($"{g:0.####} g rms");
}
