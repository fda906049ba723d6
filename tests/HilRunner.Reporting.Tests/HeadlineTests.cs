using System.Net;
using System.Text.RegularExpressions;
using HilRunner.Scoring;

namespace HilRunner.Reporting.Tests;

/// <summary>The first screen says in words whether the build may go on, by what figure, and what to do.</summary>
internal sealed class HeadlineTests
{
    [TestCase(Verdict.Pass, "This build may go on", "came nearest to its bound")]
    [TestCase(Verdict.Fail, "This build should not go on", "Hold this build back")]
    [TestCase(Verdict.Inconc, "the figures leave it open", "Play more independent trials")]
    [TestCase(Verdict.Error, "could not be carried out or judged", "log.clef")]
    [TestCase(Verdict.None, "nothing to judge it by", "Give the scenario limits")]
    public void Answers_and_advises_by_verdict(Verdict verdict, string answer, string advice)
    {
        string head = Head(new InventedRun(3) { Verdict = verdict, Reasons = [] }.Build());
        Assert.That(head, Does.Contain(answer).And.Contain(advice));
    }

    [Test]
    public void A_faulty_rig_is_shown_by_its_own_figures_and_not_by_a_broken_limit()
    {
        string head = Head(Pages.RigAtFault);
        Assert.That(head, Does.Contain("the rig was at fault").And.Contain("samples late 40 of 6000").And.Contain("with a faulty rig that proves nothing").And.Contain("Incomplete."));
        Assert.That(head, Does.Not.Contain("needs at least"));
    }

    [Test]
    public void A_failure_shows_the_broken_limit_and_leads_to_the_worst_trial()
    {
        string html = Pages.Html(Pages.Fail);
        int missed = Pages.Fail.Score.Outputs[0].Trials.ToList().FindIndex(t => t.Counted && !t.Recognised);
        Assert.That(Head(Pages.Fail), Does.Contain("conveyed recognised 75.0 % 3 of 4 needs at least 95.0 %"));
        Assert.That(html, Does.Contain($"href=\"#trial-0-{missed}\"").And.Contain($"id=\"trial-0-{missed}\""));
    }

    [Test]
    public void Says_what_is_made_up_and_warns_of_what_injected_motion_can_do()
    {
        string html = Pages.Html(Pages.Fail);
        Assert.That(html, Does.Contain("Made-up data.").And.Contain("Injected motion can make a device act."));
        StoredRun real = Pages.Fail with { Manifest = Pages.Fail.Manifest with { Sources = [Pages.Fail.Manifest.Sources[0] with { Info = new() }] } };
        Assert.That(Pages.Html(real), Does.Not.Contain("Made-up data."));
    }

    private static string Head(StoredRun run)
    {
        string html = Pages.Html(run);
        string head = html[html.IndexOf("<header>", StringComparison.Ordinal)..html.IndexOf("</header>", StringComparison.Ordinal)];
        return Regex.Replace(WebUtility.HtmlDecode(Regex.Replace(head, "<[^>]+>", " ")), @"\s+", " ");
    }
}
