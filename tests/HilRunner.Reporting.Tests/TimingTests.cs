using System.Net;
using System.Text.RegularExpressions;
using HilRunner.Core.Runs;

namespace HilRunner.Reporting.Tests;

/// <summary>The two latencies and how they were timed: named, with their uncertainty, and never one for the other.</summary>
internal sealed class TimingTests
{
    [Test]
    public void Decisions_by_sample_number_are_exact_and_reports_have_the_hosts_wake_up() => Assert.Multiple(() =>
    {
        string text = Section(Pages.Exact, "latency-0");
        Assert.That(text, Does.Contain("Decision latency, in stimulus time").And.Contain("Timed by sample number: exact."));
        Assert.That(text, Does.Contain("Timed by the host's stamps, within ± 190 µs: 99.9 % of its wake-ups took at most 190 µs, and the time of the message's bytes on the wire (86.8 µs each)."));
        Assert.That(Half(text, decision: true), Does.Contain(" exact ").And.Not.Contain("190 µs"));
        Assert.That(Half(text, decision: false), Does.Contain(" 190 µs ").And.Not.Contain("exact"));
    });

    [Test]
    public void Decisions_by_the_devices_clock_have_its_bound()
    {
        string text = Section(Pages.Fail, "latency-0");
        Assert.That(Half(text, decision: true), Does.Contain("Timed by the device's clock, within ± 410 µs.").And.Contain(" 410 µs "));
        Assert.That(Section(Pages.Fail, "trials-0"), Does.Contain(" 410 µs ").And.Contain(" 190 µs "));
        Assert.That(Section(Pages.Fail, "timing"), Does.Contain("24 answered, 1 unanswered").And.Contain("12.40 ± 0.83 ppm slow").And.Contain("± 410 µs (limit 2 ms)").And.Contain("up to 31 µs"));
    }

    [Test]
    public void Arrivals_are_called_not_proven_with_where_the_link_time_comes_from()
    {
        string text = Section(Pages.ArrivalOnly, "latency-0");
        Assert.That(text, Does.Contain("Timed by arrival less a link time of 1.64 ms (half of the fastest of 4 answers to the identity question): not proven."));
        Assert.That(text, Does.Contain("not known, as its wake-ups were not measured in this run"));
        Assert.That(text, Does.Not.Contain("exact").And.Not.Contain("±  "));
        Assert.That(Section(Pages.ArrivalOnly, "timing"), Does.Contain("It was asked 4 times and never answered"));
    }

    [Test]
    public void Ways_that_are_mixed_are_counted()
    {
        var decisions = Pages.Exact.Decisions.ToList();
        decisions[^1] = decisions[^1] with { Timing = DecisionTiming.DeviceClock, UncertaintyNs = 250_000 };
        string text = Section(Pages.Exact with { Decisions = decisions }, "latency-0");
        Assert.That(text, Does.Contain($"Timed {decisions.Count - 1} of {decisions.Count} by sample number: exact; 1 of {decisions.Count} by the device's clock, within ± 250 µs."));
    }

    [Test]
    public void A_device_too_slow_for_the_pace_is_said_where_the_samples_were_late()
    {
        string text = Section(Pages.Starved, "timing");
        Assert.That(text, Does.Contain(
            "The device took samples more slowly than they were due: playout waited 12 times for credit, 3.40 s in all; play slower, or raise the device's window."));
        Assert.That(text, Does.Contain("40 were later than the limit of 5 ms").And.Contain("began anew once").And.Contain("Upright dashes: trouble."));
        Assert.That(Pages.Html(Pages.Starved), Does.Contain("<li>The device took samples more slowly than they were due: <a href=\"#timing\">play slower, or raise its window</a>.</li>"), "what to do next");
    }

    [TestCase(12, 15_600_000, 40, 31_200_000, "The device took samples more slowly than they were due: playout waited 12 times for credit, 15.6 ms in all; play slower, or raise the device's window.")]
    [TestCase(12, 15_599_999, 40, 31_200_000, "Playout waited 12 times for credit, 15.6 ms in all: too little to explain how late the latest sample was.")]
    [TestCase(1, 2_000, 0, 190_000, "Playout waited once for credit, 2 µs in all; no sample was later than the limit.")]
    [TestCase(9, 2_000_000, 0, null, "The device set the pace: playout waited 9 times for credit, 2 ms in all.")]
    [TestCase(0, 0, 40, 31_200_000, "")]
    public void Credit_is_blamed_only_where_it_was_waited_for(long waits, long waitedNs, long late, long? latestNs, string expected) =>
        Assert.That(PacingWords.Credit(new() { CreditWaits = waits, CreditWaitNs = waitedNs }, new() { Late = late, LateMaxNs = latestNs }), Is.EqualTo(expected));

