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

    [TestCase(Verdict.Pass, "may go on, as far as this scenario shows, if everything arrived",
        "Let the rig show that everything arrived")]
    [TestCase(Verdict.Fail, "should not go on, unless something was lost on the link", "Rule out the link first")]
    public void Delivery_that_is_not_shown_stands_beside_pass_and_fail_alike(Verdict verdict, string answer, string advice)
    {
        StoredRun run = new InventedRun(3) { Verdict = verdict,
            Delivery = Pages.NotShown, Notes = ["said “hello”, which is no class"] }.Build();
        Assert.That(Head(run), Does.Contain(answer).And.Contain(advice).And.Contain("Said “hello”, which is no class")
            .And.Contain(
                "Delivery not shown: nothing proves that all the device's messages reached the host; add “says.counters"));
        Assert.That(Head(new InventedRun(3) { Verdict = verdict, Delivery = Pages.Delivered }.Build()),
            Does.Not.Contain("not shown").And.Not.Contain(answer));
    }

    [TestCase("pass",
        "Nothing disproves that everything arrived, and nothing proves it. | samples, to the device not shown none: nothing that the rig file describes counts them | messages, from the device not shown none | To have it shown: add “says.counters")]
    [TestCase("fail",
        "All samples reached the device. That all its messages reached the host is neither shown nor disproved. | samples, to the device delivered credit proves it 6000 6000 | messages, from the device not shown seq agrees, proves nothing | Count only | last heard at 113.2 s | To have it shown: add")]
    [TestCase("exact", "All samples reached the device, and all its messages reached the host. | counters proves it 214 214")]
    [TestCase("rig at fault",
        "Samples were lost on their way to the device: what the device said of the rest proves nothing about it. | not delivered counters disproves it 6000 5937")]
    [TestCase("unpaced", "Nothing was sent to the device")]
    [TestCase("arrival only", "this score does not say whether everything arrived (earlier definitions)")]
    public void The_section_on_delivery_has_both_ways_with_their_evidence(string page, string holds)
    {
        string html = Pages.All[page]();
        string section = Plain(
            html[html.IndexOf("<h2 id=\"delivery\">", StringComparison.Ordinal)..html.IndexOf(
                "<h2 id=\"rig\">", StringComparison.Ordinal)]);
        foreach (string part in holds.Split(" | ")) { Assert.That(section, Does.Contain(part)); }
    }

    [Test]
    public void What_was_lost_is_the_figure_that_decided() =>
        Assert.That(Head(Pages.RigAtFault), Does.Contain("samples that reached the device 5937 of 6000 by counters"));

    [Test]
    public void A_score_of_earlier_definitions_says_so()
    {
        Assert.That(
            Head(Pages.ArrivalOnly), Does.Contain("Earlier definitions. This score was made by definitions 1, today's are 2"));
        Assert.That(Head(Pages.Exact), Does.Not.Contain("Earlier definitions"));
    }

    private static string Head(StoredRun run)
    {
        string html = Pages.Html(run);
        return Plain(
            html[html.IndexOf("<header>", StringComparison.Ordinal)..html.IndexOf("</header>", StringComparison.Ordinal)]);
    }

    private static string Plain(string html) =>
        Regex.Replace(WebUtility.HtmlDecode(Regex.Replace(html, "<[^>]+>", " ")), @"\s+", " ");
}
