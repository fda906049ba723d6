using System.Text;
using System.Text.RegularExpressions;
using HilRunner.Scoring;

namespace HilRunner.Reporting.Tests;

internal sealed class SuiteReportTests
{
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