    [TestCase(12.4, 0.83, "12.40 ± 0.83 ppm fast")]
    [TestCase(-12.4, 0.83, "12.40 ± 0.83 ppm slow")]
    [TestCase(-0.2, 0.83, "−0.20 ± 0.83 ppm (no difference shown)")]
    [TestCase(0.0, 0.0, "0 ppm (no difference shown)")]
    [TestCase(-12.4, null, "12.4 ppm slow")]
    [TestCase(null, null, "—")]
    public void A_rate_is_called_fast_or_slow_only_where_that_is_known(double? ppm, double? uncertainty, string expected) =>
        Assert.That(ClockWords.Rate(new DeviceHealth(0, 0, ppm) { ClockPpmUncertainty = uncertainty }), Is.EqualTo(expected));

    [Test]
    public void What_was_not_paced_has_reasons_and_no_plot()
    {
        string text = Section(Pages.Unpaced, "timing");
        Assert.That(text, Does.Contain("The device set the pace: playout waited 190 times for credit, 41 ms in all.").And.Contain("no sample had a due time"));
        Assert.That(text, Does.Contain("It was not asked").And.Contain("not measured: the host did not pace this run"));
        Assert.That(text, Does.Not.Contain("Lateness over the run"));
        Assert.That(Section(Pages.Unpaced, "latency-0"), Does.Contain("it is measured in real time only, and this run was played at speed max"));
    }

    /// <summary>The columns of both plots, measured on the screen, against the samples.</summary>
    [Test]
    public async Task The_stall_stands_in_the_histogram_and_over_the_run_where_it_was()
    {
        await using Browser browser = await Browser.StartAsync();
        await using OpenPage open = await browser.OpenAsync("starved");
        var rows = Pages.Starved.Playout;
        double[][] histogram = await Columns(open, 0), course = await Columns(open, 1);
        // Samples 2000 to 2039 at 50 Hz were 31 ms late: 40 s to 40.8 s of 120 s, alone above the limit.
        double limit = await open.Page.EvaluateAsync<double>("document.querySelectorAll('#timing ~ div svg.dots')[1].querySelector('.limit').getBBox().y");
        double[][] above = [.. course.Where(c => c[1] < limit)];
        Assert.That(above, Is.Not.Empty);
        Assert.That(above.Select(c => (c[0] - 44) / (460 - 44 - 12) * 120), Is.All.InRange(39.3, 40.9));
        double line = await open.Page.EvaluateAsync<double>("document.querySelectorAll('#timing ~ div svg.dots')[0].querySelector('.limit').getBBox().x");
        Assert.That(histogram.Count(c => c[0] > line), Is.EqualTo(1), "all forty in one column right of the limit");
        int bins = rows.Select(r => (int)Math.Floor(Math.Log10((r.ActualNs - r.DueNs!.Value) / 1e3) * 10)).Distinct().Count();
        Assert.That(histogram, Has.Length.EqualTo(bins), "a column for each tenth of a decade that has a sample");
    }

    private static Task<double[][]> Columns(OpenPage open, int plot) => open.Page.EvaluateAsync<double[][]>(
        "plot => [...document.querySelectorAll('#timing ~ div svg.dots')[plot].querySelectorAll('.column')].map(r => { const b = r.getBBox(); return [b.x, b.y, b.width, b.height]; })", plot);

    private static string Half(string section, bool decision)
    {
        int at = section.IndexOf("Report latency, in host time", StringComparison.Ordinal);
        return decision ? section[..at] : section[at..];
    }

    private static string Section(StoredRun run, string id)
    {
        string html = Pages.Html(run);
        int at = html.IndexOf($"<section aria-labelledby=\"{id}\"", StringComparison.Ordinal);
        string section = html[at..html.IndexOf("</section>", at, StringComparison.Ordinal)];
        return Regex.Replace(WebUtility.HtmlDecode(Regex.Replace(section, "<[^>]+>", " ")), @"\s+", " ");
    }
}
