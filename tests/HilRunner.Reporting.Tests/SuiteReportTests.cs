using System.Text;
using System.Text.RegularExpressions;
using HilRunner.Scoring;

namespace HilRunner.Reporting.Tests;

internal sealed class SuiteReportTests
{
    /// <summary>A run is kept without its curves once it is concluded; a pooled limit on report latency was open then,
    /// always.</summary>
    [Test]
    public void Report_latency_is_known_without_the_playout()
    {
        foreach (bool known in (bool[])[true, false])
        {
            StoredRun whole = Pages.Fail with { Score = Pages.Fail.Score with { ReportTimesKnown = known } };
            var trials = SuiteRun.From(whole.WithoutCurves(), null, playedAgain: false).Played;
            Assert.That(trials.Select(t => t.ReportKnown), Is.Not.Empty.And.All.EqualTo(known));
        }
    }

    [Test]
    public void A_thousand_runs_stay_small_with_the_worst_in_sight_and_the_rest_folded()
    {
        string html = Pages.Html(InventedSuite.Of(1_000));
        string open = html[..html.IndexOf("<details>", StringComparison.Ordinal)];
        int failed = InventedSuite.Of(1_000).Runs.Count(r => r.Verdict == Verdict.Fail);
        Assert.Multiple(() =>
        {
            Assert.That(Encoding.UTF8.GetByteCount(html), Is.LessThan(700_000));
            Assert.That(failed, Is.GreaterThan(30));
            Assert.That(Regex.Count(open, "<tr class=\"bad\">"), Is.EqualTo(30), "only failures are in sight");
            Assert.That(Regex.Count(html, "<tr class=\"bad\">"), Is.EqualTo(failed));
            Assert.That(html, Does.Contain("The other 970 runs"));
        });
    }

    [Test]
    public void Only_addresses_beside_the_report_become_links() => Assert.Multiple(() =>
    {
        Assert.That(Pages.All["hostile suite"](), Does.Not.Contain("href=\"javascript").And.Not.Contain("<script"));
        Assert.That(Pages.All["suite"](), Does.Contain("href=\"run-4/report.html\""));
    });

    [Test]
    public void Repeats_are_told_apart_from_independent_trials()
    {
        // Six runs: two scenarios, three repeats each; the fifth failed on conveyed, the sixth was played again.
        string text = Regex.Replace(Pages.Html(InventedSuite.Of(6)), "<[^>]+>", " ");
        Assert.That(Regex.Replace(text, @"\s+", " "), Does.Contain("conveyed 1 of 2 (50.0 %) 4 of 5 (80.0 %) 1 of 2 (50.0 %) trials"));
    }

    [Test]
    public void Delivery_that_is_not_shown_is_in_the_headline_the_summary_and_beside_each_run()
    {
        SuiteResult suite = InventedSuite.Of(6);
        Assert.That((suite.DeliveryNotShown, DeliveryWords.Count(suite)),
            Is.EqualTo((2, "delivery not shown in 2 of 5 runs")), "one of six was played again");
        string html = Pages.Html(suite), head = Plain(html[..html.IndexOf("</header>", StringComparison.Ordinal)]);
        Assert.That(
            head, Does.Contain("delivery not shown 2 of 5 runs that count").And.Contain(
                "In 2 of 5 runs: delivery not shown: nothing proves").And.Contain("unless something was lost on the link"));
        Assert.That(Regex.Count(html, "<td>delivery not shown</td>"), Is.EqualTo(2));
        string[] lines = Summary(suite).Split('\n');
        Assert.That(
            lines[0], Is.EqualTo("fail: nightly, build nightly 214: 4 of 5 runs passed; delivery not shown in 2 of 5 runs"));
        Assert.That(
            lines, Has.One.StartsWith(
                "- in 2 of 5 runs: delivery not shown: nothing proves that all the device's messages reached the host; add"));

        SuiteResult shown = suite with { Verdict = Verdict.Pass,
            Runs = [.. suite.Runs.Select(r => r with { Delivery = Core.Runs.DeliveryOutcome.Delivered, Notes = [] })] };
        Assert.That(Plain(Pages.Html(shown)),
            Does.Contain("may go on, as far as this suite shows.").And.Not.Contain("runs that count: nothing proves"));
        Assert.That(Summary(shown), Does.Not.Contain("delivery"));
        Assert.That(Pages.Html(suite with { Runs = [suite.Runs[0] with { EarlierDefinitions = true }] }),
            Does.Contain("<td>earlier definitions</td>"));
    }

    [Test]
    public void The_evidence_repeats_that_not_shown_is_accepted_and_says_so_of_each_run()
    {
        string html = Pages.All["evidence"](), head = Plain(html[..html.IndexOf("</header>", StringComparison.Ordinal)]);
        Assert.That(
            head, Does.Contain(
                "Delivery: not shown is accepted, as the plan says. In 3 of 8 runs that count nothing proves").And.Contain(
                "In 3 of 8 runs: delivery not shown: nothing proves"));
        Assert.That(Plain(html), Does.Contain("every limit of every scenario held, delivery not disproved."));
        Assert.That((Regex.Count(html, "<td>not shown</td>"), Regex.Count(html, "<td>delivered</td>")), Is.EqualTo((3, 6)));
        string asked = OtherPages.Html(
            OtherPages.Accepted(
                InventedSuite.Of(9), [Pages.Fail]) with { Plan = new() { Name = "n", Scenarios = [], Claims = [] } });
        Assert.That(
            Plain(asked),
            Does.Not.Contain("not shown is accepted").And.Contain(
                "every limit of every scenario held, and delivery shown in every run that counts."));
    }

    private static string Plain(string html) =>
        Regex.Replace(System.Net.WebUtility.HtmlDecode(Regex.Replace(html, "<[^>]+>", " ")), @"\s+", " ");

    private static string Summary(SuiteResult suite)
    {
        using var text = new StringWriter();
        SuiteSummary.Write(suite, "report.html", text);
        return text.ToString();
    }

    [Test]
    public void A_run_is_summed_up_with_what_decided_it_first()
    {
        SuiteRun run = SuiteRun.From(Pages.RigAtFault, "r/report.html", playedAgain: true);
        Assert.Multiple(() =>
        {
            Assert.That(run.Limits[0].Outcome, Is.EqualTo(Outcome.Broken));
            Assert.That(run.Limits[^1].Outcome, Is.EqualTo(Outcome.Held));
            Assert.That((run.RigFault, run.Incomplete, run.PlayedAgain, run.Invented), Is.EqualTo((true, true, true, true)));
            Assert.That(run.Trials, Has.Count.EqualTo(Pages.RigAtFault.Score.Outputs.Sum(o => o.Trials.Count)));
            Assert.That(run.Played.Select(p => p.Score), Is.EqualTo(Pages.RigAtFault.Score.Outputs.SelectMany(o => o.Trials)));
        });
    }
}
