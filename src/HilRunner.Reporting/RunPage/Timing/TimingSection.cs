using HilRunner.Core.Runs;
using HilRunner.Reporting.Axis;
using HilRunner.Reporting.Page;

namespace HilRunner.Reporting.RunPage.Timing;

/// <summary>How the run's times are known: the device's clock against the host's, the host's stamps, and how samples were paced.</summary>
internal static class TimingSection
{
    private const string NeverCompared = "the device's clock was not compared with the host's";

    public static void Write(HtmlPage page, AxisModel model)
    {
        StoredRun run = model.Run;
        page.Add($"<section aria-labelledby=\"timing\"><h2 id=\"timing\">Timing</h2>\n<div>\n");
        page.Add($"<div class=\"beside\">\n<div>\n");
        Clock(page, run);
        page.Add($"</div>\n<div>\n");
        Stamps(page, run.Timing);
        page.Add($"</div>\n</div>\n");
        PacingPart.Write(page, run, model.Lateness);
        page.Add($"</div></section>\n");
    }

    private static void Clock(HtmlPage page, StoredRun run)
    {
        RunTiming t = run.Timing;
        DeviceHealth d = run.Score.Device;
        page.Add($"<h3>The device's clock against the host's</h3>\n");
        if (t.Exchanges == 0)
        {
            string why = t.Unanswered > 0
                ? FormattableString.Invariant($"It was asked {t.Unanswered} times and never answered, so nothing is known of it.")
                : "It was not asked: the rig file gives no clock question, or the run ended before one. Nothing is known of it.";
            page.Add($"<p>{why}</p>\n");
            return;
        }
        string noRate = "the round trips are too long, or too close together, for a rate";
        (string Name, Markup Value)[] rows =
        [
            ("round trips", Markup.Of($"{t.Exchanges} answered, {t.Unanswered} unanswered")),
            ("fastest round trip", HtmlPage.FigureOr(Figure.Nanoseconds(t.LeastDelayNs), NeverCompared)),
            ("rate", HtmlPage.FigureOr(ClockWords.Rate(d), noRate)),
            ("departure from an even rate", t.UnevenNs == 0 ? Markup.Of($"none seen") : Markup.Of($"up to {Figure.Nanoseconds(t.UnevenNs)}")),
            ("began anew", Markup.Of($"{ClockWords.Epochs(t.Epochs)}")),
            ("widest bound on a decision", run.Score.Health.ClockUncertaintyNs is { } u
                ? Markup.Of($"± {Figure.Uncertainty(u / 1e9)} (limit {Figure.Nanoseconds(run.HealthLimits.Clock.Ticks * 100)})")
                : HtmlPage.Absent("no decision was timed by the device's clock")),
        ];
        Figures(page, "Clock comparison", rows);
    }

    private static void Stamps(HtmlPage page, RunTiming t)
    {
        page.Add($"<h3>The host's stamps and the link</h3>\n");
        (string Name, Markup Value)[] rows =
        [
            ("99.9 % of wake-ups within", HtmlPage.FigureOr(Figure.Nanoseconds(t.WakeNs), "not measured: the host did not pace this run")),
            ("one byte on the wire", HtmlPage.FigureOr(Figure.Nanoseconds(t.ByteNs), "the link has no baud rate")),
            ("link time taken off arrivals", t.LinkNs is { } link
                ? Markup.Of($"{Figure.Nanoseconds(link)}{(t.LinkFrom.Length > 0 ? $" ({t.LinkFrom})" : "")}")
                : HtmlPage.Absent("no decision was timed by its arrival")),
        ];
        Figures(page, "Stamps and link", rows);
    }

    private static void Figures(HtmlPage page, string caption, IEnumerable<(string Name, Markup Value)> rows) =>
        page.Table(caption, ["Figure", "Value"], rows.Select(r => Markup.Of($"<tr><th scope=\"row\">{r.Name}</th><td class=\"n words\">{r.Value}</td></tr>")), "narrow");
}
